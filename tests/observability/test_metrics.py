import json
import platform
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, Self

import pytest
from prometheus_client import generate_latest
from prometheus_client.parser import text_string_to_metric_families

from service import __version__
from service.circuit.job import CALCULATION_VERSION, SOLVER_FORM
from service.observability.exchange import exchange_of, note_answer
from service.observability.metrics import (
    BUCKETS_S,
    METHODS,
    REGISTRY,
    RequestMetrics,
    count_key_reload_failure,
    count_shed,
)
from service.observability.middleware import Receive, Scope, Send
from service.problems import CATALOGUE
from service.tables import TABLES_VERSION
from tests.client import Client
from tests.observability.exchanging import TEMPLATE, answering, counted, exchanged

METRICS = RequestMetrics(CATALOGUE)
EXAMPLES = Path(__file__).parents[2] / "openapi" / "examples"
JSON = {"Content-Type": "application/json"}


class Rise:
    """How far a series rises in a block."""

    def __init__(self, name: str, **labels: str) -> None:
        self._value: Callable[[], float] = lambda: counted(name, **labels)

    def __enter__(self) -> Self:
        self._before = self._value()
        return self

    def __exit__(self, *_: object) -> None:
        self.by = self._value() - self._before


@pytest.fixture
def watched(client: Client) -> Iterator[Client]:
    """Yield a client for the application as it is deployed, with its requests counted."""
    from service.app import app  # noqa: PLC0415  # tests of the lower rooms must not load the framework

    app.watch.observers.append(METRICS)
    yield client
    app.watch.observers.remove(METRICS)


def label_values(label: str) -> set[str]:
    return {
        sample.labels[label]
        for family in REGISTRY.collect()
        for sample in family.samples
        if label in sample.labels
    }


def test_a_request_counts_once_by_template_method_and_status() -> None:
    labels = {"route": "/v1/things/{name:str}", "method": "POST", "status": "201"}
    with Rise("lastlamp_requests_total", **labels) as requests:
        exchanged(answering(201, labels["route"]), METRICS, method="POST", path="/v1/things/rose")
    assert requests.by == 1


def test_a_path_that_is_not_served_counts_as_unmatched_and_leaves_no_trace() -> None:
    with Rise("lastlamp_requests_total", route="unmatched", method="GET", status="404") as requests:
        exchanged(answering(404, template=None), METRICS, path="/customers/somebody")
    assert requests.by == 1
    assert b"somebody" not in generate_latest(REGISTRY)


def test_unusual_methods_count_together() -> None:
    with Rise("lastlamp_requests_total", route=TEMPLATE, method="other", status="405") as requests:
        for method in ("BREW", "PROPFIND", "get"):
            exchanged(answering(405), METRICS, method=method)
    assert requests.by == 3
    assert label_values("method") <= METHODS | {"other"}


def test_a_duration_falls_into_buckets_from_half_a_millisecond_to_ten_seconds() -> None:
    with Rise("lastlamp_request_duration_seconds_count", route=TEMPLATE, method="GET") as requests:
        exchanged(answering(), METRICS)
    assert requests.by == 1
    assert (BUCKETS_S[0], BUCKETS_S[-1]) == (0.0005, 10.0)
    assert counted("lastlamp_request_duration_seconds_bucket", route=TEMPLATE, method="GET", le="10.0") >= 1


def test_a_request_is_in_progress_while_it_is_answered_and_not_after() -> None:
    seen = []

    async def application(scope: Scope, receive: Receive, send: Send) -> None:
        seen.append(counted("lastlamp_requests_in_progress"))
        await answering()(scope, receive, send)

    before = counted("lastlamp_requests_in_progress")
    exchanged(application, METRICS)
    assert (seen, counted("lastlamp_requests_in_progress")) == ([before + 1], before)


def test_a_request_that_fails_is_in_progress_no_more() -> None:
    async def application(scope: Scope, receive: Receive, send: Send) -> None:
        del scope, receive, send
        raise ZeroDivisionError

    before = counted("lastlamp_requests_in_progress")
    with Rise("lastlamp_problems_total", code="internal-error") as problems:
        exchanged(application, METRICS)
    assert counted("lastlamp_requests_in_progress") == before
    assert problems.by == 1


def test_a_client_that_left_counts_as_499_and_as_no_problem() -> None:
    async def application(scope: Scope, receive: Receive, send: Send) -> None:
        exchange_of(scope).disconnected = True
        exchange_of(scope).problem = "internal-error"
        await answering(500)(scope, receive, send)

    with (
        Rise("lastlamp_requests_total", route=TEMPLATE, method="GET", status="499") as requests,
        Rise("lastlamp_problems_total", code="internal-error") as problems,
    ):
        exchanged(application, METRICS)
    assert (requests.by, problems.by) == (1, 0)


def test_a_refusal_counts_by_its_code(watched: Client) -> None:
    with Rise("lastlamp_problems_total", code="empty-body") as problems:
        watched.post("/v1/voltage-drop", headers=JSON)
    assert problems.by == 1


def test_every_code_of_a_problem_counts_from_nought() -> None:
    assert label_values("code") >= set(CATALOGUE)


def findings_in(answer: Any) -> list[tuple[str, str]]:
    return [(found["code"], found["severity"]) for found in answer["findings"]]


@pytest.mark.parametrize("study", ["voltage_drop", "transformer_loading", "gauge_recommendation", "reach"])
def test_each_finding_of_an_answer_counts_once(watched: Client, study: str) -> None:
    body = (EXAMPLES / f"{study}.json").read_bytes()
    before = {labels: _findings(*labels) for labels in _all_findings()}
    reply = watched.post(f"/v1/{study.replace('_', '-')}", content=body, headers=JSON)
    assert reply.status_code == 200
    expected = findings_in(reply.json())
    rises = {labels: _findings(*labels) - before.get(labels, 0) for labels in _all_findings()}
    assert {labels: rise for labels, rise in rises.items() if rise} == {
        labels: expected.count(labels) for labels in set(expected)
    }


def test_findings_and_problems_of_batch_items_count_as_if_asked_alone(watched: Client) -> None:
    job = json.loads((EXAMPLES / "voltage_drop.json").read_bytes())
    alone = findings_in(watched.post("/v1/voltage-drop", json=job).json())
    assert alone
    item = {"study": "voltage-drop", "request": job}
    code, severity = alone[0]
    with (
        Rise("lastlamp_findings_total", code=code, severity=severity) as findings,
        Rise("lastlamp_problems_total", code="request-invalid") as problems,
    ):
        watched.post("/v1/batch", json={"items": [item, item, {"study": "reach", "request": {}}]})
    assert findings.by == 2 * alone.count(alone[0])
    assert problems.by == 1


def test_noting_an_answer_outside_a_request_does_nothing() -> None:
    note_answer(object())


def test_what_is_shed_and_what_could_not_be_reloaded_is_counted() -> None:
    with Rise("lastlamp_requests_shed_total") as shed, Rise("lastlamp_key_reload_failures_total") as failures:
        count_shed()
        count_key_reload_failure()
    assert (shed.by, failures.by) == (1, 1)


def test_the_build_says_what_runs() -> None:
    assert (
        counted(
            "lastlamp_build_info",
            version=__version__,
            calculation_version=CALCULATION_VERSION,
            tables_version=TABLES_VERSION,
            python=platform.python_version(),
            solver=SOLVER_FORM,
        )
        == 1
    )


def test_the_exposition_reads_and_each_metric_explains_itself() -> None:
    exchanged(answering(), METRICS)
    families = list(text_string_to_metric_families(generate_latest(REGISTRY).decode()))
    assert {family.name for family in families} >= {"lastlamp_requests", "process_resident_memory_bytes"}
    assert all(family.documentation for family in families)


def _all_findings() -> list[tuple[str, str]]:
    return [
        (sample.labels["code"], sample.labels["severity"])
        for family in REGISTRY.collect()
        for sample in family.samples
        if sample.name == "lastlamp_findings_total"
    ]


def _findings(code: str, severity: str) -> float:
    return counted("lastlamp_findings_total", code=code, severity=severity)
