"""Drawings: to scale, told in words, labels clear of each other, and none too large to send."""

import re
import xml.etree.ElementTree as ET
from itertools import combinations, pairwise
from typing import Any

import pytest
from msgspec import json

from service.sheets.drawing import WIDE, Drawing, Stroke, Words, breadth
from service.studies.voltage_drop.drawing import BROAD, SLIM, Canvas, overview, plans, profile
from service.studies.voltage_drop.network import drawn_network_of, trails_of
from service.studies.voltage_drop.reply import Solved, VoltageDropReply
from service.studies.voltage_drop.request import VoltageDropRequest
from service.studies.voltage_drop.study import voltage_drop
from service.studies.voltage_drop.translate import job_of, reply_of
from tests.client import Client
from tests.jobs import (
    awg,
    branch,
    dc_supply,
    job,
    lamp,
    metres,
    run,
    strip,
    transformer,
    volts,
    watts,
    winding,
    window,
)
from tests.sheets.reading import SVG, printed
from tests.sheets.studies import VOLTAGE_DROP

NAMESPACE = "{http://www.w3.org/2000/svg}"
PATH = "/v1/voltage-drop"
TWENTY = job(
    run(
        lamp(3, watts(3), name="orchard bollard", count=20, spacing=metres(2.5)),
        name="orchard walk",
        cable=awg(12),
        branches=[
            branch(
                13, lamp(8, watts(2), name="willow", count=4, spacing=metres(1)), name="pond", cable=awg(16)
            )
        ],
    ),
    run(
        lamp(4, watts(2), name="step", count=6, spacing=metres(3)),
        name="terrace",
        return_leg={"length": metres(14)},
    ),
    supply=transformer(winding=winding(300, 4)),
)


def solved(request: Any) -> Solved:
    message = json.decode(json.encode(request), type=VoltageDropRequest)
    reply: VoltageDropReply = reply_of(message, voltage_drop(job_of(message)), "")
    assert isinstance(reply, Solved)
    return reply


def plan_of(request: Any) -> list[Drawing]:
    message, reply = json.decode(json.encode(request), type=VoltageDropRequest), solved(request)
    return plans(reply, drawn_network_of(message, reply))


def boxes(drawing: Drawing) -> list[tuple[float, float, float, float]]:
    """Where each text stands: left, right, top, bottom."""
    found = []
    for part in drawing.parts:
        if isinstance(part, Words):
            wide = breadth(part.text, part.size, bold=part.bold)
            left = part.x - {"start": 0.0, "middle": 0.5, "end": 1.0}[part.anchor] * wide
            found.append((left, left + wide, part.y - 0.7 * part.size, part.y))
    return found


def test_no_label_covers_another_on_a_job_of_twenty_fixtures() -> None:
    [drawing] = plan_of(TWENTY)
    for (left, right, top, bottom), (begins, ends, above, below) in combinations(boxes(drawing), 2):
        assert right <= begins or ends <= left or bottom <= above or below <= top


def test_every_label_stands_on_the_paper() -> None:
    for drawing in plan_of(TWENTY):
        for left, right, top, bottom in boxes(drawing):
            assert (left >= -0.1, right <= WIDE + 0.1) == (True, True)
            assert (top >= 0.0, bottom <= drawing.height) == (True, True)


def test_the_lowest_fixture_always_has_its_label() -> None:
    reply = solved(TWENTY)
    lowest = min(reply.fixtures, key=lambda row: row.voltage.value)
    labels = [part.text for part in plan_of(TWENTY)[0].parts if isinstance(part, Words)]
    assert f"{lowest.name}, {lowest.voltage.value:.2f} V" in labels


def test_lengths_are_drawn_to_scale() -> None:
    request = job(
        run(lamp(10, watts(3)), name="short"), run(lamp(30, watts(3)), name="long"), supply=transformer()
    )
    [drawing] = plan_of(request)
    wide = [
        max(x for x, _ in part.points) - min(x for x, _ in part.points)
        for part in drawing.parts
        if isinstance(part, Stroke) and part.look == "bold"
    ]
    assert wide[1] == pytest.approx(3.0 * wide[0])


def test_a_branch_begins_where_its_run_has_the_point() -> None:
    request = job(
        run(
            lamp(40, watts(3), name="far"),
            name="walk",
            branches=[branch(10, lamp(5, watts(2), name="near"), name="arm")],
        ),
        supply=transformer(),
    )
    [drawing] = plan_of(request)
    trunk, arm = [part for part in drawing.parts if isinstance(part, Stroke) and part.look == "bold"]
    (left, _), (right, _) = trunk.points[0], trunk.points[-1]
    assert arm.points[0][0] == pytest.approx(left + 0.25 * (right - left))


def crossings(drawing: Drawing) -> list[str]:
    """Words that a stroke downwards runs through."""
    texts = [part for part in drawing.parts if isinstance(part, Words)]
    found = []
    for part in drawing.parts:
        if isinstance(part, Stroke) and not part.dash and len(part.points) == 2:
            (x, top), (last, bottom) = part.points
            if x == last:
                found += [
                    words.text
                    for words, (left, right, over, under) in zip(texts, boxes(drawing), strict=True)
                    if left < x < right and top < under - 1.0 and over + 1.0 < bottom
                ]
    return found


BRANCHES = [
    branch(place, lamp(2, watts(2), count=2, spacing=metres(1)), cable=awg(14), **named)
    for place, named in (
        (20, {"name": "pond"}),
        (22, {"name": "the old kitchen garden"}),
        (25, {}),
        (31, {"name": "gate"}),
    )
]


@pytest.mark.parametrize("room", [BROAD, SLIM])
def test_no_stroke_runs_through_the_name_of_a_branch(room: Canvas) -> None:
    request = job(run(lamp(32, watts(3)), name="main", cable=awg(12), branches=BRANCHES))
    message, reply = json.decode(json.encode(request), type=VoltageDropRequest), solved(request)
    network = drawn_network_of(message, reply)
    for drawing in (
        *plans(reply, network, room),
        overview(reply, network, trails_of(network), [row.verdict for row in reply.fixtures], room),
    ):
        assert crossings(drawing) == []
        said = [part.text for part in drawing.parts if isinstance(part, Words)]
        for name in ("main", "pond", "the old", "main branch 3", "gate"):
            assert any(text.startswith(name) for text in said), (name, said)


def test_a_fixture_on_the_plan_is_not_told_the_place_where_it_is_drawn() -> None:
    request = job(
        run(lamp(42, watts(3), type="p", count=2, spacing=metres(9)), name="long hedge", cable=awg(12)),
        run(lamp(12, watts(3)), name="path", cable=awg(12)),
    )
    request["wiring"]["fixture_types"] = [{"id": "p", "name": "path light", "load": watts(3)}]
    said = [part.text for part in plan_of(request)[0].parts if isinstance(part, Words)]
    assert [text for text in said if re.fullmatch(r"path light 2, \d+\.\d\d V", text)]
    assert [text for text in said if re.fullmatch(r"\d+\.\d\d V", text)], "of one without a name"
    assert [text for text in said if " of " in text or "…" in text] == []


def test_no_line_of_cable_meets_another_but_where_it_begins() -> None:
    """A spur that ends at the distance at which a branch begins is not drawn as if it were joined to it."""
    spur = {"at": metres(15), "fixtures": [lamp(5, watts(2))], "cable": awg(14)}
    near = branch(10, lamp(15, watts(3)), name="near", cable=awg(14)) | {"spurs": [spur]}
    far = branch(30, lamp(6, watts(3)), name="far", cable=awg(14))
    request = job(run(lamp(40, watts(3)), name="main", cable=awg(12), branches=[near, far]))
    message, reply = json.decode(json.encode(request), type=VoltageDropRequest), solved(request)
    network = drawn_network_of(message, reply)
    verdicts = [row.verdict for row in reply.fixtures]
    for drawing in (*plans(reply, network), overview(reply, network, trails_of(network), verdicts)):
        strokes = [
            part.points for part in drawing.parts if isinstance(part, Stroke) and len(part.points) == 2
        ]
        down = [(x, min(y, z), max(y, z)) for (x, y), (other, z) in strokes if x == other]
        rows = [(min(x, other), max(x, other), y) for (x, y), (other, z) in strokes if y == z]
        assert len(rows) == len(down) == 4
        met = [
            (x, y)
            for x, top, foot in down
            for left, right, y in rows
            if left <= x <= right and top < y < foot
        ]
        assert met == []


def test_lengths_on_a_plan_have_two_decimals_at_most() -> None:
    request = job(
        run(lamp(4.0 / 3.0, watts(3), name="step", count=3, spacing=metres(1.0 / 7.0)), cable=awg(12))
    )
    said = [part.text for part in plan_of(request)[0].parts if isinstance(part, Words)]
    assert [text for text in said if re.fullmatch(r"1\.33 m, \d\.\d\d A", text)]
    assert [text for text in said if re.search(r"\d\.\d{3}", text)] == []


@pytest.mark.parametrize("room", [BROAD, SLIM])
def test_what_the_supply_shows_is_told_whole_or_not_at_all(room: Canvas) -> None:
    taps = [volts(each) for each in (12, 13, 14)]
    supply = transformer(winding=winding(300, 4), taps=taps)
    request = job(*(run(lamp(9, watts(5)), tap=tap, cable=awg(12)) for tap in taps), supply=supply)
    message, reply = json.decode(json.encode(request), type=VoltageDropRequest), solved(request)
    first = next(part for part in plans(reply, drawn_network_of(message, reply), room)[0].parts)
    assert isinstance(first, Words)
    assert first.text.startswith("Supply, everything on: ")
    assert first.text.endswith(f"{reply.supply.current.value:.2f} A")


def test_a_loop_is_closed_by_a_dashed_way() -> None:
    loops = [part for part in plan_of(TWENTY)[0].parts if isinstance(part, Stroke) and part.dash]
    assert len(loops) == 1


@pytest.mark.parametrize("study", VOLTAGE_DROP, ids=lambda each: each.file)
def test_a_drawing_has_a_title_and_is_told_in_words(client: Client, study: Any) -> None:
    content = printed(client, study.path, study.request(), SVG)
    drawing = ET.fromstring(content)  # noqa: S314  # our own drawing
    assert drawing.get("role") == "img"
    assert [child.tag for child in list(drawing)[:2]] == [f"{NAMESPACE}title", f"{NAMESPACE}desc"]
    assert len(drawing.findtext(f"{NAMESPACE}desc") or "") > 40
    style = drawing.findtext(f"{NAMESPACE}style") or ""
    assert "url(" not in style
    assert "@import" not in style


def test_a_drawing_warns_as_the_answer_does(client: Client) -> None:
    reply = client.post(PATH, json=TWENTY).json()
    drawing = ET.fromstring(printed(client, PATH, TWENTY, SVG))  # noqa: S314  # our own drawing
    texts = [element.text for element in drawing.iter(f"{NAMESPACE}text")]
    assert all(caution["message"] in texts for caution in reply["cautions"])


def test_each_fixture_has_its_mark_in_both_drawings(client: Client) -> None:
    drawing = ET.fromstring(printed(client, PATH, TWENTY, SVG))  # noqa: S314  # our own drawing
    marks = [
        path for path in drawing.iter(f"{NAMESPACE}path") if path.get("class") in ("ink", "warn", "hollow")
    ]
    assert len(marks) == 2 * len(client.post(PATH, json=TWENTY).json()["fixtures"])


LARGEST = {
    "one run": job(
        run(lamp(1, watts(0.1), name="path light", count=1_990, spacing=metres(0.05)), cable=awg(4)),
        supply=transformer(24.0),
        nominal_v=24.0,
    ),
    "many runs": job(
        *(
            run(
                lamp(2, watts(0.2), name=f"bed light {index}", count=9, spacing=metres(1)),
                name=f"run number {index}",
                cable=awg(12),
            )
            for index in range(200)
        ),
        supply=transformer(24.0),
        nominal_v=24.0,
    ),
}


@pytest.mark.parametrize("request_body", LARGEST.values(), ids=LARGEST.keys())
def test_the_largest_job_is_drawn_in_less_than_two_megabytes(client: Client, request_body: Any) -> None:
    content = printed(client, PATH, request_body, SVG)
    assert len(content) < 2_000_000
    assert len(re.findall(rb"<path class=\"(?:ink|warn|hollow)\"", content)) >= 3_500


TAPPED = job(
    run(lamp(10, watts(20), count=3, spacing=metres(10)), name="low", cable=awg(12)),
    run(
        lamp(10, watts(20), count=3, spacing=metres(10)),
        name="high",
        cable=awg(12),
        tap=volts(14),
        branches=[branch(20, lamp(5, watts(9)), name="arm", cable=awg(14))],
    ),
    supply=transformer(winding=winding(300, 5), taps=[volts(12), volts(14)]),
)


def chart_of(request: Any) -> tuple[Solved, Drawing]:
    message, reply = json.decode(json.encode(request), type=VoltageDropRequest), solved(request)
    return reply, profile(reply, drawn_network_of(message, reply))


def curves(drawing: Drawing) -> list[Stroke]:
    return [part for part in drawing.parts if isinstance(part, Stroke) and part.look == "bold"]


def volts_at(drawing: Drawing, y: float) -> float:
    """What a height says, read off the numbers beside the axis as an eye would."""
    ticks = [
        (part.y - 0.35 * part.size, float(part.text))
        for part in drawing.parts
        if isinstance(part, Words) and part.anchor == "end" and part.text != "V"
    ]
    (low, low_v), (high, high_v) = ticks[0], ticks[-1]
    return low_v + (y - low) / (high - low) * (high_v - low_v)


def test_the_curve_of_a_run_begins_at_the_volts_of_its_own_tap() -> None:
    reply, drawing = chart_of(TAPPED)
    taps = {tap.rated.value: tap.terminal.value for tap in reply.supply.taps}
    low, high, _ = curves(drawing)
    assert taps[14] - taps[12] > 1.5
    assert volts_at(drawing, low.points[0][1]) == pytest.approx(taps[12], abs=0.001)
    assert volts_at(drawing, high.points[0][1]) == pytest.approx(taps[14], abs=0.001)


def test_the_curve_of_a_branch_begins_where_its_run_stands() -> None:
    _, drawing = chart_of(TAPPED)
    _, high, arm = curves(drawing)
    assert arm.points[0] in high.points


@pytest.mark.parametrize("request_body", [TAPPED, TWENTY])
def test_no_curve_rises_along_a_cable_that_is_fed_from_one_end(request_body: Any) -> None:
    _, drawing = chart_of({**request_body, "wiring": without_loops(request_body["wiring"])})
    for curve in curves(drawing):
        heights = [y for _, y in curve.points]
        assert heights == sorted(heights)


def without_loops(wiring: Any) -> Any:
    runs = [{name: part for name, part in each.items() if name != "return_leg"} for each in wiring["runs"]]
    return {**wiring, "runs": runs}


def test_both_ends_of_the_windows_are_drawn_and_named() -> None:
    request = job(
        run(
            lamp(10, watts(5), window=window(10, 15)),
            lamp(20, watts(5), window=window(11, 13)),
            cable=awg(12),
        ),
        supply=transformer(winding=winding(100, 5)),
    )
    _, drawing = chart_of(request)
    limits = [part for part in drawing.parts if isinstance(part, Stroke) and part.look == "limit"]
    shown = sorted(volts_at(drawing, part.points[0][1]) for part in limits)
    assert shown == pytest.approx([10, 11, 13, 15], abs=0.001)
    told = {part.text for part in drawing.parts if isinstance(part, Words) and part.tone == "warn"}
    assert told == {
        "10 V minimum of some",
        "11 V minimum of some",
        "13 V maximum of some",
        "15 V maximum of some",
    }


def test_words_of_limits_stand_clear_of_each_other_and_of_every_curve() -> None:
    _, drawing = chart_of(TAPPED)
    found = [box for box, part in words_of(drawing) if part.tone == "warn"]
    assert len(found) >= 2
    for (left, right, top, bottom), (begins, ends, above, below) in combinations(found, 2):
        assert right <= begins or ends <= left or bottom <= above or below <= top
    for left, right, top, bottom in found:
        for curve in curves(drawing):
            for (x1, y1), (x2, y2) in pairwise(curve.points):
                for step in range(101):
                    x, y = x1 + (x2 - x1) * step / 100, y1 + (y2 - y1) * step / 100
                    assert not (left < x < right and top < y < bottom)


def words_of(drawing: Drawing) -> list[tuple[tuple[float, float, float, float], Words]]:
    return list(zip(boxes(drawing), [part for part in drawing.parts if isinstance(part, Words)], strict=True))


def test_the_plan_says_tap_circuit_and_the_numbers_of_the_lamps() -> None:
    [drawing] = plan_of({**TAPPED, "supply": {**TAPPED["supply"], "circuits": [{"name": "left"}]}})
    told = {part.text for part in drawing.parts if isinstance(part, Words)}
    assert {"low · 12 V tap · circuit left", "high · 14 V tap · circuit left"} <= told
    assert "arm, from high at 20 m" in told
    assert {str(number) for number in range(1, 8)} <= told


@pytest.mark.parametrize(
    "name", ["W" * 64, "a name of many words that goes on and on for ever", "庭の灯り" * 8]
)
def test_long_names_cover_nothing_and_stay_on_the_paper(name: str) -> None:
    request = json.decode(json.encode(TWENTY))
    for each in request["wiring"]["runs"]:
        each["name"] = name
        for part in (each, *each.get("branches", ())):
            part["name"] = name
            for line in part["fixtures"]:
                line["name"] = name[:60]
    [drawing] = plan_of(request)
    for left, right, _, _ in boxes(drawing):
        assert (left >= -0.1, right <= WIDE + 0.1) == (True, True)
    for (left, right, top, bottom), (begins, ends, above, below) in combinations(boxes(drawing), 2):
        assert right <= begins or ends <= left or bottom <= above or below <= top


def test_lamps_without_any_cable_are_drawn_as_no_rows() -> None:
    request = job(
        run(lamp(0, watts(5), lead={"length": metres(1), "cable": awg(16)}), cable=awg(12)),
        supply=transformer(winding=winding(100, 5)),
    )
    assert plan_of(request) == []


def test_a_run_without_a_lamp_is_drawn(client: Client) -> None:
    drawing = ET.fromstring(printed(client, PATH, job({"cable": awg(12), "fixtures": []}), SVG))  # noqa: S314  # ours
    assert drawing.tag.endswith("svg")


def test_the_name_of_a_branch_stands_at_its_own_stroke_where_all_of_its_title_has_no_room() -> None:
    near = branch(10, lamp(3, watts(3)), name="near", cable=awg(14))
    far = branch(30, lamp(3, watts(3)), name="by the old gate", cable=awg(14))
    request = job(run(lamp(34, watts(3)), name="main", cable=awg(12), branches=[near, far]))
    [drawing] = plan_of(request)
    titles = {part.text: part.x for part in drawing.parts if isinstance(part, Words)}
    verticals = [
        part.points[0][0] for part in drawing.parts if isinstance(part, Stroke) and len(part.points) == 2
    ]
    at = titles["by the old gate"]
    assert min(at - x for x in verticals if x < at) < 5.0
    assert any(text.startswith("near, from main at 10 m") for text in titles)


def test_the_far_end_of_a_strip_and_a_lamp_behind_its_lead_are_joined_to_the_cable() -> None:
    lead = {"length": metres(2), "cable": awg(18)}
    request = job(
        run(lamp(5, strip(5, 14.4, 0.3)), lamp(9, watts(5), lead=lead), name="bar", cable=awg(12)),
        nominal_v=24,
    )
    request["supply"] = dc_supply(24.0)
    message, reply = json.decode(json.encode(request), type=VoltageDropRequest), solved(request)
    drawing = profile(reply, drawn_network_of(message, reply))
    thin = [part.points for part in drawing.parts if isinstance(part, Stroke) and part.look == "line"]
    curve = next(part.points for part in drawing.parts if isinstance(part, Stroke) and part.look == "bold")
    far = [points[-1] for points in thin if points[0] in curve]
    assert len(far) == 2
    at_the_far_end, behind_its_lead = sorted(far, key=lambda point: -point[1])
    assert at_the_far_end[1] > max(y for _, y in curve), "the lowest voltage is drawn, and lies lower"
    assert behind_its_lead[0] > max(x for x, _ in curve)
