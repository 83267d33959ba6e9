"""The drawing: what stands in it, where, and that nothing in it can run."""

import re
import xml.etree.ElementTree as ET
from collections.abc import Sequence
from itertools import pairwise
from typing import Any

import pytest
from msgspec import json

from service.findings.cautions import CAUTIONS
from service.sheets.chart import SAMPLE, Scale, apart, clipped, round_step
from service.sheets.drawing import Drawing, Stroke, Words
from service.sheets.svg import svg_bytes
from service.studies.drop_chart.drawing import ALONE, ON_SHEET, chart_drawing, panels
from service.studies.drop_chart.reply import DropChartReply
from service.studies.drop_chart.request import DropChartRequest
from service.studies.drop_chart.study import drop_chart
from service.studies.drop_chart.translate import job_of, reply_of
from service.translate.csv_cells import as_text

SVG = "{http://www.w3.org/2000/svg}"


def question(
    *conductors: str, powers: list[float], lengths: list[float], start: float = 12.0, **more: Any
) -> DropChartRequest:
    return json.decode(
        json.encode(
            {
                "cables": [{"cable": {"kind": "listed", "conductor": name}} for name in conductors],
                "powers": [{"value": power, "unit": "W"} for power in powers],
                "lengths": [{"value": length, "unit": "ft"} for length in lengths],
                "open_circuit": {"value": start, "unit": "V"},
                **more,
            }
        ),
        type=DropChartRequest,
    )


def reply_to(request: DropChartRequest) -> DropChartReply:
    job = job_of(request)
    return reply_of(request, job, drop_chart(job), "")


def drawn(*conductors: str, **asked: Any) -> ET.Element:
    request = question(*conductors, **asked)
    return ET.fromstring(svg_bytes(chart_drawing(request, reply_to(request))))  # noqa: S314  # our own drawing


def texts(drawing: ET.Element) -> list[str]:
    return [element.text or "" for element in drawing.iter(f"{SVG}text")]


def curves(drawing: ET.Element) -> list[list[tuple[float, float]]]:
    """The points of every line, without the samples beside the labels."""
    paths = [path.get("d") or "" for path in drawing.iter(f"{SVG}path") if path.get("class") == "bold"]
    lines = [[(float(x), float(y)) for x, y in re.findall(r"[ML]([\d.]+) ([\d.]+)", path)] for path in paths]
    return [line for line in lines if not is_sample(line)]


def is_sample(line: list[tuple[float, float]]) -> bool:
    return len(line) == 2 and line[0][0] > ALONE.frame.right and line[1][0] - line[0][0] == SAMPLE


def test_there_is_a_panel_for_each_load_and_a_line_for_each_cable() -> None:
    drawing = drawn("14 AWG", "12 AWG", "10 AWG", powers=[20, 40], lengths=[25, 50])
    assert len(curves(drawing)) == 6
    assert {"20 W", "40 W", "length, one way [ft]", "V"} <= set(texts(drawing))


def test_a_line_falls_from_the_supply_to_the_end_in_the_order_of_length() -> None:
    [line] = curves(drawn("14 AWG", powers=[20], lengths=[75, 25, 50]))
    assert len(line) == 4
    assert all(before[0] < after[0] and before[1] < after[1] for before, after in pairwise(line))


def test_every_line_has_its_name_and_last_voltage_beside_it() -> None:
    drawing = drawn("14 AWG", "12 AWG", powers=[60], lengths=[75])
    # 9.57 V is the closed form of 60 W on the stranded row of the code, 3.14 ohm/kft at 75 °C.
    assert "14 AWG 9.57 V" in texts(drawing)
    assert sum(text.startswith("12 AWG ") for text in texts(drawing)) == 1


def test_a_label_does_not_round_a_failure_up_to_its_limit() -> None:
    ohm = 2.0 * 3.14 * (1.0 + 0.00323 * (20.0 - 75.0)) / 1000.0 * 50.0
    drawing = drawn("14 AWG", powers=[9.999 * (12.0 - 9.999) / ohm], lengths=[50])
    assert "14 AWG 9.99 V" in texts(drawing)


def test_lines_differ_by_dash_or_mark_without_colour() -> None:
    drawing = drawn(*["14 AWG"] * 12, powers=[20], lengths=[50])
    looks = set()
    found = list(drawing.iter(f"{SVG}path"))
    for sample, mark in pairwise(found):
        ends = [(float(x), float(y)) for x, y in re.findall(r"[ML]([\d.]+) ([\d.]+)", sample.get("d") or "")]
        if sample.get("class") == "bold" and is_sample(ends):
            corners = len(re.findall("[ML]", mark.get("d") or ""))
            looks.add((sample.get("stroke-dasharray"), mark.get("class"), corners))
    assert len(looks) == 12


def test_labels_of_equal_lines_do_not_cover_each_other() -> None:
    drawing = drawn(*["14 AWG"] * 12, powers=[20], lengths=[50])
    places = sorted(
        float(element.get("y") or 0)
        for element in drawing.iter(f"{SVG}text")
        if (element.text or "").startswith("14 AWG")
    )
    assert min(after - before for before, after in pairwise(places)) >= 14.9


def test_the_limits_are_drawn_and_named() -> None:
    drawing = drawn("14 AWG", powers=[20], lengths=[25], limits={"maximum_drop_percent": 3})
    assert {"10 V: low for 12 V LED", "11.64 V: 3 % drop"} <= set(texts(drawing))
    assert len([path for path in drawing.iter(f"{SVG}path") if path.get("class") == "limit"]) == 2


def test_a_supply_above_the_window_shows_its_upper_end() -> None:
    assert "15 V: above the window of 12 V LED" in texts(drawn("14 AWG", powers=[20], lengths=[25], start=16))


def test_a_collapse_is_a_cross_and_no_number() -> None:
    drawing = drawn("18 AWG", powers=[60], lengths=[10, 50, 100])
    assert "18 AWG ×" in texts(drawing)
    assert len([path for path in drawing.iter(f"{SVG}path") if path.get("class") == "cross"]) == 1
    assert any("cannot carry the load" in text for text in texts(drawing))
    [line] = curves(drawing)
    assert len(line) == 2


def test_nothing_carried_at_all_is_drawn_too() -> None:
    [line] = curves(drawn("18 AWG", powers=[1000], lengths=[100]))
    assert len(line) == 1


@pytest.mark.parametrize(
    ("power", "length", "start"),
    [(0, 0, 12), (0, 0, 0.001), (100_000, 100_000, 30), (1e-300, 1e-300, 10)],
)
def test_extremes_are_drawn_inside_the_picture(power: float, length: float, start: float) -> None:
    drawing = drawn("4 AWG", powers=[power], lengths=[length], start=start)
    _, _, wide, tall = (float(part) for part in (drawing.get("viewBox") or "").split())
    for element in drawing.iter(f"{SVG}text"):
        assert 0 <= float(element.get("x") or -1) <= wide
        assert 0 <= float(element.get("y") or -1) <= tall


def test_what_is_drawn_is_told_in_words_with_every_caution() -> None:
    drawing = drawn("14 AWG", powers=[60], lengths=[75, 25])
    told = drawing.findtext(f"{SVG}desc") or ""
    assert "60 W at 75 ft of 14 AWG: 9.5721 V" in told
    assert all(caution in told for caution in CAUTIONS.values())
    assert drawing.findtext(f"{SVG}title") == "Volts left at the end of the cable"
    assert "local code and a licensed electrician decide" in " ".join(texts(drawing))


def test_the_drawing_loads_and_runs_nothing() -> None:
    drawing = drawn("14 AWG", powers=[60], lengths=[75], title="javascript:alert(1) onload=x url(#a)")
    names = {name for element in drawing.iter() for name in element.attrib}
    assert not any(name.startswith("on") or "href" in name or name == "style" for name in names)
    style = drawing.findtext(f"{SVG}style") or ""
    assert "url(" not in style
    assert "@import" not in style
    assert "prefers-color-scheme:dark" in style


@pytest.mark.parametrize("text", ['<b>&"', "]]>", "\ufffe\uffff", "a & b"])
def test_any_text_is_well_formed(text: str) -> None:
    drawing = Drawing(text, text, 10.0, [Words(text, 1.0, 2.0)])
    element = ET.fromstring(svg_bytes(drawing))  # noqa: S314  # our own drawing
    assert texts(element) == [text.replace("\ufffe", "\ufffd").replace("\uffff", "\ufffd")]


def test_a_sheet_shows_the_lines_of_the_picture_with_their_dashes() -> None:
    request = question("14 AWG", "12 AWG", "10 AWG", powers=[20, 40], lengths=[25, 50])
    reply = reply_to(request)

    def lines(parts: Sequence[Any]) -> list[tuple[int, Sequence[float]]]:
        return [
            (len(part.points), part.dash)
            for part in parts
            if isinstance(part, Stroke) and part.look == "bold"
        ]

    shown = [line for panel in panels(reply, 2, ON_SHEET) for line in lines(panel.parts)]
    assert shown == lines(chart_drawing(request, reply).parts)
    assert len({dash for _, dash in shown}) == 3


def test_long_names_are_cut_beside_the_line_and_whole_below() -> None:
    name = "the long walk by the pond"
    cables = [{"name": name, "cable": {"kind": "listed", "conductor": "14 AWG"}}]
    found = texts(drawn(powers=[20], lengths=[25], cables=cables))
    assert name in found
    assert any(text.startswith("the long… ") for text in found)


def test_wide_characters_count_twice() -> None:
    assert clipped("庭の灯りと小道", 11) == "庭の灯り…"
    assert clipped("twelve signs", 12) == "twelve signs"


@pytest.mark.parametrize(
    ("least", "step"), [(0.3, 0.5), (1.0, 1.0), (1.1, 2.0), (2.1, 2.5), (2.6, 5.0), (60, 100)]
)
def test_steps_are_round(least: float, step: float) -> None:
    assert round_step(least) == pytest.approx(step)


def test_ticks_stay_on_the_axis() -> None:
    assert Scale(7.2, 12.2, 200.0, 0.0).ticks(5) == pytest.approx([8.0, 9.0, 10.0, 11.0, 12.0])


def test_places_are_kept_apart_and_in_order() -> None:
    places = apart([10.0, 11.0, 100.0, 99.0], 15.0, 100.0)
    assert places == pytest.approx([10.0, 25.0, 100.0, 85.0])


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@SUM(A1)", "\tx", "\rx"])
def test_a_text_like_a_formula_gets_an_apostrophe(text: str) -> None:
    assert as_text(text) == f"'{text}"
    assert as_text(f"a{text}") == f"a{text}"


def test_an_end_that_fails_has_its_mark_in_the_colour_of_the_limits() -> None:
    drawing = drawn("14 AWG", powers=[60], lengths=[10, 75])
    marks = [path.get("class") for path in drawing.iter(f"{SVG}path") if path.get("class") in ("ink", "warn")]
    assert marks == ["warn", "ink", "ink"]
