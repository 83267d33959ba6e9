"""The alert rules and the dashboard in deploy/monitoring, against what the service really shows."""

import json
import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest
import yaml
from prometheus_client import generate_latest
from prometheus_client.parser import text_string_to_metric_families

from service.observability.metrics import REGISTRY, RequestMetrics
from service.problems import CATALOGUE
from tests.observability.exchanging import answering, exchanged

ROOT = Path(__file__).parents[2]
MONITORING = ROOT / "deploy" / "monitoring"
RULES = MONITORING / "alerts.yml"
RULE_TESTS = Path(__file__).with_name("alerts_test.yml")
DASHBOARD: Any = json.loads((MONITORING / "dashboard.json").read_text(encoding="utf-8"))
ALERTS: list[Any] = yaml.safe_load(RULES.read_text(encoding="utf-8"))["groups"][0]["rules"]
PANELS: list[Any] = DASHBOARD["panels"]

METRIC = re.compile(r"\b(?:lastlamp|process)_[a-z_]+")
SELECTOR = re.compile(r"([a-z_]+)\{([^}]*)\}")
LABEL = re.compile(r'([a-z_]+) ?(=~|!~|!=|=) ?"([^"]*)"')
# Prometheus adds these to whatever it scrapes.
ADDED = {"job", "instance"}


def promtool(*arguments: str) -> str:
    """Run promtool; return what it wrote, once it found nothing wrong."""
    program = shutil.which("promtool")
    if program is None:
        pytest.skip("Needs promtool (Debian package prometheus), which this machine lacks.")
    ended = subprocess.run(  # noqa: S603  # found on the PATH just now
        [program, *arguments], capture_output=True, text=True, timeout=60, check=False
    )
    assert ended.returncode == 0, ended.stdout + ended.stderr
    return ended.stdout


def expressions() -> list[tuple[str, str]]:
    """Return every expression that alerts and dashboard ask Prometheus, with its place."""
    of_alerts = [(alert["alert"], alert["expr"]) for alert in ALERTS]
    of_panels = [(panel["title"], target["expr"]) for panel in PANELS for target in panel["targets"]]
    of_variables = [(one["name"], one["query"]) for one in DASHBOARD["templating"]["list"]]
    return of_alerts + of_panels + of_variables


@pytest.fixture(scope="module")
def shown() -> dict[str, set[str]]:
    """Return the labels of every metric in the exposition, by the name that a query uses."""
    exchanged(answering(), RequestMetrics(CATALOGUE))
    labels: dict[str, set[str]] = {}
    for family in text_string_to_metric_families(generate_latest(REGISTRY).decode()):
        for sample in family.samples:
            labels.setdefault(sample.name, set()).update(sample.labels)
    # A finding is in no answer yet, and no work was charged.
    return labels | {"lastlamp_findings_total": {"code", "severity"}, "lastlamp_work_total": {"study"}}


@pytest.mark.parametrize(("place", "expression"), expressions())
def test_every_metric_that_is_asked_for_exists(
    shown: dict[str, set[str]], place: str, expression: str
) -> None:
    named = set(METRIC.findall(expression))
    assert named or place in {"datasource", "Instances up", "LastlampDown"}
    assert named <= shown.keys()


@pytest.mark.parametrize(("place", "expression"), expressions())
def test_every_label_that_is_asked_for_exists(
    shown: dict[str, set[str]], place: str, expression: str
) -> None:
    del place
    for metric, matchers in SELECTOR.findall(expression):
        known = shown.get(metric, set()) | ADDED
        assert {name for name, _, _ in LABEL.findall(matchers)} <= known
    for names in re.findall(r"by \(([^)]*)\)", expression):
        every = {name for metric in METRIC.findall(expression) for name in shown[metric]} | ADDED
        assert {name.strip() for name in names.split(",")} <= every


LEGENDS = [
    (target["legendFormat"], target["expr"])
    for panel in PANELS
    for target in panel["targets"]
    if "{{" in target["legendFormat"]
]


@pytest.mark.parametrize(("legend", "expression"), LEGENDS)
def test_every_label_that_a_legend_shows_is_left_by_its_question(
    shown: dict[str, set[str]], legend: str, expression: str
) -> None:
    kept = {name.strip() for names in re.findall(r"by \(([^)]*)\)", expression) for name in names.split(",")}
    every = {name for metric in METRIC.findall(expression) for name in shown[metric]} | ADDED
    assert set(re.findall(r"{{(\w+)}}", legend)) <= (kept or every)


def test_every_code_that_an_alert_names_is_that_of_a_problem() -> None:
    codes = [value for alert in ALERTS for name, _, value in LABEL.findall(alert["expr"]) if name == "code"]
    assert codes
    assert {each for value in codes for each in value.split("|")} <= CATALOGUE.keys()


@pytest.mark.parametrize("alert", ALERTS, ids=lambda alert: alert["alert"])
def test_every_alert_says_what_is_the_matter_and_what_to_do(alert: Any) -> None:
    assert alert["labels"]["severity"] in {"page", "ticket"}
    assert alert["annotations"].keys() == {"summary", "runbook"}
    assert all(text.endswith(".") for text in alert["annotations"].values())


def test_promtool_reads_the_rules() -> None:
    assert f"{len(ALERTS)} rules found" in promtool("check", "rules", str(RULES))


def test_every_alert_speaks_when_it_must_and_is_silent_below() -> None:
    assert "SUCCESS" in promtool("test", "rules", str(RULE_TESTS))
    tested = RULE_TESTS.read_text(encoding="utf-8")
    assert [alert["alert"] for alert in ALERTS if f'alertname="{alert["alert"]}"' not in tested] == []


def test_promtool_reads_every_question_of_the_dashboard(tmp_path: Path) -> None:
    asked = [target["expr"] for panel in PANELS for target in panel["targets"]]
    filled = [each.replace("$__rate_interval", "5m").replace("$", "") for each in asked]
    rules = [{"record": f"panel:{number}", "expr": text} for number, text in enumerate(filled)]
    file = tmp_path / "panels.yml"
    file.write_text(yaml.safe_dump({"groups": [{"name": "panels", "rules": rules}]}), encoding="utf-8")
    assert f"{len(asked)} rules found" in promtool("check", "rules", str(file))


def test_panels_have_titles_and_places_of_their_own() -> None:
    assert len({panel["title"] for panel in PANELS}) == len({panel["id"] for panel in PANELS}) == len(PANELS)
    assert all(panel["description"] for panel in PANELS)
    cells = [
        (x, y)
        for place in (panel["gridPos"] for panel in PANELS)
        for x in range(place["x"], place["x"] + place["w"])
        for y in range(place["y"], place["y"] + place["h"])
    ]
    assert len(set(cells)) == len(cells)
    assert max(x for x, _ in cells) < 24


def test_the_dashboard_names_no_data_source_of_one_installation() -> None:
    sources = {json.dumps(panel["datasource"]) for panel in PANELS}
    sources |= {json.dumps(target["datasource"]) for panel in PANELS for target in panel["targets"]}
    assert sources == {json.dumps({"type": "prometheus", "uid": "${datasource}"})}
