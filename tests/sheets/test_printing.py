"""A page as a browser prints it: on its paper, headed on each sheet of it, rows whole, pages numbered."""

import re
import subprocess
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from service.studies.record import MOST_ROWS
from tests import jobs
from tests.client import Client
from tests.jobs import awg, job, lamp, metres, run, transformer, watts
from tests.node import a_browser
from tests.sheets.reading import HTML, printed

PATH = "/v1/voltage-drop"
LONG = job(
    run(
        lamp(1, watts(0.2), name="a lamp with a name too long for one line", count=120, spacing=metres(0.2)),
        cable=awg(6),
    ),
    supply=transformer(),
)
SIZES = {"a4": (595.0, 842.0), "letter": (612.0, 792.0)}


@pytest.fixture(scope="module", params=["a4", "letter"])
def paper(request: pytest.FixtureRequest) -> str:
    kind: str = request.param
    return kind


def print_page(page: Path, target: Path) -> None:
    """Print a page as a browser does."""
    flags = ["--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer"]
    command = [
        a_browser(),
        *flags,
        f"--user-data-dir={target.parent / 'profile'}",
        f"--print-to-pdf={target}",
        str(page),
    ]
    done = subprocess.run(command, capture_output=True, text=True, timeout=120, check=False)  # noqa: S603  # a browser
    assert target.is_file(), done.stderr


@pytest.fixture(scope="module")
def pages(paper: str, tmp_path_factory: pytest.TempPathFactory) -> Any:
    """The pages of one long sheet, printed once for all checks."""
    from service.app import app  # noqa: PLC0415  # tests of the lower rooms must not load the framework

    folder: Path = tmp_path_factory.mktemp("printed")
    page, target = folder / "sheet.html", folder / "sheet.pdf"
    page.write_bytes(printed(Client(app), PATH, {**LONG, "sheet": {"paper": paper}}, HTML))
    print_page(page, target)
    return PdfReader(target).pages


def texts(pages: Any) -> list[str]:
    return [" ".join(page.extract_text().split()) for page in pages]


def test_the_paper_of_the_sheet_is_the_paper_of_the_print(pages: Any, paper: str) -> None:
    for page in pages:
        size = (float(page.mediabox.width), float(page.mediabox.height))
        assert size == pytest.approx(SIZES[paper], abs=1.5)


def test_every_printed_page_is_numbered(pages: Any) -> None:
    found = texts(pages)
    assert all(f"page {number} of {len(found)}" in text for number, text in enumerate(found, 1))


def test_the_head_of_a_long_table_is_printed_on_each_page_of_it(pages: Any) -> None:
    over = [text for text in texts(pages) if len(re.findall(r"one line \d+ inside", text)) > 5]
    assert len(over) >= 3
    assert all("Cable drop [V]" in text and "Amperes" in text for text in over)


def test_no_row_is_split_between_two_pages(pages: Any) -> None:
    # Name and number of a row stand on two lines; a split row would leave its number on the next page.
    whole = sum(len(re.findall(r"too long for one line \d+ inside", text)) for text in texts(pages))
    assert whole == 120


def test_the_page_of_the_customer_is_one_sheet_of_paper_from_a_browser_too(tmp_path: Path) -> None:
    from service.app import app  # noqa: PLC0415  # tests of the lower rooms must not load the framework

    name = "a name with so many words that it takes two lines of any table"
    runs = (
        run(lamp(5, watts(2), name=name, count=4, spacing=metres(2)), name=name, cable=awg(12))
        for _ in range(12)
    )
    request = {**job(*runs, supply=transformer()), "sheet": {"for": "customer", "lines": ["a line"] * 12}}
    page, target = tmp_path / "sheet.html", tmp_path / "sheet.pdf"
    page.write_bytes(printed(Client(app), PATH, request, HTML))
    print_page(page, target)
    [text] = texts(PdfReader(target).pages)
    assert "This plan" in text
    assert "local code and a licensed electrician decide" in text


@pytest.mark.parametrize("form", ["text/html", "application/pdf"])
def test_a_sheet_of_more_rows_than_are_printed_is_refused_with_what_to_do(client: Client, form: str) -> None:
    lamps = 5_100
    job = jobs.even(lamps, jobs.watts(0.002), 200, cable=jobs.awg(4))
    reply = client.post("/v1/voltage-drop", json=job, headers={"accept": form})
    problem = reply.json()
    assert (reply.status_code, problem["code"]) == (422, "work-over-limit")
    assert int(re.findall(r"has (\d+) rows", problem["detail"])[0]) > MOST_ROWS
    assert "Ask for JSON, for one paper at a time, or for parts of the job." in problem["detail"]
    one = {**job, "sheet": {"for": "customer"}}
    assert client.post("/v1/voltage-drop", json=one, headers={"accept": form}).status_code == 200
