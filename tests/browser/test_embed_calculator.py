"""The calculator in a browser, on a page of another origin that is strict, hostile or unlucky."""

import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest

from service.http.embed import FOLDER as EMBED
from service.http.embed import newest
from tests.node import installed

FOLDER = Path(__file__).parent
CURRENT = EMBED / newest()
LONGEST_TASK_MS = 1_000
"""For how long an answer with two hundred fixtures may hold up a page.

Ten times what was measured: a busy machine fails nothing, work by the square of the fixtures does.
"""

AMBIGUOUS = "This may mean two numbers. Enter it without thousands separators."
AMBIGUOUS_IN_GERMAN = "Das kann zwei Zahlen bedeuten. Geben Sie sie ohne Tausendertrennzeichen ein."


@pytest.fixture(scope="module")
def used(visit: Any) -> Any:
    """What people saw who used it."""
    return visit("embed_visits.mjs")


@pytest.fixture(scope="module")
def troubled(visit: Any) -> Any:
    """What became of it in trouble."""
    return visit("embed_trouble.mjs")


def test_it_works_on_a_strict_page_without_a_complaint_of_the_browser(used: Any) -> None:
    assert used["keyboard"]["complaints"] == []


def test_it_asks_nobody_but_the_service_and_keeps_nothing(used: Any) -> None:
    seen = used["keyboard"]
    assert seen["elsewhere"] == []
    assert seen["kept"] == ["", 0, 0]
    assert seen["cookies"] == []


def test_the_style_of_the_page_does_not_reach_it(used: Any) -> None:
    looks = used["keyboard"]["looks"]
    assert looks == {
        "fontSize": "16px",
        "letterSpacing": "normal",
        "textTransform": "none",
        "visibility": "visible",
        "color": "rgb(34, 38, 42)",
    }


def test_the_whole_job_is_done_with_the_keyboard_alone(used: Any) -> None:
    seen = used["keyboard"]
    assert seen["order"][0] == "transformer"
    assert seen["failing"].startswith("Does not pass. Run 1 has too much load for its cable")
    # Which study names the cable is for programs; a visitor has a button.
    assert "`" not in seen["failing"] + seen["proposal"]
    assert "12\u00a0AWG, 150\u00a0ft" in seen["proposal"]
    assert "$111.00" in seen["proposal"]
    assert seen["working"].startswith("Passes. ")


def test_focus_stays_where_it_was_when_an_answer_comes_and_is_not_lost(used: Any) -> None:
    assert used["keyboard"]["focusAfterAnswer"] == "spacing"
    assert used["keyboard"]["focusAfterUse"] == "button choose"


def test_the_choice_carries_the_ids_of_the_page(used: Any) -> None:
    choice = used["keyboard"]["choice"]
    assert choice["cable"]["id"] == "lv-12"
    assert choice["cable"]["length"] == {"value": 150, "unit": "ft"}
    assert choice["cable"]["purchase"][0]["line_total"] == "111.00"
    assert choice["transformer"] == {"id": "T-300", "rating": {"value": 300, "unit": "VA"}}
    assert choice["terminal"] == choice["request"]["supply"]["secondary"]
    assert choice["reply"]["status"] == "solved"


def test_markup_in_a_name_stays_text(used: Any, troubled: Any) -> None:
    assert used["keyboard"]["injected"] == troubled["tomorrow"]["images"] == 0
    assert "<img src=x onerror=alert(1)> & garden cable" in used["keyboard"]["options"]
    assert "<b>three hundred</b>" in used["keyboard"]["proposal"]


def test_no_barrier_is_found_anywhere(used: Any, troubled: Any) -> None:
    # axe-core, which is not ours, checks names, contrast, headings and landmarks.
    places = [used["keyboard"], *used["looks"].values(), *used["languages"].values(), troubled["refusals"]]
    places += [troubled[name] for name in ("many", "tomorrow", "landing", "configured")]
    found = [barrier for place in places for barrier in place["barriers"]]
    assert found + used["keyboard"]["barriersFailing"] + troubled["away"]["gone"]["barriers"] == []


def test_nothing_sticks_out_at_any_width_nor_at_twice_the_size(used: Any) -> None:
    for look, seen in used["looks"].items():
        assert seen["widest"] == int(look.split()[0]), look
    assert used["needs"]["widest"] == 640


def test_every_target_is_large_enough_and_nothing_moves(used: Any) -> None:
    # WCAG 2.2, 2.5.8: 24 by 24 CSS pixels.
    assert used["needs"]["small"] == []
    assert used["needs"]["moving"] == 0


@pytest.mark.parametrize(
    ("page", "language", "direction", "first"),
    [
        ("de-DE", "de", "ltr", "7,5"),
        ("es", "es", "ltr", "7,5"),
        ("ar", "ar", "rtl", "7.5"),
        ("fr", "en", "ltr", "7,5"),
    ],
)
def test_it_speaks_the_language_of_the_page(
    used: Any, page: str, language: str, direction: str, first: str
) -> None:
    seen = used["languages"][page]
    assert (seen["lang"], seen["dir"], seen["first"]) == (language, direction, first)
    # Every finding of this job has words in every language; where there is none, the service's are shown.
    assert seen["foreign"] > 0 if page == "fr" else seen["english"] == 0


def test_a_number_that_may_mean_two_is_refused_and_either_decimal_sign_is_read(used: Any) -> None:
    english, german = used["numbers"]["en-US"], used["numbers"]["de-DE"]
    assert english["12.5"] == english["12,5"] == german["12.5"] == german["12,5"] == 12.5
    assert (english["1,500"], german["1.500"]) == (AMBIGUOUS, AMBIGUOUS_IN_GERMAN)
    assert (english["1.500"], german["1,500"]) == (1.5, 1.5)
    assert english["0,500"] == german[".5"] == 0.5
    for text in ("1 500", "1.500,5", "five"):
        assert english[text].startswith("Enter the number" if text[0] == "1" else "Enter a number"), text
    assert (english["-3"], german["-3"]) == ("Enter 0 or more.", "Geben Sie 0 oder mehr ein.")


def test_the_same_lengths_stand_in_the_other_unit_and_outlive_a_change_of_language(used: Any) -> None:
    [line] = used["units"]["metric"]["wiring"]["runs"][0]["fixtures"]
    assert line["at"] == {"value": 7.62, "unit": "m"}
    assert used["units"]["german"] == used["units"]["metric"]
    assert used["units"]["focused"] == "watts"


def test_it_is_a_field_of_the_form_around_it(used: Any) -> None:
    form = used["form"]
    assert form["filled"]["valid"] == [True, "", True]
    assert form["filled"]["value"]["reply"]["status"] == "solved"
    assert form["doubtful"]["value"] is None
    assert form["refused"] == {"value": None, "valid": [False, AMBIGUOUS, True], "submits": False}
    assert form["reset"]["request"] == form["filled"]["value"]["request"]
    assert form["disabled"] is True


def test_what_the_service_refuses_stands_at_its_input(troubled: Any) -> None:
    seen = troubled["refusals"]
    assert seen["errors"]["count"] == "Zulässig: 1 bis 10000."
    assert seen["errors"]["rating"] == "Zulässig: 0,1 bis 100000."
    assert seen["errors"]["tap"].startswith("Das ist Netzspannung.")
    assert seen["errors"]["first"] is None
    assert seen["said"] == ["true", "count-hint count-error"]
    assert seen["shown"] is False


def test_a_mistake_in_a_folded_part_unfolds_it(troubled: Any) -> None:
    assert troubled["folded"] == {"error": "Enter 0.05 to 1.", "open": True}


def test_while_the_service_is_away_it_says_so_keeps_what_was_typed_and_tries_again(troubled: Any) -> None:
    away = troubled["away"]
    assert away["gone"]["text"] == "The calculation service does not answer. What you typed is kept."
    assert away["gone"]["count"] == "9"
    assert "7 seconds" in away["busy"]
    assert away["back"] == 9
    assert away["hidden"] is True


def test_on_a_slow_network_the_newest_question_wins_and_one_thing_is_said(troubled: Any) -> None:
    slow = troubled["slow"]
    # "12" is asked and given up; "1" as well where the machine lets as much time pass before the next key.
    assert slow["failed"] in (["net::ERR_ABORTED"], ["net::ERR_ABORTED"] * 2)
    assert slow["count"] == 123
    assert len(slow["said"]) == 1


def test_two_hundred_fixtures_do_not_hold_up_the_page(troubled: Any) -> None:
    many = troubled["many"]
    assert (many["rows"], many["marks"]) == (200, 200)
    assert max(many["long"], default=0) < LONGEST_TASK_MS


def test_what_is_new_in_the_service_is_shown_in_its_english(troubled: Any) -> None:
    seen = troubled["tomorrow"]
    assert seen["text"] == "Moths <img src=x onerror=alert(1)> gather at the lamp."
    assert (seen["moon"], seen["state"], seen["complaints"]) == (1, "flickering", [])


def test_another_file_than_the_released_one_does_not_run(troubled: Any) -> None:
    assert troubled["integrity"]["good"] == []
    assert troubled["integrity"]["defined"] is False


def test_in_a_frame_it_tells_the_page_around_it_and_asks_only_its_own_service(troubled: Any) -> None:
    framed = troubled["framed"]
    assert ["last-lamp-choice", True] in framed["told"]
    assert ["last-lamp-height", True] in framed["told"]
    assert framed["choice"]["conductor"] == "2.5 mm2"
    assert (framed["lang"], framed["elsewhere"], framed["complaints"]) == ("de", [], [])


def test_the_front_page_shows_it_and_fits_a_phone(troubled: Any) -> None:
    landing = troubled["landing"]
    assert (landing["complaints"], landing["widest"]) == ([], 320)
    assert "needs JavaScript" in landing["without"]


def test_the_page_that_writes_the_snippet_writes_what_a_shop_pastes(troubled: Any) -> None:
    configured = troubled["configured"]
    script = f"{configured['service']}/embed/{newest()}/calculator.js"
    assert f'src="{script}"\n  integrity="sha384-' in configured["snippet"]
    assert '<last-lamp lang="es" volts="12" taps="12 &quot;13" watts="4">' in configured["snippet"]
    assert "<noscript>" in configured["snippet"]
    assert configured["policy"] == f"script-src {configured['service']}; connect-src {configured['service']}"
    assert configured["origin"] == configured["service"]
    assert (configured["widest"], configured["complaints"]) == (320, [])


def test_it_may_be_moved_within_the_page(troubled: Any) -> None:
    assert troubled["moved"] == {"count": 5, "forms": 1, "complaints": []}


def test_each_input_finds_its_place_in_the_request(used: Any) -> None:
    jobs = used["jobs"]
    lines = {name: job["wiring"]["runs"][0]["fixtures"][0] for name, job in jobs.items()}
    direct = jobs["direct"]
    assert direct["supply"] == {
        "kind": "dc-supply",
        "output": {"value": 24, "unit": "V"},
        "rating": {"value": 100, "unit": "W"},
    }
    # A DC supply does not follow the mains; anything else is asked about low and high mains by itself.
    assert "conditions" not in direct
    assert jobs["metric"]["conditions"] == {"mains": {"kind": "named", "range": "en-50160"}}
    assert jobs["halogen"]["conditions"] == {"mains": {"kind": "named", "range": "outlet"}}
    assert lines["halogen"]["load"]["kind"] == "filament"
    assert "spacing" not in lines["single"]
    assert lines["labelled"]["load"]["apparent_power"] == {"value": 7.5, "unit": "VA"}
    assert lines["labelled"]["window"]["minimum"] == {"value": 9, "unit": "V"}
    assert jobs["labelled"]["limits"] == {"maximum_drop_percent": 8}
    assert jobs["measured"]["supply"]["open_circuit"] == {"voltage": {"value": 12.6, "unit": "V"}}
    assert jobs["measured"]["supply"]["secondary"] == {"value": 13, "unit": "V"}
    assert jobs["tapped"]["supply"]["taps"] == [{"value": value, "unit": "V"} for value in (12, 13, 14)]
    assert jobs["tapped"]["supply"]["secondary"] == {"value": 14, "unit": "V"}


def test_the_key_of_the_page_is_shown_to_the_service_in_a_header(used: Any) -> None:
    assert used["keyed"] == {"authorization": "Bearer lastlamp_browser_x", "url": "/v1/voltage-drop"}


def test_the_page_may_pick_of_its_stock_by_attributes_before_the_stock_is_there(used: Any) -> None:
    stocked = used["stocked"]
    assert stocked["conductor"] == "12 AWG"
    assert stocked["supply"]["winding"] == {"rating": {"value": 300, "unit": "VA"}, "regulation_percent": 5}
    assert stocked["supply"]["secondary"] == {"value": 13, "unit": "V"}
    assert stocked["hidden"] is True


def test_the_range_is_never_better_than_what_a_state_gives(used: Any) -> None:
    # At low mains this run collapses, so that the extremes are those of high mains alone.
    seen = used["collapsing"]
    assert (seen["status"], seen["collapsed"]) == ("solved", 1)
    shown = float(seen["range"].split("get ")[1].split("\u00a0")[0])
    assert shown == round(seen["lowest"], 2)
    assert "Band" not in seen["caption"]


def test_every_english_word_has_its_like_in_the_other_languages(used: Any) -> None:
    assert used["missing"] == {"ar": [], "de": [], "es": []}


def test_without_its_style_and_words_it_is_plain_and_english_but_there(troubled: Any) -> None:
    assert troubled["bare"]["summary"].startswith("Passes. The lamps get ")
    assert troubled["bare"]["elsewhere"] == []


def test_the_types_hold_what_a_shop_writes(tmp_path: Path) -> None:
    commands = installed(FOLDER)
    shutil.copy(FOLDER / "embed_types.ts", tmp_path)
    shutil.copy(CURRENT / "calculator.d.ts", tmp_path)
    options = [
        "--strict",
        "--noEmit",
        "--target",
        "es2022",
        "--moduleResolution",
        "bundler",
        "--module",
        "es2022",
    ]
    done = subprocess.run(  # noqa: S603  # the compiler, as locked
        [str(commands / "tsc"), *options, "embed_types.ts"],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert done.returncode == 0, done.stdout


def test_a_lamp_that_fails_has_one_voltage_and_is_told_of_once(used: Any) -> None:
    seen = used["failing"]
    [said] = re.findall(r"C gets (\d+\.\d\d) V, below", seen["summary"])
    assert said == f"{seen['volts']:.2f}" != f"{seen['volts'] - 0.005:.2f}", (
        "down and to the nearest differ here"
    )
    assert f"\t{said}\u00a0V\t" in seen["row"]
    assert "C gets" not in seen["findings"]
    assert "No overcurrent device" in seen["findings"]


def test_the_lowest_of_a_range_is_one_number_in_sentence_range_and_row(used: Any) -> None:
    seen = used["ranging"]
    lowest = f"{seen['lowest']:.2f}"
    assert [lowest in seen[place] for place in ("summary", "range", "row")] == [True, True, True], seen
