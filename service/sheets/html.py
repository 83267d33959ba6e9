"""A sheet as one HTML page that loads nothing and runs nothing, made to be printed."""

from __future__ import annotations

from base64 import b64encode
from hashlib import sha256
from typing import Final
from xml.etree.ElementTree import Element, tostring

from service.sheets.figures import NOTHING
from service.sheets.sheet import Block, Column, Facts, Figure, Headline, Paragraph, Section, Sheet, Table
from service.sheets.svg import STYLE as SVG_STYLE
from service.sheets.svg import each, element, isolated, svg_element

_SIZES: Final = {"a4": "A4", "letter": "letter"}


_LOOK: Final = (
    "@page{size:PAPER;margin:14mm 14mm 16mm;"
    "@bottom-right{content:'page ' counter(page) ' of ' counter(pages);font:8pt sans-serif}}"
    ":root{color-scheme:light}"
    "body{font:10pt/1.4 system-ui,'Segoe UI',Helvetica,Arial,sans-serif;color:#1b1b1b;background:#fff;"
    "max-width:190mm;margin:0 auto;padding:6mm 4mm;overflow-wrap:anywhere}"
    "h1{font-size:18pt;line-height:1.2;margin:0}h2{font-size:12pt;margin:7mm 0 2mm;break-after:avoid}"
    "h2+p{break-after:avoid}"
    ".sheet+.sheet{break-before:page;border-top:.3mm solid #1b1b1b;margin-top:10mm;padding-top:6mm}"
    ".headline{font-size:15pt;line-height:1.25;font-weight:700;margin:5mm 0 2mm}"
    ".grave{font-size:24pt;color:#a3320b}"
    ".group{font-weight:700;padding-top:2.4mm;break-after:avoid}"
    ".study{margin:1mm 0;color:#55524c}h1,.own{text-align:left}.own{margin:0}p{margin:1.5mm 0}"
    ".wide{overflow-x:auto;margin:2mm 0 3mm}"
    "table{border-collapse:collapse;width:100%;font-size:8.5pt;line-height:1.3}"
    "th,td{text-align:left;vertical-align:top;padding:.8mm 1.6mm .8mm 0;border-bottom:.2mm solid #c9c6bf}"
    "thead th{vertical-align:bottom;border-bottom:.3mm solid #1b1b1b;overflow-wrap:normal}"
    "thead{display:table-header-group}"
    "tr{break-inside:avoid}.number{text-align:right;white-space:nowrap;font-variant-numeric:tabular-nums;"
    "padding-left:1.6mm}thead .number{white-space:normal}.number+:not(.number){padding-left:2.5mm}"
    ".short{white-space:nowrap}.wide td:not(.number,.short){min-width:5.4em}"
    ".roomy tbody td{height:7mm;vertical-align:middle}"
    ".strong td{font-weight:600}.facts{width:auto}"
    ".facts th{font-weight:400;color:#55524c;padding-right:6mm;overflow-wrap:break-word}"
    "figure{margin:3mm 0;break-inside:avoid}figcaption{font-weight:600;margin-bottom:1mm}"
    "svg{width:100%;height:auto;overflow:visible}svg.slim{display:none}"
    # On a phone each row is a block, its headings beside its values: nothing is scrolled sideways.
    "@media screen and (max-width:740px){.wide{overflow:visible}"
    "table,tbody,tr,td,th{display:block;font-size:10pt}"
    "thead{position:absolute;clip-path:inset(50%);width:1px;height:1px;overflow:hidden}"
    ".wide tr{border-bottom:.3mm solid #c9c6bf;padding:1.6mm 0}"
    ".wide td,.facts th,.facts td{border:0;padding:.3mm 0;text-align:left;white-space:normal;"
    "overflow-wrap:anywhere}"
    ".wide td:not(.number,.short){min-width:0}.wide .number+td{padding-left:0}"
    ".wide td{display:grid;grid-template-columns:minmax(0,2fr) minmax(0,3fr);column-gap:3mm}"
    ".wide td::before{content:attr(data-label);color:#55524c;font-weight:400}"
    "table:not(.roomy) td:empty,.wide td.none{display:none}.roomy tbody td{height:auto}"
    ".roomy td:empty{min-height:8mm;align-items:end}"
    ".roomy td:empty::after{content:'';border-bottom:.2mm solid #1b1b1b}"
    ".facts tr{padding:1mm 0;border-bottom:.2mm solid #c9c6bf}.group{border:0}"
    ".facts tr{display:flex;column-gap:3mm}.facts th{flex:0 0 auto;max-width:40%}.facts td{flex:1 1 0}"
    "}@media screen and (max-width:600px){svg.broad{display:none}svg.slim{display:block}"
    ".grave{font-size:20pt}}"
    # What fits in the type of the PDF is to fit in a reader's own, which may be wider.
    "@media print{.one{zoom:.8}.sheet+.sheet{border:0;margin:0;padding:0}"
    "body{max-width:none;padding:0}table{font-size:8pt}.wide{overflow:visible}}"
)


_STYLES: Final = {paper: _LOOK.replace("PAPER", size) + SVG_STYLE for paper, size in _SIZES.items()}


def style_hash(style: str) -> str:
    """A style as a Content-Security-Policy names it."""
    return f"'sha256-{b64encode(sha256(style.encode()).digest()).decode()}'"


STYLE_HASHES: Final = " ".join(map(style_hash, _STYLES.values()))


def html_bytes(sheet: Sheet) -> bytes:
    """A sheet as a page.

    Parameters
    ----------
    sheet : Sheet
    """
    page = element(
        "html",
        element(
            "head",
            element("meta", charset="utf-8"),
            element("meta", name="viewport", content="width=device-width, initial-scale=1"),
            element("title", sheet.title),
            element("style", _STYLES[sheet.paper]),
        ),
        element("body", element("main", *map(_paper, (sheet, *sheet.further)))),
        lang="en",
    )
    written: bytes = tostring(page, encoding="utf-8", method="html")
    return b"<!doctype html>\n" + written


def _paper(sheet: Sheet) -> Element:
    look = "sheet one" if sheet.one_page else "sheet"
    return element("div", *_head(sheet), *map(_section, sheet.sections), class_=look)


def _head(sheet: Sheet) -> list[Element]:
    """The caller's lines each run the way of their own first letter."""
    own = [element("p", line or "\N{NO-BREAK SPACE}", class_="own", dir="auto") for line in sheet.lines]
    title = element("h1", sheet.title, dir="auto")
    study = [element("p", sheet.study, class_="study")] if sheet.study else []
    return [title, *study, element("div", *own)]


def _section(section: Section) -> Element:
    title = [element("h2", section.title)] if section.title else []
    return element("section", *title, *map(_block, section.blocks))


def _block(block: Block) -> Element:
    if isinstance(block, Headline):
        return element("p", isolated(block.text), class_="headline grave" if block.grave else "headline")
    if isinstance(block, Paragraph):
        return element("p", isolated(block.text))
    if isinstance(block, Facts):
        rows = [
            element("tr", element("th", isolated(name), scope="row"), element("td", isolated(text)))
            for name, text in block.rows
        ]
        return element("table", element("tbody", *rows), class_="facts")
    if isinstance(block, Figure):
        return element("figure", element("figcaption", block.caption), *_drawings(block))
    return _table(block)


def _drawings(figure: Figure) -> list[Element]:
    """A drawing for paper and wide screens, and one for narrow ones where there is one."""
    if figure.slim is None:
        return [svg_element(figure.drawing)]
    broad, slim = svg_element(figure.drawing), svg_element(figure.slim)
    broad.set("class", "broad")
    slim.set("class", "slim")
    return [broad, slim]


def _table(table: Table) -> Element:
    heads = element("tr", *each("th", [column.heading for column in table.columns]))
    for head, column in zip(heads, table.columns, strict=True):
        head.set("scope", "col")
        _sided(head, column)
    rows = []
    for place in range(len(table.rows)):
        if place in table.groups:
            span = {"colspan": str(len(table.columns))}
            group = element("th", isolated(table.groups[place]), scope="colgroup", class_="group", **span)
            rows.append(element("tr", group))
        rows.append(_row(table, place))
    body = element("table", element("thead", heads), element("tbody", *rows))
    if table.roomy:
        body.set("class", "roomy")
    return element("div", body, class_="wide")


def _row(table: Table, place: int) -> Element:
    row = element("tr", *each("td", map(isolated, table.rows[place])))
    if place in table.strong:
        row.set("class", "strong")
    for cell, column in zip(row, table.columns, strict=True):
        _sided(cell, column)
        cell.set("data-label", column.heading)
        if cell.text == NOTHING:
            cell.set("class", f"{cell.get('class', '')} none".lstrip())
    return row


def _sided(cell: Element, column: Column) -> None:
    if column.numbers or column.short:
        cell.set("class", "number" if column.numbers else "short")
