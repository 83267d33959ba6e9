"""Every sheet on a screen of 360 px: nothing scrolls sideways, is too small, or covers something else."""

from pathlib import Path
from typing import Any

import pytest

from service.app import app
from tests.client import Client
from tests.jobs import awg, branch, job, lamp, metres, run, transformer, volts, watts, winding
from tests.node import a_browser, installed, printed_by
from tests.sheets.reading import HTML
from tests.sheets.studies import STUDIES

FOLDER = Path(__file__).parent
PAPERS = ("customer", "installer", "meter", "record")
NAME = "The long herbaceous border beside the old kitchen-garden wall"
BOX = transformer(winding=winding(300, 4), taps=[volts(12), volts(14)])
GARDENS = {
    "branches": job(
        run(lamp(4, watts(3), name="step light", count=8, spacing=metres(1)), name="terrace", cable=awg(12)),
        run(
            lamp(9, watts(4), name="path light", count=10, spacing=metres(4)),
            name="driveway",
            tap=volts(14),
            cable=awg(12),
            branches=[branch(17, lamp(3, watts(9), count=2, spacing=metres(2)), name="gate", cable=awg(14))],
        ),
        run(lamp(8, watts(5), count=8, spacing=metres(2)), cable=awg(12), return_leg={"length": metres(20)}),
        supply=BOX,
    ),
    "long names": job(
        run(lamp(8, watts(5), name="W" * 64, count=6, spacing=metres(3)), name=NAME, cable=awg(12)),
        run(lamp(8, watts(5), name="مصباح", count=6, spacing=metres(3)), name="小径" * 16, cable=awg(12)),
        supply=BOX,
    ),
    "200 lamps": job(
        *(
            run(lamp(5, watts(1), count=20, spacing=metres(1)), name=f"bed {row}", cable=awg(10))
            for row in range(10)
        ),
        supply=BOX,
    ),
    "too little": job(
        run(lamp(15, watts(8), count=10, spacing=metres(6)), name="drive", cable=awg(14)), supply=BOX
    ),
}


@pytest.fixture(scope="module")
def seen(tmp_path_factory: pytest.TempPathFactory) -> Any:
    """What a phone showed of every sheet."""
    browser = a_browser()
    installed(FOLDER)
    folder = tmp_path_factory.mktemp("sheets")
    client = Client(app)
    asked = {each.file: (each.path, each.request()) for each in STUDIES}
    for name, garden in GARDENS.items():
        for paper in PAPERS:
            asked[f"{name}, {paper}"] = ("/v1/voltage-drop", {**garden, "sheet": {"for": paper}})
    for name, (path, body) in asked.items():
        page = client.post(path, json=body, headers={"Accept": HTML})
        assert page.status_code == 200, page.text
        (folder / f"{name}.html").write_bytes(page.content)
    return printed_by(FOLDER / "sheets_on_phone.mjs", browser, str(folder))


def test_no_sheet_is_wider_than_the_phone_and_none_scrolls_sideways_inside(seen: Any) -> None:
    assert len(seen) > 20
    assert {name: each["widest"] for name, each in seen.items() if each["widest"] != 360} == {}
    assert {name: each["scrolled"] for name, each in seen.items() if each["scrolled"]} == {}


def test_no_cell_is_a_syllable_wide_and_each_has_its_heading_beside_it(seen: Any) -> None:
    assert {name: each["thin"] for name, each in seen.items() if each["thin"]} == {}
    assert {name: each["unlabelled"] for name, each in seen.items() if each["unlabelled"]} == {}


def test_the_column_to_write_in_is_on_the_screen(seen: Any) -> None:
    rows = {n: each["toWriteIn"] for n, each in seen.items() if "meter" in n or "commissioning" in n}
    assert len(rows) > 4
    # Of a job without an operating point nothing but the bare terminals is read.
    assert rows.pop("too little, meter.html") == 1
    assert all(count > 3 for count in rows.values())


def test_words_in_drawings_can_be_read_and_do_not_cover_each_other(seen: Any) -> None:
    # 9 px is about as small as print on a terminal block; JSON has no infinity, so none is null.
    drawn = {name: each for name, each in seen.items() if each["smallest"] is not None}
    assert len(drawn) > 10
    assert {name: each["smallest"] for name, each in drawn.items() if each["smallest"] < 9.0} == {}
    assert {name: each["covering"] for name, each in drawn.items() if each["covering"]} == {}


def test_no_sheet_has_a_barrier(seen: Any) -> None:
    assert {name: each["barriers"] for name, each in seen.items() if each["barriers"]} == {}
