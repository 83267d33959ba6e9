"""The forms of an answer: JSON, a sheet as HTML or PDF, a drawing as SVG, values as CSV."""

from collections.abc import Callable
from typing import Any, Final

from service.endpoints.encoding import encoded
from service.endpoints.study import VARY, Form
from service.sheets.drawing import Drawing
from service.sheets.html import STYLE_HASHES, html_bytes, style_hash
from service.sheets.pdf import pdf_bytes
from service.sheets.sheet import Sheet
from service.sheets.svg import STYLE, svg_bytes
from service.studies.estimates import Estimate
from service.studies.work import HEAVY_WORK

HTML: Final = "text/html"
PDF: Final = "application/pdf"
SVG: Final = "image/svg+xml"
CSV: Final = "text/csv"

LOCKED: Final = "default-src 'none'; style-src {}; frame-ancestors 'none'; sandbox"
"""Names come from callers, so a page or a drawing may load and run nothing."""

_POLICIES: Final = {HTML: LOCKED.format(STYLE_HASHES), SVG: LOCKED.format(style_hash(STYLE))}
_ENDINGS: Final = {HTML: "html", PDF: "pdf", SVG: "svg", CSV: "csv"}


def json_form() -> Form:
    """The reply as JSON."""
    return Form(lambda _, reply: encoded(reply), VARY, lambda _, __: 0)


def sheet_forms(
    name: str,
    sheet: Callable[[Any, Any], Sheet],
    more: Callable[[Any], int] = lambda _: 0,
) -> dict[str, Form]:
    """The answer as a sheet to print.

    Parameters
    ----------
    name : str
        Of the file, without its ending.
    sheet : callable
        From the request and the reply to the sheet.
    more : callable, optional
        Work of what the request wants on the sheet beside the answer.

    Notes
    -----
    A page takes about six times as long as the answer on it, with 20 lamps as with 1,000; a document about
    40 ms, and ten times as long as the answer. So a document is always heavy.
    """
    return {
        HTML: Form(
            lambda message, reply: html_bytes(sheet(message, finite(reply))),
            headers(name, HTML),
            lambda message, estimate: 6 * estimate.first + more(message),
        ),
        PDF: Form(
            lambda message, reply: pdf_bytes(sheet(message, finite(reply))),
            headers(name, PDF),
            lambda message, estimate: 4 * HEAVY_WORK + 10 * estimate.first + more(message),
        ),
    }


def drawing_form(name: str, drawing: Callable[[Any, Any], Drawing]) -> dict[str, Form]:
    """The answer as a drawing, which takes about as long again as the answer."""
    return {
        SVG: Form(
            lambda message, reply: svg_bytes(drawing(message, finite(reply))),
            headers(name, SVG),
            twice,
        )
    }


def values_form(name: str, values: Callable[[Any], str]) -> dict[str, Form]:
    """The answer as rows of values, which takes less than the answer."""
    return {CSV: Form(lambda _, reply: values(finite(reply)).encode(), headers(name, CSV), twice)}


def twice(_: object, estimate: Estimate) -> int:
    """Work of a form that takes up to twice as long as the answer."""
    return 2 * estimate.first


def finite(reply: Any) -> Any:  # noqa: ANN401  # each study has a reply of its own
    """Return a reply that can be written as JSON, which holds finite numbers only.

    Raises
    ------
    NotFiniteError
        A number of the reply is not finite.
    """
    encoded(reply)
    return reply


def headers(name: str, form: str) -> dict[str, str]:
    """The header fields of a form other than JSON."""
    shown = "attachment" if form in (PDF, CSV) else "inline"
    fields = {**VARY, "Content-Disposition": f'{shown}; filename="{name}.{_ENDINGS[form]}"'}
    return fields | ({"Content-Security-Policy": _POLICIES[form]} if form in _POLICIES else {})
