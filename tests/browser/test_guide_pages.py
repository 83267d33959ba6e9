"""The pages of the documentation in a browser: read on a screen, in the dark and on a phone, and searched."""

from pathlib import Path
from typing import Any

import pytest

from service.studies import STUDIES
from tests.clients.served import served
from tests.node import a_browser, installed, printed_by

FOLDER = Path(__file__).parent


@pytest.fixture(scope="module")
def seen() -> Any:
    """What a visit to every page saw; one visit for all checks."""
    browser = a_browser()
    installed(FOLDER)
    with served() as address:
        return printed_by(FOLDER / "guide_pages.mjs", browser, address)


@pytest.mark.parametrize("look", ["wide", "dark", "middle", "narrow"])
def test_no_page_has_a_barrier_or_a_complaint_or_asks_elsewhere(seen: Any, look: str) -> None:
    assert {page: found for page, found in seen[look]["barriers"].items() if found} == {}
    assert seen[look]["complaints"] == seen[look]["elsewhere"] == []
    assert {f"/docs/{name}" for name in STUDIES} <= set(seen[look]["pages"])


@pytest.mark.parametrize(("look", "width"), [("narrow", 360), ("middle", 768), ("wide", 1280)])
def test_no_page_is_wider_than_its_screen_and_no_entry_is_torn(seen: Any, look: str, width: int) -> None:
    assert {page: found for page, found in seen[look]["widest"].items() if found != width} == {}
    assert seen[look]["torn"] == 0


@pytest.mark.parametrize(
    ("sought", "first"),
    [
        ("transformer size", "/docs/transformer-loading"),
        ("fuse", "/docs/transformer-loading"),
        ("too bright", "/docs/voltage-drop"),
        ("customer", "/docs/voltage-drop"),
        ("wire size", "/docs/gauge-recommendation"),
        ("transformer sizing", "/docs/transformer-loading"),
        ("maximum run length", "/docs/reach"),
        ("bad splice", "/docs/readings-check"),
        ("fixture-below-window", "/docs/findings#fixture-below-window"),
        ("zzz", "Nothing found."),
    ],
)
def test_a_word_of_the_trade_leads_to_its_page_without_a_network(seen: Any, sought: str, first: str) -> None:
    assert seen["searched"]["found"][sought] == first


def test_a_member_that_saves_typing_is_found(seen: Any) -> None:
    assert seen["searched"]["found"]["fixture_types"].startswith("/docs/")


def test_a_search_has_no_barrier_and_no_complaint(seen: Any) -> None:
    assert seen["searched"]["barriers"] == seen["searched"]["complaints"] == []


def test_without_scripts_a_page_is_read_and_shows_no_field_that_does_nothing(seen: Any) -> None:
    assert "What does each lamp get?" in seen["withoutScript"]["text"]
    assert seen["withoutScript"]["fields"] == 0
