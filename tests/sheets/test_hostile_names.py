"""Names come from callers: whatever they hold stays text, in every form and every place."""

import csv
import json
import xml.etree.ElementTree as ET
from io import BytesIO, StringIO
from typing import Any

import pytest
from pypdf import PdfReader

from service.studies.least_cost_layout.request import LEAST_EFFORT
from tests.client import Client
from tests.sheets.reading import HTML, PDF, REPLACEMENT, SVG, Page, pdf_pages, pdf_text, printed, squeezed
from tests.sheets.studies import STUDIES, Printed

PAYLOADS = {
    "script": "<script>alert(1)</script>",
    "image": '"><img src=x onerror=alert(1)>',
    "attribute": "' onmouseover='alert(1)",
    "formula": '=HYPERLINK("http://x")',
    "cdata": "]]>",
    "entity": "&lt;b&gt; &amp; &#60;",
    "comment": "--><!-- x",
    "style": "</style><style>*{}</style>",
    "svg": "</svg><svg onload=alert(1)>",
    "braces": "{0} {name} %s ${x} {{nb}}",
    "pdf": ") Tj /JS (app.alert(1)) \\",
    "right to left": "\u05e9\u05dc\u05d5\u05dd \u0645\u0631\u062d\u0628\u0627",
    "emoji": "\U0001f98a fox \U0001f469\u200d\U0001f33e",
    "no character": "a\ufffe\uffffb",
    "combining": "Z\u0351\u036b\u0343a",
}
ASCII = {name: text for name, text in PAYLOADS.items() if text.isascii()}
ATTACKED = [each for each in STUDIES if each.file not in ("voltage_drop_even", "voltage_drop_totals")]
NAMED = ("name", "title", "point", "place", "from", "to")
TAGS = {
    "html", "head", "meta", "title", "style", "body", "main", "section", "h1", "h2", "p", "div", "table",
    "thead", "tbody", "tr", "th", "td", "figure", "figcaption", "svg", "desc", "rect", "path", "text",
}  # fmt: skip
ATTRIBUTES = {
    "lang", "charset", "name", "content", "class",
    "data-label", "dir", "scope", "xmlns", "viewbox", "role", "x", "y",
    "width", "height", "colspan", "d", "font-size", "text-anchor", "font-weight", "stroke-dasharray",
}  # fmt: skip


def poisoned(node: Any, text: str, *, ids: bool) -> Any:
    """A request in which every name, and every id with what names it, holds a text of its own end.

    Places that are referred to by name keep what tells them apart at the end.
    """
    if isinstance(node, list):
        return [poisoned(below, text, ids=ids) for below in node]
    if not isinstance(node, dict):
        return node
    changed = {}
    for key, below in node.items():
        if key in NAMED and isinstance(below, str) and below != "supply":
            changed[key] = (text + below)[:64] if len(text + below) <= 64 else text
        elif key in {"id", "type", "item"} and ids:
            changed[key] = (text + below)[:64]
        else:
            changed[key] = poisoned(below, text, ids=ids)
    return changed


def attack(study: Printed, text: str) -> Any:
    request = poisoned(study.request(), text, ids=text.isascii())
    # Circuits are named by hand; their names come back in findings and tables.
    if "supply" in request and "circuits" not in request["supply"]:
        request["supply"]["circuits"] = [{"name": text}]
    if study.path == "/v1/least-cost-layout":
        # What its names are does not hang on how long a layout is sought.
        request["effort"] = LEAST_EFFORT
    return {**request, "sheet": {"title": text, "lines": [text, "", text]}}


@pytest.mark.parametrize("text", PAYLOADS.values(), ids=PAYLOADS.keys())
@pytest.mark.parametrize("study", ATTACKED, ids=lambda each: each.file)
def test_a_page_holds_no_element_that_is_not_ours(client: Client, study: Printed, text: str) -> None:
    page = Page(printed(client, study.path, attack(study, text), HTML))
    assert page.tags <= TAGS
    assert page.attributes <= ATTRIBUTES
    shown = text.translate({0xFFFE: "\ufffd", 0xFFFF: "\ufffd"})
    # The title of the window, the heading, and both lines.
    assert page.text.count(shown) >= 4


ALL = ["customer", "installer", "meter", "record"]
PAPERS = {
    "voltage_drop": ALL,
    "gauge_recommendation_spools": ALL,
    "least_cost_layout": ALL,
    "quote": ["customer", "installer", "record"],
}
PRINTED = [each for each in ATTACKED if each.file in PAPERS]


@pytest.mark.parametrize("text", PAYLOADS.values(), ids=PAYLOADS.keys())
@pytest.mark.parametrize("study", PRINTED, ids=lambda each: each.file)
def test_no_paper_holds_an_element_that_is_not_ours(client: Client, study: Printed, text: str) -> None:
    request = attack(study, text)
    papers = PAPERS[study.file]
    asked = {**request, "sheet": {**request["sheet"], "for": papers}}
    page = Page(printed(client, study.path, asked, HTML))
    assert page.tags <= TAGS
    assert page.attributes <= ATTRIBUTES
    shown = text.translate({0xFFFE: "\ufffd", 0xFFFF: "\ufffd"})
    # The title of the window, and of each paper the heading and both lines.
    assert page.text.count(shown) >= 1 + 3 * len(papers)


@pytest.mark.parametrize("text", PAYLOADS.values(), ids=PAYLOADS.keys())
@pytest.mark.parametrize("study", [each for each in ATTACKED if each.drawn], ids=lambda each: each.file)
def test_a_drawing_is_whole_and_its_names_are_text(client: Client, study: Printed, text: str) -> None:
    content = printed(client, study.path, attack(study, text), SVG)
    drawing = ET.fromstring(content)  # noqa: S314  # our own drawing
    names = {element.tag.rpartition("}")[2] for element in drawing.iter()}
    assert names <= {"svg", "title", "desc", "style", "rect", "path", "text", "g"}
    assert not any(
        name.startswith("on") or "href" in name for element in drawing.iter() for name in element.attrib
    )
    assert (drawing.findtext("{http://www.w3.org/2000/svg}title") or "") != ""


@pytest.mark.parametrize("text", ASCII.values(), ids=ASCII.keys())
@pytest.mark.parametrize("study", ATTACKED, ids=lambda each: each.file)
def test_a_pdf_shows_the_text_and_acts_on_nothing(client: Client, study: Printed, text: str) -> None:
    content = printed(client, study.path, attack(study, text), PDF)
    assert squeezed("\n".join(pdf_pages(content))).count(squeezed(text)) >= 3
    trailer = PdfReader(BytesIO(content)).trailer
    assert keys_of(trailer).isdisjoint({"/JS", "/JavaScript", "/AA", "/A", "/Annots", "/AcroForm", "/Names"})
    # A list is a place to open at; an action would be a dictionary (12.6).
    root: Any = trailer["/Root"]
    assert isinstance(root["/OpenAction"], list)


def keys_of(node: Any, seen: set[int] | None = None) -> set[str]:
    """Every name by which anything hangs in a document (PDF 32000-1, 7.7.2)."""
    seen = set() if seen is None else seen
    node = node.get_object() if hasattr(node, "get_object") else node
    if id(node) in seen or not isinstance(node, dict | list):
        return set()
    seen.add(id(node))
    found = set(node) if isinstance(node, dict) else set()
    for below in node.values() if isinstance(node, dict) else node:
        found |= keys_of(below, seen)
    return found


@pytest.mark.parametrize("name", ["right to left", "emoji", "combining"])
def test_letters_that_the_type_lacks_are_replaced_and_said_so(client: Client, name: str) -> None:
    study, text = STUDIES[0], PAYLOADS[name]
    shown = pdf_text(client, study.path, attack(study, text))
    assert REPLACEMENT in shown
    assert f"stand as {REPLACEMENT}" in " ".join(shown.split())


def test_a_sheet_without_such_letters_says_nothing_of_them(client: Client) -> None:
    study = STUDIES[0]
    greek = {**study.request(), "sheet": {"title": "Jardín Žofín, Ωμέγα, Сад"}}
    shown = pdf_text(client, study.path, greek)
    assert "Jardín Žofín, Ωμέγα, Сад" in shown
    assert "stand as" not in shown


@pytest.mark.parametrize("start", ["=", "+", "-1", "@", " =", "\u00a0@", "\uff1d", "\uff0b", "\u3000-"])
@pytest.mark.parametrize("file", ["drop_chart", "commissioning_sheet", "quote"])
def test_a_text_like_a_formula_is_text_in_a_spreadsheet_and_no_blank_or_wide_sign_hides_one(
    client: Client, file: str, start: str
) -> None:
    study = next(each for each in STUDIES if each.file == file)
    reply = client.post(study.path, json=attack(study, start), headers={"Accept": "text/csv"})
    assert reply.status_code == 200
    cells = [cell for row in csv.reader(StringIO(reply.text)) for cell in row]
    assert any(cell.startswith(f"'{start}") for cell in cells)
    assert not any(cell.startswith(start) for cell in cells)


def test_the_attacks_reach_every_study(client: Client) -> None:
    for study in STUDIES:
        assert "<script>" in json.dumps(attack(study, PAYLOADS["script"]))
        assert client.post(study.path, json=attack(study, PAYLOADS["script"])).status_code == 200
