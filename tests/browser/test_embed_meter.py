"""The page on which somebody ticks a job off with a meter, in a browser as narrow as a phone."""

from typing import Any

import pytest

BROKEN = "This is no JSON. Load the file as it was saved, or paste all of it."
NO_JOB = "This is no job: it needs “supply” and “wiring”, or the “stages” of a commissioning sheet."


@pytest.fixture(scope="module")
def seen(visit: Any) -> Any:
    """What was there to see."""
    return visit("meter_visits.mjs")


def test_a_job_from_a_file_is_one_card_a_reading_without_sideways_scrolling(seen: Any) -> None:
    walked = seen["walked"]
    assert walked["heads"][:4] == [
        "Stage 1: Nothing connected",
        'Stage 2: "hedge" alone',
        'Stage 3: "front path" alone',
        "Stage 4: Everything on",
    ]
    assert (walked["cards"], walked["widest"], walked["inputmode"]) == (21, 360, "decimal")


def test_measured_mains_leave_one_range_a_card(seen: Any) -> None:
    walked = seen["walked"]
    assert walked["range"].startswith("114 V mains: ")
    assert walked["exactly"].startswith("Expected: ")
    assert "\n" not in walked["exactly"]


@pytest.mark.parametrize("reading", ["good", "comma", "within"])
def test_a_reading_that_fits_is_green_at_once_and_stays_so_when_the_service_has_spoken(
    seen: Any, reading: str
) -> None:
    assert seen["walked"][reading] == {"at_once": "card good", "state": "card good", "said": "Matches"}


def test_a_reading_that_does_not_fit_is_red_at_once_and_says_by_how_much(seen: Any) -> None:
    low, far = seen["walked"]["low"], seen["walked"]["far"]
    assert (low["at_once"], low["state"]) == ("card fault", "card fault")
    # Two hundredths were taken off the least that is expected, and the meter shows hundredths.
    assert low["said"] in {"Too low by 0.02\u00a0V", "Too low by 0.03\u00a0V"}
    assert far["said"].startswith("Too low by 2.")
    assert seen["walked"]["progress"] == "3 of 21 read · 2 match · 1 does not match"


def test_what_all_readings_say_together_is_the_words_of_the_service(seen: Any) -> None:
    assert seen["walked"]["conclusion"].startswith("The readings do not fit the wiring as described.")
    assert seen["walked"]["conclusion"].endswith(" next.")
    assert "between step 3 and step 4" in seen["checked"]["conclusion"]


def test_a_body_of_another_study_is_a_job_too(seen: Any) -> None:
    checked = seen["checked"]
    assert checked["names"][0] == "1 · Terminals"
    assert (checked["first"]["state"], checked["second"]["state"]) == ("card good", "card fault")
    assert checked["complaints"] == []


def test_readings_that_came_with_the_job_stand_in_their_cards_and_the_rest_is_told(seen: Any) -> None:
    checked = seen["checked"]
    assert checked["filled"] == ["12.45", "11.77", "11.25", "11.15"]
    # As the service answers that example.
    assert [name.split(" · ")[1] for name in checked["red"]] == ["step 3", "step 4"]
    assert checked["left"] == "Readings of this job that have no card here: 1."


def test_a_sheet_without_its_job_is_compared_with_the_mains_that_are_chosen(seen: Any) -> None:
    sheet = seen["sheet"]
    assert sheet["at120"] == "card good"
    assert sheet["at114"][0] == "card fault"
    assert sheet["more"] == []
    assert sheet["conclusion"].startswith("Each reading is held to the sheet by itself.")


def test_what_is_no_job_is_told_and_what_is_no_number_is_not_judged(seen: Any) -> None:
    said = seen["mistakes"]["said"]
    assert (said["none"], said["json"]) == (BROKEN, BROKEN)
    assert {said[name] for name in ("job", "list", "null", "torn")} == {NO_JOB}
    assert said["short"].startswith(
        "This commissioning sheet was asked for with “detail”, so its readings were left out."
    )
    assert said["refused"].startswith("99999 is outside the bounds.")
    assert seen["walked"]["mistake"] == [
        "Enter the number without spaces or thousands separators.",
        "true",
    ]


def test_a_plan_that_must_not_be_built_says_so_before_any_reading(seen: Any) -> None:
    told = {name: each["plan"] for name, each in seen["failing"].items() if name != "averaged"}
    assert told["sound"] == ""
    assert told["wrong supply"].startswith("Dieser Plan ist nicht in Ordnung. Nicht so bauen.")
    assert told["overloaded"].startswith("This plan does not pass. Do not build it.")
    assert "rated 10" in told["overloaded"]
    assert told["collapsed"].startswith("This plan does not pass. Do not build it.")
    for name, each in seen["failing"].items():
        if name != "averaged":
            assert (each["widest"], each["barriers"], each["complaints"]) == (360, [], []), name


def test_a_lamp_that_reads_as_planned_and_is_not_made_for_it_is_not_green(seen: Any) -> None:
    lamp = seen["failing"]["wrong supply"]["states"][-1]
    assert lamp == "card fault"
    assert seen["failing"]["wrong supply"]["progress"] == 0
    assert set(seen["failing"]["sound"]["states"]) == {"card good"}
    assert seen["failing"]["sound"]["progress"] == 1


def test_what_cannot_be_carried_is_not_to_be_switched_on_and_has_nothing_to_read(seen: Any) -> None:
    collapsed = seen["failing"]["collapsed"]
    assert len(collapsed["never"]) == 2
    assert all("Do not switch it on" in each for each in collapsed["never"])
    assert collapsed["instructions"] == 2


def test_a_meter_that_tells_nothing_is_not_taken_for_a_job_that_cannot_be_carried(seen: Any) -> None:
    said = "An averaging meter reads wrong here. Use a true-RMS meter."
    assert seen["failing"]["averaged"] == said


def test_markup_in_names_stays_text(seen: Any) -> None:
    assert seen["markup"] == {
        "elements": 0,
        "text": 'Stage 2: "<img src=x onerror=alert(1)>" alone',
        "complaints": [],
    }


def test_it_keeps_nothing_and_asks_nobody_but_the_service(seen: Any) -> None:
    walked = seen["walked"]
    assert (walked["kept"], walked["cookies"], walked["elsewhere"]) == (["", 0, 0], [], [])
    assert walked["complaints"] == []


def test_other_places_keep_what_was_typed(seen: Any) -> None:
    assert seen["walked"]["every"] > seen["walked"]["cards"]
    assert seen["walked"]["still"] == 4


def test_while_the_service_is_away_nothing_is_red_or_green_that_was_not_looked_at(seen: Any) -> None:
    said, card = seen["away"]["gone"]
    assert said.startswith("The service does not answer. Your readings are still here.")
    assert card == "Not checked yet"


def test_nothing_is_judged_by_other_mains_than_those_that_stand_there(seen: Any) -> None:
    hurried = seen["hurried"]
    unjudged = ["card ", "Not checked yet"]
    assert hurried["meanwhile"] == unjudged
    assert hurried["mains"] == {"value": 114, "unit": "V"}
    assert hurried["refused"] == unjudged
    assert hurried["mistake"] == ["Enter a number.", "true"]


def test_a_key_is_asked_for_where_the_service_wants_one(seen: Any) -> None:
    assert seen["away"]["key"] == "Bearer secret"


def test_no_barrier_is_found_at_any_width_and_nothing_sticks_out(seen: Any) -> None:
    assert seen["walked"]["barriers"] + seen["mistakes"]["barriers"] == []
    for look, page in seen["looks"].items():
        width = int(look.split()[0])
        assert (page["widest"], page["small"], page["barriers"], page["complaints"]) == (width, 0, [], []), (
            look
        )


def test_it_speaks_the_languages_of_the_calculator(seen: Any) -> None:
    assert seen["missing"] == {"ar": [], "de": [], "es": []}
    assert seen["looks"]["360 dark ar"]["dir"] == "rtl"
    assert seen["looks"]["768 dark de"]["progress"].startswith("2 von 21 gemessen")
