"""The calculator in boxes that ask how wide it is, on light and dark pages, and where frameworks build."""

from typing import Any, Final

import pytest

from service.http.embed import versions

PAPER: Final = {"light": "rgb(255, 255, 255)", "dark": "rgb(25, 27, 28)"}

PARENTS: Final = ("flex", "grid", "float", "inline", "inline-block", "table-cell", "max-content")

NEARLY_ALL: Final = 0.95
"""Of the width that a page has: a gutter may be left, since what asks for all may get more than there is."""


@pytest.fixture(scope="module")
def placed(visit: Any) -> Any:
    """What was seen of it in each place."""
    return visit("embed_parents.mjs")


@pytest.mark.parametrize("parent", PARENTS)
def test_it_is_as_wide_as_its_page_in_a_parent_that_asks_its_content(placed: Any, parent: str) -> None:
    for width, seen in placed["parents"][parent].items():
        assert NEARLY_ALL <= seen["share"] <= 1, width
        assert seen["widest"] == int(width)


@pytest.mark.parametrize(
    ("page", "system", "paper"),
    [
        # A page that says nothing is light, whatever the system is.
        ("silent", "light", "light"),
        ("silent", "dark", "light"),
        ("light", "dark", "light"),
        ("dark", "light", "dark"),
        ("both", "light", "light"),
        ("both", "dark", "dark"),
        ("asked", "light", "dark"),
    ],
)
def test_it_is_light_or_dark_as_its_page_is(placed: Any, page: str, system: str, paper: str) -> None:
    assert placed["schemes"][f"{page} page, {system} system"] == {"paper": PAPER[paper], "barriers": []}


def test_every_lamp_stands_on_the_page_of_a_phone(placed: Any) -> None:
    phone = placed["phone"]
    assert phone["hidden"] == [0, 0]
    assert phone["row"].startswith("34\t124\u00a0ft\t")
    assert phone["sides"][0] >= 0
    assert phone["sides"][1] <= phone["widest"] == 360


@pytest.mark.parametrize("framework", ["vue", "react"])
def test_a_framework_hands_over_what_it_keeps(placed: Any, framework: str) -> None:
    seen = placed[framework]
    assert seen["runs"] == [["12 AWG", 8], ["12 AWG", 3]]
    assert (seen["rating"], seen["changed"]) == (300, "8 AWG")
    # Frameworks take `key` and `name` for themselves, or set them as properties.
    assert (seen["key"], seen["name"]) == ("Bearer lastlamp_browser_x", "run")
    assert (seen["heard"], seen["complaints"]) == (True, [])


def test_a_proxy_is_copied_and_what_is_no_list_is_refused(placed: Any) -> None:
    seen = placed["proxies"]
    assert [item["id"] for item in seen["taken"]] == ["lv-12", "T-300"]
    assert seen["refused"] == "TypeError: stock is an array."
    assert seen["kept"] == 2


def test_a_list_that_is_handed_over_again_undoes_nothing_and_takes_no_focus(placed: Any) -> None:
    assert placed["handed"]["focused"] == "watts"
    assert placed["handed"]["again"] == [8, 5]


def test_groups_that_are_none_are_passed_over_and_there_are_never_too_many(placed: Any) -> None:
    seen = placed["handed"]
    assert (seen["fieldsets"], seen["none"], seen["add"]) == (11, 1, False)


def test_several_groups_stand_on_several_runs_where_the_page_asks_for_it(placed: Any) -> None:
    seen = placed["groups"]
    assert seen["alone"] == [[None, None, "10 AWG", [[None, 8]]]]
    assert seen["three"] == [
        ["Run 1", 12, "10 AWG", [["A", 8], ["C", 8]]],
        ["Run 2", 14, "12 AWG", [["B", 3]]],
    ]
    assert seen["names"] == ["Run 1", "Run 2"]
    heads = [row for row in seen["rows"] if row.startswith("Run")]
    assert heads == ["Run 1 · 10\u00a0AWG · 12\u00a0V", "Run 2 · 12\u00a0AWG · 14\u00a0V"]
    assert len(seen["rows"]) == len(heads) + 8 + 8 + 3
    assert seen["back"] == [[None, None, seen["used"][0][2], [[None, 8]]]]
    assert seen["barriers"] == []


def test_what_is_proposed_for_several_runs_is_filled_in_and_chosen_run_by_run(placed: Any) -> None:
    seen = placed["groups"]
    for (name, tap, conductor, _), chosen in zip(seen["used"], seen["choice"], strict=True):
        assert (
            f"{name}: {conductor} · {tap} V".replace(" AWG", "\u00a0AWG").replace(" V", "\u00a0V")
            in (seen["proposal"])
        )
        assert (chosen["run"], chosen["conductor"], chosen["tap"]["value"]) == (name, conductor, tap)


def test_direct_current_has_no_taps_and_a_run_keeps_its_cable_when_its_first_group_goes(placed: Any) -> None:
    seen = placed["groups"]
    assert [tap for _, tap, _, _ in seen["direct"]] == [None, None]
    _, (_, tap, conductor, lines) = seen["heir"]
    assert (tap, conductor) == (seen["used"][1][1], seen["used"][1][2])
    assert lines == [["B", 8]]


def test_a_mistake_in_a_further_group_stands_at_its_input_and_a_language_keeps_the_groups(
    placed: Any,
) -> None:
    assert placed["groups"]["refused"] == "Enter 1 to 10000."
    assert [run[0] for run in placed["groups"]["german"]] == ["Leitung 1", "Leitung 2"]


def test_the_snippet_of_the_readme_shows_volts_at_once(placed: Any) -> None:
    assert placed["readme"]["summary"].startswith("Passes. The lamps get ")
    assert placed["readme"]["rows"] == 8


def test_what_a_page_leaves_open_has_something_to_see_but_a_form_sends_what_was_typed(placed: Any) -> None:
    seen = placed["beginning"]
    assert seen["plain"] == [8, {"value": 25, "unit": "ft"}]
    assert seen["metric"] == [3, {"value": 8, "unit": "m"}]
    assert (seen["form"], seen["count"]) == (None, "")


def test_every_version_that_was_released_still_answers(placed: Any) -> None:
    assert list(placed["pinned"]) == list(versions())
    for version, seen in placed["pinned"].items():
        assert seen == {"rows": 8, "complaints": []}, version


def test_a_search_that_ended_early_is_not_told_as_one_that_found_nothing(placed: Any) -> None:
    assert placed["ended"]["text"].startswith("The search ended before a cable was found that works")
    assert placed["ended"]["buttons"] == 0
