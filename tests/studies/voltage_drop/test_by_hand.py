"""The fixture by hand: an electrician with a pencil gets the same volts from the printed figures."""

from itertools import pairwise
from typing import Any

import pytest

from tests import jobs
from tests.client import Client
from tests.sheets.reading import page_of
from tests.sheets.studies import VOLTAGE_DROP

PATH = "/v1/voltage-drop"
TREE = jobs.job(
    jobs.run(
        jobs.lamp(4, jobs.volt_amperes(6, 9), name="fern", count=5, spacing=jobs.metres(3)),
        name="walk",
        cable=jobs.awg(14),
        branches=[
            jobs.branch(
                7,
                jobs.lamp(
                    6,
                    jobs.halogen(20),
                    name="willow",
                    count=2,
                    lead={"length": jobs.metres(2), "cable": jobs.awg(18)},
                ),
                name="pond",
                cable=jobs.awg(16),
            )
        ],
    ),
    jobs.run(jobs.lamp(5, jobs.watts(4), name="step", window=jobs.window(9, 15)), name="terrace"),
    supply=jobs.transformer(winding=jobs.winding(150, 5)),
)
LOOP = jobs.job(
    jobs.run(
        jobs.lamp(10, jobs.watts(5), name="arch"),
        jobs.lamp(20, jobs.watts(8), name="urn"),
        name="ring",
        return_leg={"length": jobs.metres(15)},
    ),
    supply=jobs.transformer(winding=jobs.winding(60, 6)),
)
JOBS = {
    "tree": TREE,
    "loop": LOOP,
    "battery": jobs.job(
        jobs.run(jobs.lamp(12, jobs.watts(6), name="reed")),
        supply=jobs.dc_supply(12, internal_resistance=jobs.quantity(80, "mohm")),
    ),
    **{each.file: each.request() for each in VOLTAGE_DROP if "no_operating_point" not in each.file},
}


def followed(client: Client, request: Any) -> tuple[str, list[dict[str, str]], list[str]]:
    """The fixture that is followed, the lines of its calculation, and the page in words."""
    page = page_of(client, PATH, request)
    heading = next(title for title in page.tables if title.startswith("One fixture by hand"))
    return heading.partition(": ")[2], page.table(heading), page.texts


def number(text: str) -> float | None:
    return None if text == "–" else float(text)


@pytest.mark.parametrize("request_body", JOBS.values(), ids=JOBS.keys())
def test_each_line_leaves_what_the_one_before_left_less_its_own_drop(
    client: Client, request_body: Any
) -> None:
    _, lines, _ = followed(client, request_body)
    for before, line in pairwise(lines[:-1]):
        # Both are printed to 0.0001 V, so the difference of two is exact but for the float.
        assert float(line["V left"]) == pytest.approx(
            float(before["V left"]) - float(line["V lost"]), abs=1e-9
        )


@pytest.mark.parametrize("request_body", JOBS.values(), ids=JOBS.keys())
def test_what_is_left_at_the_end_is_the_voltage_of_the_fixture(client: Client, request_body: Any) -> None:
    name, lines, _ = followed(client, request_body)
    *_, last, solved = lines
    # A sheet is whole whatever `detail` leaves out of the JSON.
    reply = client.post(PATH, json={**request_body, "detail": "full"}).json()
    assert float(solved["V left"]) in [
        row["voltage"]["value"] for row in reply["fixtures"] if row["name"] == name
    ]
    # Each printed drop is off by half of its last figure at most, and so is the terminal.
    assert abs(float(last["V left"]) - float(solved["V left"])) <= 0.5e-4 * len(lines) + 1e-9


@pytest.mark.parametrize("request_body", JOBS.values(), ids=JOBS.keys())
def test_the_printed_figures_give_the_printed_drop(client: Client, request_body: Any) -> None:
    _, lines, words = followed(client, request_body)
    tried = 0
    for line in lines[1:-1]:
        ohm, whole_a = number(line["ohm, both"]), number(line["A"])
        active_a = number(line["A real"]) if "A real" in line else whole_a
        if ohm is None or whole_a is None or active_a is None:
            continue
        left_v, lost_v = float(line["V left"]), float(line["V lost"])
        # The phasors themselves, and not the shortcut of the sheet: Pythagoras over what is left.
        across_v = ohm * max(0.0, whole_a**2 - active_a**2) ** 0.5
        before_v = ((left_v + ohm * active_a) ** 2 + across_v**2) ** 0.5
        # Drop and volts are right to half of 0.0001 V each, and the watts of a few lamps make as much again.
        assert abs(before_v - left_v - lost_v) <= 1.5e-4
        tried += 1
    # On the ring only the winding can be tried; a loop behind it is told in words.
    assert tried or any("lie on a loop" in text for text in words)


@pytest.mark.parametrize("request_body", JOBS.values(), ids=JOBS.keys())
def test_the_amperes_in_phase_are_the_watts_over_the_volts_left(client: Client, request_body: Any) -> None:
    _, lines, _ = followed(client, request_body)
    for line in lines[1:-1]:
        passing_w, active_a = number(line.get("W passing", "–")), number(line.get("A real", "–"))
        if passing_w is not None and active_a is not None:
            # Watts to half of 0.001, volts to half of 0.0001, the amperes themselves to half of 0.00001.
            left_v = float(line["V left"])
            unsure_a = 5e-4 / left_v + active_a * 5e-5 / left_v + 5e-6
            whole_a = float(line["A"])
            assert min(whole_a, passing_w / left_v) == pytest.approx(active_a, abs=1.01 * unsure_a)


@pytest.mark.parametrize("request_body", JOBS.values(), ids=JOBS.keys())
def test_what_the_sheet_says_of_its_own_exactness_is_little(client: Client, request_body: Any) -> None:
    _, _, words = followed(client, request_body)
    told = [text for text in words if text.startswith("By hand")]
    assert all(float(text.partition("within ")[2].partition(" V")[0]) <= 1.5e-4 for text in told)


@pytest.mark.parametrize("request_body", JOBS.values(), ids=JOBS.keys())
def test_length_times_ohms_per_length_both_ways_are_the_ohms_of_a_span(
    client: Client, request_body: Any
) -> None:
    _, lines, _ = followed(client, request_body)
    length = next(key for key in lines[0] if key.endswith("one way"))
    per_length = next(key for key in lines[0] if key.endswith("one conductor"))
    for line in lines:
        per = number(line[per_length])
        if per is not None:
            metres_or_feet = float(line[length])
            # Per 1000 m or ft, printed to 0.0001; the ohms to 0.000001.
            unsure = 2.0 * metres_or_feet / 1000.0 * 0.5e-4 + 0.5e-6
            assert abs(2.0 * metres_or_feet / 1000.0 * per - float(line["ohm, both"])) <= unsure * 1.01


def test_what_passes_the_terminal_are_all_lamps_and_all_the_heat(client: Client) -> None:
    _, lines, _ = followed(client, TREE)
    totals = client.post(PATH, json=TREE).json()["totals"]
    together_w = totals["fixture_power"]["value"] + totals["cable_loss"]["value"]
    # Three figures, each to half of 0.001 W.
    assert float(lines[1]["W passing"]) == pytest.approx(together_w, abs=1.5e-3)
    assert float(lines[1]["A real"]) < float(lines[1]["A"])


def test_the_winding_comes_first_and_is_what_its_plate_says(client: Client) -> None:
    _, lines, _ = followed(client, TREE)
    assert lines[0]["From → to"] == "open circuit"
    assert lines[1]["From → to"] == "winding"
    # 5 % of 12 V at 150 VA: 0.05 x 144 / 150 ohm.
    assert float(lines[1]["ohm, both"]) == pytest.approx(0.048)


def test_the_fixture_with_least_to_spare_is_followed(client: Client) -> None:
    # The filament has 10.5 V to keep, the others 10 V and 9 V: common practice, no published source.
    name, lines, _ = followed(client, TREE)
    assert name == "willow"
    assert [line["From → to"].partition(",")[0] for line in lines[2:-1]] == [
        "supply → walk at 4 m",
        "walk at 4 m → walk at 7 m",
        "walk at 7 m → pond at 6 m",
        "pond at 6 m → lamp of willow",
    ]


def test_on_a_loop_no_sum_of_lamps_is_claimed(client: Client) -> None:
    _, lines, words = followed(client, LOOP)
    assert any("lie on a loop" in text for text in words)
    assert {line.get("A real", "–") for line in lines[2:-1]} == {"–"}


def test_runs_of_one_name_are_told_apart(client: Client) -> None:
    alike = [
        jobs.run(jobs.lamp(length, jobs.watts(9), name="step"), name="walk", cable=jobs.ohms_per_km(5.0))
        for length in (10, 30, 20)
    ]
    request = jobs.job(*alike)
    _, lines, _ = followed(client, request)
    assert lines[1]["From → to"] == "winding"
    assert lines[2]["m, one way"] == "30"
    reply = client.post(PATH, json=request).json()
    assert float(lines[-1]["V left"]) == min(row["voltage"]["value"] for row in reply["fixtures"])


def test_spans_told_towards_the_supply_are_followed_like_those_told_away_from_it(client: Client) -> None:
    away = [("supply", "fern", 18), ("fern", "brook", 21), ("brook", "moss", 16)]
    lines = []
    for ways in (away, [away[0], *((end, start, length) for start, end, length in away[1:])]):
        spans = [
            {"from": start, "to": end, "length": jobs.metres(length), "cable": jobs.awg(14)}
            for start, end, length in ways
        ]
        wiring = {"form": "spans", "spans": spans, "fixtures": [{"point": "moss", "load": jobs.watts(20)}]}
        lines.append(followed(client, {"supply": jobs.transformer(), "wiring": wiring})[1])
    assert lines[0] == lines[1]
