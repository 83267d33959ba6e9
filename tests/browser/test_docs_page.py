"""The documentation page in a browser: it loads, is read, is tried, and asks nobody but the service."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import pytest

from tests.clients.served import served
from tests.node import a_browser, installed, printed_by

COMMITTED: Final = Path(__file__).parents[2] / "openapi" / "openapi.json"


def operation_titles(document: Any) -> Iterator[str]:
    for item in document["paths"].values():
        for said in item.values():
            yield said["summary"]


FOLDER = Path(__file__).parent
REFUSED = "Failed to load resource: the server responded with a status of 400 (Bad Request)"
"""What the browser itself says of each request that a test means to be refused."""


@pytest.fixture(scope="module")
def seen() -> Any:
    """What a visit to the page saw; one visit for all checks."""
    browser = a_browser()
    installed(FOLDER)
    with served() as address:
        return printed_by(FOLDER / "docs_page.mjs", browser, address)


def test_the_page_loads_without_a_complaint_of_the_browser(seen: Any) -> None:
    assert seen["visit"]["complaintsBefore"] == []
    assert set(seen["visit"]["complaints"]) == {REFUSED}
    assert seen["narrow"]["complaints"] == seen["dark"]["complaints"] == []


def test_the_page_asks_nobody_but_the_service(seen: Any) -> None:
    assert [visit["elsewhere"] for visit in seen.values() if "elsewhere" in visit] == [[], [], [], []]


def test_every_operation_and_type_of_the_document_has_its_heading(seen: Any) -> None:
    document = json.loads(COMMITTED.read_bytes())
    wanted = {*operation_titles(document), *document["components"]["schemas"]}
    assert set(seen["visit"]["headings"]) == wanted


def test_every_link_within_the_page_leads_somewhere(seen: Any) -> None:
    assert seen["visit"]["broken"] == seen["visit"]["repeated"] == []


def test_the_example_that_is_there_to_try_gives_the_volts_at_each_lamp(seen: Any) -> None:
    solved = seen["visit"]["solved"]
    assert solved["status"].startswith("200")
    reply = json.loads(solved["reply"][solved["reply"].index("{") :])
    example = json.loads(COMMITTED.read_bytes())["paths"]["/v1/voltage-drop"]["post"]["responses"]["200"]
    assert (
        reply["fixtures"] == example["content"]["application/json"]["examples"]["runs"]["value"]["fixtures"]
    )
    assert {fixture["voltage"]["unit"] for fixture in reply["fixtures"]} == {"V"}


def test_a_wrong_unit_is_answered_with_the_words_of_the_problem(seen: Any) -> None:
    refused = seen["visit"]["refused"]
    assert refused["status"].startswith("400")
    assert '/supply/secondary/unit: "volts" is not one of the units here.' in refused["reply"]


def test_a_body_that_is_not_json_is_answered_in_words(seen: Any) -> None:
    assert seen["visit"]["unreadable"]["status"].startswith("400")
    assert "The body is not JSON." in seen["visit"]["unreadable"]["reply"]


def test_a_catalogue_can_be_tried(seen: Any) -> None:
    assert seen["visit"]["catalogue"]["status"].startswith("200")
    assert '"ohm/kft"' in seen["visit"]["catalogue"]["reply"]


def test_everything_is_reached_by_keyboard_and_the_skip_link_comes_first(seen: Any) -> None:
    keys = seen["visit"]["keys"]
    assert keys[0] == "a Skip to the content"
    trial = keys.index("textarea try-voltage_drop-body")
    assert keys[trial - 1] == "select try-voltage_drop-example"
    assert keys[trial + 1] == "button Send"


def test_no_barrier_is_found_in_light_or_dark_before_or_after_trying(seen: Any) -> None:
    # axe-core, which is not ours, checks names, contrast, headings and landmarks.
    visit = seen["visit"]
    assert visit["barriers"] == visit["barriersAfter"] == seen["dark"]["barriers"] == []


def test_a_page_that_the_browser_kept_still_works(seen: Any) -> None:
    assert seen["visit"]["afterReload"] == len(seen["visit"]["headings"])


def test_nothing_sticks_out_of_a_narrow_screen(seen: Any) -> None:
    assert seen["narrow"]["widest"] == 320


def test_nothing_moves_for_those_who_want_no_motion(seen: Any) -> None:
    assert seen["dark"]["scrolling"] == "auto"


def test_without_scripts_the_page_leads_to_the_document(seen: Any) -> None:
    assert "the OpenAPI document" in seen["withoutScript"]["text"]
