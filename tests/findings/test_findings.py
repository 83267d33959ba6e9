"""Every finding through HTTP: shown where it must be, not in the neighbour; what, where and how much."""

import re
from typing import Any

import pytest

from service.findings.cautions import CAUTIONS
from service.studies.catalogue import assumption_kinds, finding_kinds
from tests.client import Client
from tests.findings.finding_examples import EXAMPLES as STUDIED
from tests.findings.finding_examples import Example
from tests.jobs import Json, answer, assumed, codes, findings
from tests.studies.commissioning_sheet.findings import COMMISSIONING
from tests.studies.gauge_recommendation.findings import BUYING
from tests.studies.quote.findings import QUOTING
from tests.studies.reach.findings import REACHING
from tests.studies.readings_check.findings import READINGS

FINDINGS = finding_kinds()
ASSUMPTIONS = assumption_kinds()

EXAMPLES = (*STUDIED, *READINGS, *COMMISSIONING, *BUYING, *REACHING, *QUOTING)
IDS = [f"{index} {example.code}" for index, example in enumerate(EXAMPLES)]
every_example = pytest.mark.parametrize("example", EXAMPLES, ids=IDS)


def sought(reply: Json, example: Example) -> list[Json]:
    return [
        found for found in findings(reply, example.code) if found["subject"]["pointer"] == example.pointer
    ]


def amount(found: Json, member: str) -> tuple[float, str] | None:
    return (found[member]["value"], found[member]["unit"]) if member in found else None


@every_example
def test_a_finding_shows_with_its_severity_subject_and_source(client: Client, example: Example) -> None:
    (found,) = sought(answer(client, example.shows, example.path), example)
    assert (found["severity"], found["source"]) == (example.severity, example.source)


@every_example
def test_a_finding_gives_what_was_measured_and_what_is_allowed(client: Client, example: Example) -> None:
    (found,) = sought(answer(client, example.shows, example.path), example)
    if example.code != "no-operating-point":
        assert amount(found, "measured") == example.measured
        assert amount(found, "limit") == example.limit


@every_example
def test_the_neighbour_just_inside_is_spared(client: Client, example: Example) -> None:
    reply = answer(client, example.spares, example.path)
    assert not [found for found in sought(reply, example) if found["severity"] == example.severity]


def names_in(body: Any) -> tuple[str, ...]:
    """Every name that a caller gave: none is written otherwise at the start of a sentence."""
    if isinstance(body, dict):
        own = (body["name"],) if isinstance(body.get("name"), str) else ()
        return own + tuple(name for each in body.values() for name in names_in(each))
    return tuple(name for each in body for name in names_in(each)) if isinstance(body, list) else ()


@every_example
def test_a_message_can_be_read_aloud(client: Client, example: Example) -> None:
    for found in answer(client, example.shows, example.path)["findings"]:
        words = found["message"]
        assert words[0].isupper() or words[0].isdigit() or words.startswith(names_in(example.shows)), words
        assert words.endswith((".", "?")), words
        assert not re.search(r"[{}_/]|None|  |nan|inf\b|\d{5}", words), words
        named = {part["name"] for part in found["parameters"]}
        assert set(re.findall(r"{(\w+)}", FINDINGS[found["code"]].template)) <= named


@every_example
def test_a_message_never_shows_the_value_and_its_limit_as_one_number(
    client: Client, example: Example
) -> None:
    for found in answer(client, example.shows, example.path)["findings"]:
        parts = {part["name"]: part["value"] for part in found["parameters"]}
        if "measured" in parts and found["code"] not in {"window-empty", "ampacity-not-listed"}:
            assert parts["measured"] != parts.get("limit"), found["message"]


@every_example
def test_every_word_of_a_reply_stands_in_a_catalogue(client: Client, example: Example) -> None:
    for request in (example.shows, example.spares):
        reply = answer(client, request, example.path)
        assert all(found["severity"] in FINDINGS[found["code"]].severities for found in reply["findings"])
        assert set(assumed(reply)) <= set(ASSUMPTIONS)
        assert [caution["code"] for caution in reply["cautions"]][: len(CAUTIONS)] == list(CAUTIONS)


@every_example
def test_every_source_that_a_finding_names_is_explained(client: Client, example: Example) -> None:
    reply = answer(client, example.shows, example.path)
    explained = {row["code"] for row in reply["sources"]}
    named = {found["source"] for found in reply["findings"]}
    assert named - {"caller", "own-calculation"} <= explained


@every_example
def test_every_pointer_leads_into_the_request(client: Client, example: Example) -> None:
    for found in answer(client, example.shows, example.path)["findings"]:
        place: object = example.shows
        for part in found["subject"]["pointer"].split("/")[1:]:
            # The checker knows JSON by one type for all its depths.
            place = place[int(part)] if isinstance(place, list) else place[part]  # type: ignore[index]  # JSON of any depth


def test_no_finding_in_the_catalogue_is_a_dead_word() -> None:
    assert set(FINDINGS) - {example.code for example in EXAMPLES} == set()


def test_every_severity_in_the_catalogue_is_used() -> None:
    used = {(example.code, example.severity) for example in EXAMPLES}
    listed = {(code, severity) for code, words in FINDINGS.items() for severity in words.severities}
    assert listed == used


def test_faults_come_before_what_is_said_about_the_request(client: Client) -> None:
    example = next(example for example in EXAMPLES if example.code == "fixture-below-window")
    assert codes(answer(client, example.shows, example.path))[0] == "fixture-below-window"
