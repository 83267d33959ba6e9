"""What is printed is what the JSON says: every quantity, every finding, every assumption."""

import re
from collections.abc import Iterator
from itertools import chain
from math import ceil, floor
from typing import Any

import pytest

from tests import jobs
from tests.client import Client
from tests.sheets.reading import Page, numbers_in, page_of, pdf_text, squeezed
from tests.sheets.studies import IDS, STUDIES, Printed

ALONE = {"drop_percent": "%", "power_factor": "", "at_least": "", "iterations": ""}
"""Numbers of replies that stand without a unit; what was found by a search is printed to what that knows."""
RATIOS = ("loading_ratio", "loading_ratio_at_usual_power_factor", "spare_ratio", "largest_ratio")
TEXTS = ("findings", "binding", "assumptions", "cautions", "sources")
PRINTED_DECIMALS = {"V": 2, "A": 2, "%": 1, "W": 2, "VA": 1, "ohm": 4, "percent": 1, "": 12}
"""Two decimals of a volt and of an ampere, one of a per cent; what is not listed has two without zeros."""


def quantities(node: Any, name: str = "") -> Iterator[tuple[float, str]]:
    """Every number of a reply that means something; a `wiring` is the request's own, and printed as such.

    What a meter is to show is printed as a meter shows it: see `test_commissioning.py`. Of a stage that is
    not to be switched on there is nothing to read, so none of its points are printed. Money is text, and its
    own tests hold it.
    """
    if isinstance(node, dict):
        if node.get("expected") == []:
            return
        if "value" in node and "unit" in node:
            yield told(node["value"], name), node["unit"]
            return
        for key, below in node.items():
            if key not in ("wiring", "parameters", "expected"):
                yield from quantities(below, key)
    elif isinstance(node, list):
        for below in node:
            yield from quantities(below, name)
    elif name in ALONE and not isinstance(node, str):
        yield node, ALONE[name]
    elif name in RATIOS:
        yield told(100.0 * node, name), "%"


def told(number: float, name: str) -> float:
    """A number as a sheet tells it: less than nothing to spare is so much too much."""
    return abs(number) if name in ("spare", "spare_ratio") else number


def is_printed(quantity: tuple[float, str], shown: set[float]) -> bool:
    """Whether a number stands there with all of its digits, or rounded, up or down, to those of a sheet."""
    number, unit = quantity
    step = 10.0 ** -PRINTED_DECIMALS.get(unit, 2)
    rounded = {number, *(each(number / step + way) * step for each, way in ((floor, 1e-6), (ceil, -1e-6)))}
    return any(is_within(each, shown) for each in rounded)


def is_within(number: float, shown: set[float]) -> bool:
    return number in shown or any(abs(number - other) <= 1e-9 * max(1e-3, abs(number)) for other in shown)


@pytest.mark.parametrize("study", STUDIES, ids=IDS)
def test_every_quantity_of_the_answer_stands_on_the_page(client: Client, study: Printed) -> None:
    request = study.request()
    reply = client.post(study.path, json=request).json()
    shown = numbers_in(page_of(client, study.path, request).text)
    assert [number for number in quantities(reply) if not is_printed(number, shown)] == []


@pytest.mark.parametrize("study", STUDIES, ids=IDS)
def test_every_quantity_of_the_answer_stands_in_the_pdf(client: Client, study: Printed) -> None:
    request = study.request()
    reply = client.post(study.path, json=request).json()
    shown = numbers_in(pdf_text(client, study.path, request))
    assert [number for number in quantities(reply) if not is_printed(number, shown)] == []


@pytest.mark.parametrize("study", STUDIES, ids=IDS)
def test_findings_assumptions_cautions_and_sources_stand_word_for_word(
    client: Client, study: Printed
) -> None:
    request = study.request()
    reply = client.post(study.path, json=request).json()
    page, pdf = page_of(client, study.path, request).text, squeezed(pdf_text(client, study.path, request))
    for said in chain.from_iterable(reply.get(name, ()) for name in TEXTS):
        assert said["message"] in page
        assert squeezed(said["message"])[:24] in pdf
    for name in ("calculation_version", "tables_version", "request_sha256"):
        assert reply[name] in page
        assert reply[name] in pdf


@pytest.mark.parametrize("study", STUDIES, ids=IDS)
def test_both_forms_of_a_sheet_hold_the_same_numbers(client: Client, study: Printed) -> None:
    request = study.request()
    page = numbers_in(page_of(client, study.path, request).text)
    pdf = numbers_in(pdf_text(client, study.path, request))
    assert page - pdf == set()


def test_each_fixture_has_its_own_numbers_in_its_own_row(client: Client) -> None:
    study = STUDIES[0]
    reply = client.post(study.path, json=study.request()).json()
    rows = page_of(client, study.path, study.request()).table("What each fixture gets")
    for fixture, row in zip(reply["fixtures"], rows, strict=True):
        assert row["Fixture"] == fixture["name"]
        assert row["Verdict"] == fixture["verdict"]
        assert float(row["At [ft]"]) == fixture["at"]["value"]
        assert row["Volts"] == f"{fixture['voltage']['value']:.2f}"
        assert row["Cable drop [V]"] == f"{fixture['cable_drop']['value']:.2f}"
        assert row["Drop [%]"] == f"{fixture['drop_percent']:.1f}"
        assert row["Amperes"] == f"{fixture['current']['value']:.2f}"
        assert row["Watts"] == f"{fixture['real_power']['value']:.2f}"


def test_each_fixture_has_its_own_numbers_in_its_own_line_of_the_pdf(client: Client) -> None:
    study = STUDIES[0]
    reply = client.post(study.path, json=study.request()).json()
    text = " ".join(pdf_text(client, study.path, study.request()).split())
    for fixture in reply["fixtures"]:
        volts, watts = fixture["voltage"]["value"], fixture["real_power"]["value"]
        begins = text.index(f"{fixture['name']} {fixture['verdict']} {fixture['at']['value']:g} {volts:.2f}")
        line = text[begins : begins + 120]
        assert f"{fixture['current']['value']:.2f} {watts:.2f}" in line


def test_a_finding_has_a_word_and_a_shape(client: Client) -> None:
    study = next(each for each in STUDIES if each.file == "transformer_loading")
    rows = page_of(client, study.path, study.request()).table("Findings")
    reply = client.post(study.path, json=study.request()).json()
    shapes = {"fault": "■", "warning": "▲", "note": "●"}
    weights = [row["Severity"].split("\N{NO-BREAK SPACE}") for row in rows]
    assert all(shapes[word] == shape for shape, word in weights)
    assert sorted(word for _, word in weights) == sorted(found["severity"] for found in reply["findings"])


def test_what_was_asked_is_told_as_it_was_understood(client: Client) -> None:
    study = STUDIES[0]
    page = page_of(client, study.path, study.request())
    facts = dict(page.tables["What was asked"][0])
    assert facts["Rating"] == "150 VA"
    assert facts["Mains, rated and actual"] == "120 V, 117 V"
    runs = page.table("What was asked", 1)
    assert [(run["Run"], run["Begins at"], run["Cable"]) for run in runs] == [
        ("orchard walk", "supply", "12 AWG"),
        ("pond", "orchard walk at 90 ft", "14 AWG"),
    ]
    lines = page.table("What was asked", 2)
    assert [line["Load"] for line in lines] == ["6 W, power factor 0.9", "3 W", "filament, 20 W at 12 V"]
    assert [line["Window"] for line in lines] == ["usual", "9 to 15 V", "usual"]


def test_the_title_the_lines_and_the_paper_are_the_callers(client: Client) -> None:
    study = STUDIES[0]
    words = {"title": "Heron Court", "lines": ["Fernhill Garden Lights", "", "Quote 17"], "paper": "a4"}
    page: Page = page_of(client, study.path, {**study.request(), "sheet": words})
    assert "Heron Court" in page.text
    assert "Fernhill Garden Lights \N{NO-BREAK SPACE} Quote 17" in page.text
    assert "job heron-court-17" in page.text


def test_the_fourth_digit_of_a_load_that_was_searched_for_is_printed(client: Client) -> None:
    # A reach is tried in steps of its fourth digit: with one digit less the answer would be the next one.
    request = jobs.question(
        jobs.largest_load(jobs.metres(1)),
        supply=jobs.transformer(1),
        cable={"kind": "listed", "conductor": "1 mm2"},
        limits={"window": jobs.window(0.5, 1), "maximum_drop_percent": 1},
        conditions={},
    )
    reply = client.post("/v1/reach", json=request).json()
    powers = {reply[which]["power"]["value"] for which in ("answer", "beyond")}
    assert len(powers) == 2
    assert powers <= numbers_in(page_of(client, "/v1/reach", request).text)


def test_what_would_explain_readings_is_told_without_a_place_in_the_request(client: Client) -> None:
    [study] = [each for each in STUDIES if each.file == "readings_check"]
    tables = page_of(client, study.path, study.request()).tables
    rows = [cell for table in tables["What would explain them"] for row in table for cell in row]
    assert len(rows) > 9
    assert not [cell for cell in rows if "/wiring" in cell]


@pytest.mark.parametrize("study", STUDIES, ids=IDS)
def test_a_place_in_the_request_is_told_in_words_on_every_record(client: Client, study: Printed) -> None:
    tables = page_of(client, study.path, study.request()).tables
    cells = [cell for under in tables.values() for table in under for row in table for cell in row]
    assert not [cell for cell in cells if re.search(r"/(wiring|supply|zones|fixtures)\b", cell)]


def test_a_length_that_was_found_is_printed_to_the_millimetre(client: Client) -> None:
    [study] = [each for each in STUDIES if each.file == "reach"]
    tables = page_of(client, study.path, study.request()).tables["The run as wiring"]
    cells = [cell for table in tables for row in table for cell in row]
    assert any(cell.endswith(", every 0.604 m") for cell in cells)
