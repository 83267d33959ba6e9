"""Every kind of finding and assumption stands in the catalogue, has words, and can be shown."""

import ast
import re
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path
from pkgutil import walk_packages
from string import Formatter

import pytest

import service
from service.circuit.job import JobPart, Remark
from service.findings.assumptions import STATED_STATE_ONLY, TAKEN, AssumptionKind
from service.findings.cautions import CAUTIONS
from service.findings.finding import FAULT, NOTE, WARNING, FindingKind
from service.findings.limits import RANGE_NOT_HELD
from service.findings.request import REMARKED
from service.studies import STUDIES
from service.studies.catalogue import OWNERS, assumption_kinds, finding_kinds
from service.studies.transformer_loading import reasons, selection
from tests.studies.commissioning_sheet.test_http import ASSUMED as COMMISSIONING_ASSUMED
from tests.studies.gauge_recommendation.test_http import ASSUMED as GAUGE_ASSUMED
from tests.studies.least_cost_layout.test_http import ASSUMED as LAYOUT_ASSUMED
from tests.studies.least_cost_layout.test_relaxation import WITHOUT_ENGINE
from tests.studies.quote.findings import ASSUMED as QUOTE_ASSUMED
from tests.studies.readings_check.test_http import ASSUMED as READINGS_ASSUMED
from tests.studies.transformer_loading.test_http import ASSUMED as LOADING_ASSUMED
from tests.studies.voltage_drop.test_http import ASSUMED

FINDINGS = finding_kinds()
ASSUMPTIONS = assumption_kinds()

SERVICE = Path(__file__).parents[2] / "service"
CODE = re.compile(r'"([a-z0-9]+(?:-[a-z0-9]+)+)"')

PLACEHOLDERS = {
    "where", "measured", "limit", "name", "conductor", "tap", "effect", "remedy", "advice", "beyond",
    "allowed", "usual", "end",
    "power_factor", "reason", "joints", "shown", "others", "state", "of", "drawn",
    "carries", "cause", "names", "box", "conductors", "price", "least", "stated", "total",
}  # fmt: skip

KINDS: tuple[FindingKind | AssumptionKind, ...] = (*FINDINGS.values(), *ASSUMPTIONS.values())


def said_in(*files: Path) -> set[str]:
    return {code for file in files for code in CODE.findall(file.read_text(encoding="utf-8"))}


def defined() -> Iterator[FindingKind | AssumptionKind]:
    """Every kind that any file of the service defines."""
    for found in walk_packages(service.__path__, "service."):
        if found.name.startswith(("service.findings.", "service.estimation.", "service.studies.")):
            for value in vars(import_module(found.name)).values():
                if isinstance(value, FindingKind | AssumptionKind):
                    yield value


def test_every_kind_that_is_defined_stands_in_the_catalogue() -> None:
    assert set(defined()) == set(KINDS)


def test_a_code_is_given_once() -> None:
    assert len({kind.code for kind in KINDS}) == len(KINDS)


def test_a_kind_stands_in_the_file_that_uses_it() -> None:
    owners = [*OWNERS, *(owner for study in STUDIES.values() for owner in study.kinds_in)]
    texts = [Path(str(owner.__file__)).read_text(encoding="utf-8") for owner in owners]
    for kind in KINDS:
        name = kind.code.upper().replace("-", "_")
        (home,) = [text for text in texts if f"\n{name}: Final = {type(kind).__name__}(" in text]
        # What two studies that are independent of each other decide stands below both.
        assert len(re.findall(rf"\b{name}\b", home)) > 1 or kind in {STATED_STATE_ONLY, RANGE_NOT_HELD}, name


def test_every_remark_on_a_load_or_a_cable_is_a_finding_or_an_assumption() -> None:
    assert {*REMARKED, *TAKEN} == set(Remark)
    assert not {*REMARKED} & {*TAKEN}


ALIKE = {"no-operating-point", "battery-nominal"}
"""Codes that are a status of an answer, or a column of a commissioning sheet, as well."""


def test_no_code_but_its_kind_writes_a_code_as_text() -> None:
    # The warnings that a request may accept are listed in its schema, which knows no kind.
    schemas = {SERVICE / "wire" / "job.py", SERVICE / "studies" / "quote" / "request.py"}
    files = [path for path in SERVICE.rglob("*.py") if path not in schemas]
    codes = {kind.code for kind in KINDS} - ALIKE
    found = {}
    for path in files:
        tree = ast.parse(path.read_text(encoding="utf-8"))
        calls = [node for node in ast.walk(tree) if isinstance(node, ast.Call) and node.args]
        defined_here = {id(node.args[0]) for node in calls if ast.unparse(node.func).endswith("Kind")}
        texts = [node for node in ast.walk(tree) if isinstance(node, ast.Constant) and node.value in codes]
        if wrong := [node.lineno for node in texts if id(node) not in defined_here]:
            found[path.name] = wrong
    assert found == {}


def test_a_finding_is_made_with_a_severity_that_its_kind_lists() -> None:
    kind = FindingKind("made-up", (FAULT, WARNING), "Words.", "Meaning.")
    subject = JobPart("/wiring")
    assert kind.found(subject, "caller", severity=WARNING).severity == WARNING
    for severity in (NOTE, ""):
        with pytest.raises(ValueError, match=r"made-up|unpack"):
            kind.found(subject, "caller", severity=severity)


def test_every_reason_to_reject_a_transformer_has_words_and_is_given() -> None:
    selection_text = Path(str(selection.__file__)).read_text(encoding="utf-8")
    own = {value.code for value in vars(reasons).values() if isinstance(value, reasons.ReasonKind)}
    assert not said_in(Path(str(selection.__file__))) & own
    for name, kind in (*vars(reasons).items(), *vars(selection).items()):
        if isinstance(kind, reasons.ReasonKind):
            assert kind.message.endswith("."), name
            assert len(re.findall(rf"\b{name}\b", selection_text)) > 1, name


def test_every_assumption_has_a_job_that_shows_it() -> None:
    shown = (
        *ASSUMED,
        *LOADING_ASSUMED,
        *GAUGE_ASSUMED,
        *READINGS_ASSUMED,
        *COMMISSIONING_ASSUMED,
        *QUOTE_ASSUMED,
        *LAYOUT_ASSUMED,
    )
    assert {WITHOUT_ENGINE, *(code for code, _ in shown)} == set(ASSUMPTIONS)


@pytest.mark.parametrize("code", FINDINGS)
def test_a_template_names_only_what_findings_give(code: str) -> None:
    named = {name for _, name, _, _ in Formatter().parse(FINDINGS[code].template) if name}
    assert named <= PLACEHOLDERS


@pytest.mark.parametrize("words", [*(kind.message for kind in ASSUMPTIONS.values()), *CAUTIONS.values()])
def test_words_are_whole_sentences(words: str) -> None:
    assert words[0].isupper()
    assert words.endswith(".")


@pytest.mark.parametrize("code", FINDINGS)
def test_a_finding_says_what_it_means(code: str) -> None:
    words = FINDINGS[code]
    assert set(words.severities) <= {"fault", "warning", "note"}
    assert words.meaning.endswith(".")
    assert re.search(r"([.?]|\.\{\w+\})$", words.template)


def test_the_cautions_cover_isolation_joints_code_and_the_meter() -> None:
    text = " ".join(CAUTIONS.values()).lower()
    assert all(part in text for part in ("isolate", "burn", "local code", "licensed electrician", "meter"))
