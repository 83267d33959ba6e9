"""The pages of a PDF: whole, numbered, headed, on the paper that was asked for."""

import re
from io import BytesIO
from typing import Any

import pytest
from pypdf import PageObject, PdfReader

from service.sheets.drawing import Words
from service.sheets.pdf import EDGE, FOOT, SMALLEST, laid_out
from service.sheets.sheet import Column, Facts, Paragraph, Section, Sheet, Table, numbers
from tests.client import Client
from tests.jobs import awg, job, lamp, metres, run, transformer, watts
from tests.sheets.reading import PDF, pdf_pages, printed
from tests.sheets.studies import STUDIES

PATH = "/v1/voltage-drop"
LONG = job(
    run(lamp(1, watts(0.2), name="path light", count=150, spacing=metres(0.2)), cable=awg(6)),
    supply=transformer(),
)


def text_of(number: int) -> str:
    return " ".join(["word"] * number)


@pytest.mark.parametrize(("paper", "size"), [("a4", (595.28, 841.89)), ("letter", (612.0, 792.0))])
def test_the_paper_is_the_one_that_was_asked_for(
    client: Client, paper: str, size: tuple[float, float]
) -> None:
    request = {**STUDIES[0].request(), "sheet": {"paper": paper}}
    for page in PdfReader(BytesIO(printed(client, PATH, request, PDF))).pages:
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(size, abs=0.01)


@pytest.mark.parametrize(("file", "width"), [("voltage_drop", 612.0), ("voltage_drop_even", 595.28)])
def test_feet_are_printed_on_letter_and_metres_on_a4(client: Client, file: str, width: float) -> None:
    study = next(each for each in STUDIES if each.file == file)
    [first, *_] = PdfReader(BytesIO(printed(client, PATH, study.request(), PDF))).pages
    assert float(first.mediabox.width) == pytest.approx(width, abs=0.01)


def test_every_page_says_which_of_how_many_it_is(client: Client) -> None:
    pages = pdf_pages(printed(client, PATH, LONG, PDF))
    assert len(pages) > 5
    for number, text in enumerate(pages, 1):
        assert f"page {number} of {len(pages)}" in text


def test_nothing_but_the_foot_stands_at_the_foot(client: Client) -> None:
    low: list[str] = []

    def visited(text: str, _: Any, matrix: list[float], *__: Any) -> None:
        if text.strip() and matrix[5] < 44.0:
            low.append(text)

    pages = PdfReader(BytesIO(printed(client, PATH, LONG, PDF))).pages
    for page in pages:
        page.extract_text(visitor_text=visited)
    assert len(low) >= len(pages)
    assert [text for text in low if "page " not in text and "Voltage drop" not in text] == []


def test_a_page_that_lost_its_first_one_still_says_what_it_is_of(client: Client) -> None:
    title = "Offer 17 for the long border, \u5c0f\u5f84, " + "and so on " * 8
    asked = {**LONG, "sheet": {"for": ["meter", "record"], "title": title[:120]}}
    pages = pdf_pages(printed(client, PATH, asked, PDF))
    later = [text for text in pages if "page 1 of" not in text]
    assert len(later) > 3
    for text in later:
        assert "Offer 17 for the long border, \u25af\u25af, and" in text
    names = [
        name
        for text in later
        for name in ("Commissioning sheet \u00b7", "Voltage drop \u00b7")
        if name in text
    ]
    assert len(names) == len(later)
    assert len(set(names)) == 2


def test_the_head_of_a_table_stands_on_each_page_that_it_runs_over(client: Client) -> None:
    pages = pdf_pages(printed(client, PATH, LONG, PDF))
    rows = re.compile(r"^\d+ path light \d+$|^\d+ path light \d+ inside", re.MULTILINE)
    over = [text for text in pages if len(rows.findall(text)) > 10]
    assert len(over) >= 3
    assert all("Cable" in text and "Amperes" in text for text in over)


def test_every_row_is_printed_once_and_whole(client: Client) -> None:
    reply = client.post(PATH, json=LONG).json()
    pages = [" ".join(text.split()) for text in pdf_pages(printed(client, PATH, LONG, PDF))]
    for row in reply["fixtures"]:
        line = f"{row['name']} {row['verdict']} {row['at']['value']:g} {row['voltage']['value']:.2f}"
        assert sum(f"{line} " in text for text in pages) == 1


def sheet(*blocks: Any, paper: Any = "a4") -> Sheet:
    return Sheet("title", "study", [], paper, [Section("heading", blocks)])


def words_of(page: Any) -> list[Words]:
    return [part for part in page.parts if isinstance(part, Words)]


@pytest.mark.parametrize("lines", range(44, 60))
def test_a_heading_never_stands_alone_at_the_foot(lines: int) -> None:
    filler = Section("first", [Facts([("fact", str(line)) for line in range(lines)])])
    table = Table([Column("name"), *numbers("value")], [[f"row {row}", "1.0"] for row in range(30)])
    pages = laid_out(Sheet("title", "study", [], "a4", [filler, Section("second", [table])])).pages
    home = next(page for page in pages if any(part.text == "second" for part in words_of(page)))
    assert any(part.text == "row 1" for part in words_of(home))


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_nothing_stands_outside_the_edges(paper: Any) -> None:
    wide = Table(
        [Column("a name"), *numbers(*(f"number {each} [V]" for each in range(11))), Column("words")],
        [[text_of(9), *["12345.6789"] * 11, text_of(30)]] * 70,
    )
    pages = laid_out(sheet(Paragraph(text_of(400)), wide, paper=paper))
    for page in pages.pages:
        for part in words_of(page):
            assert EDGE - 0.1 <= part.x <= pages.width - EDGE
            assert part.y <= pages.height - FOOT + 1.0


def test_type_is_never_smaller_than_can_be_read(client: Client) -> None:
    for study in STUDIES:
        pages = PdfReader(BytesIO(printed(client, study.path, study.request(), PDF))).pages
        assert min(min(sizes_of(page)) for page in pages) >= SMALLEST


def test_long_texts_are_broken_and_lose_nothing() -> None:
    long = "x" * 300 + " " + text_of(50)
    table = Table([Column("a"), Column("b")], [[long, "short"]])
    pages = laid_out(sheet(table))
    shown = "".join(part.text for page in pages.pages for part in words_of(page))
    assert shown.count("x") == 300
    assert shown.count("word") == 50


def sizes_of(page: PageObject) -> set[float]:
    """The sizes of type on a page. [pt]"""
    sizes: set[float] = set()

    def note(text: str, _current: Any, _line: Any, _font: Any, size: float) -> None:
        if text.strip():
            sizes.add(size)

    page.extract_text(visitor_text=note)
    return sizes


def test_what_was_made_says_no_time_and_no_machine(client: Client) -> None:
    reader = PdfReader(BytesIO(printed(client, PATH, STUDIES[0].request(), PDF)))
    assert reader.metadata is not None
    assert reader.metadata.get("/CreationDate") == "D:20000101000000Z"
    assert reader.metadata.title == "Voltage drop"
