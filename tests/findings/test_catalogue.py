"""Every code that a study says has words, and every word has a code that says it."""

import re
from pathlib import Path
from string import Formatter

import pytest

from service import tables
from service.findings.catalogue import ASSUMPTIONS, CAUTIONS, FINDINGS
from service.studies.transformer_loading.translate import REJECTIONS
from tests.studies.commissioning_sheet.test_http import ASSUMED as COMMISSIONING_ASSUMED
from tests.studies.gauge_recommendation.test_http import ASSUMED as GAUGE_ASSUMED
from tests.studies.readings_check.test_http import ASSUMED as READINGS_ASSUMED
from tests.studies.transformer_loading.test_http import ASSUMED as LOADING_ASSUMED
from tests.studies.voltage_drop.test_http import ASSUMED

SERVICE = Path(__file__).parents[2] / "service"
SOURCES = [path for path in sorted(SERVICE.rglob("*.py")) if path.name != "catalogue.py"]
RULES = [
    path
    for path in sorted((SERVICE / "findings").glob("*.py"))
    if path.name not in {"catalogue.py", "rows.py"}
]
CODE = re.compile(r'"([a-z0-9]+(?:-[a-z0-9]+)+)"')

NOT_FINDINGS = {"own-calculation", "in-phase", "dc-supply"}
"""Words of the same shape that are a source of our own, a condition or a kind of supply."""

PLACEHOLDERS = {"where", "measured", "limit", "name", "conductor", "tap", "effect", "remedy"}


def said_in(*files: Path) -> set[str]:
    return {code for file in files for code in CODE.findall(file.read_text(encoding="utf-8"))}


def test_every_code_that_a_finding_is_made_with_has_words() -> None:
    made = said_in(*RULES, SERVICE / "circuit" / "loads.py")
    sources = {source.id for source in tables.sources()}
    assert made - NOT_FINDINGS - sources <= set(FINDINGS) | set(ASSUMPTIONS)


def test_every_finding_with_words_is_made_somewhere() -> None:
    assert set(FINDINGS) <= said_in(*SOURCES)


def test_every_assumption_with_words_is_made_somewhere() -> None:
    assert set(ASSUMPTIONS) <= said_in(*SOURCES)


def test_every_reason_to_reject_a_transformer_has_words_and_every_word_a_reason() -> None:
    assert said_in(SERVICE / "studies" / "transformer_loading" / "selection.py") == set(REJECTIONS)


def test_every_assumption_has_a_job_that_shows_it() -> None:
    shown = (*ASSUMED, *LOADING_ASSUMED, *GAUGE_ASSUMED, *READINGS_ASSUMED, *COMMISSIONING_ASSUMED)
    assert {code for code, _ in shown} == set(ASSUMPTIONS)


@pytest.mark.parametrize("code", FINDINGS)
def test_a_template_names_only_what_findings_give(code: str) -> None:
    named = {name for _, name, _, _ in Formatter().parse(FINDINGS[code].template) if name}
    assert named <= PLACEHOLDERS


@pytest.mark.parametrize("words", [*ASSUMPTIONS.values(), *CAUTIONS.values()])
def test_words_are_whole_sentences(words: str) -> None:
    assert words[0].isupper()
    assert words.endswith(".")


@pytest.mark.parametrize("code", FINDINGS)
def test_a_finding_says_what_it_means(code: str) -> None:
    words = FINDINGS[code]
    assert set(words.severities) <= {"fault", "warning", "note"}
    assert words.meaning.endswith(".")
    assert words.template.endswith(".")


def test_the_cautions_cover_isolation_joints_code_and_the_meter() -> None:
    text = " ".join(CAUTIONS.values()).lower()
    assert all(part in text for part in ("isolate", "burn", "local code", "licensed electrician", "meter"))
