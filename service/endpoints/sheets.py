"""The forms beside JSON in which a calculation can be had: a sheet as HTML or PDF, a drawing as SVG."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final, Generic, NamedTuple, TypeVar

from litestar import Request, Response

from service.endpoints.in_turn import MAXIMUM_WAIT, in_turn
from service.endpoints.posted import JSON, json_reply
from service.intake import decode, negotiate
from service.observability.exchange import note_answer
from service.sheets.html import STYLE_HASHES, html_bytes, style_hash
from service.sheets.pdf import pdf_bytes
from service.sheets.svg import STYLE, svg_bytes

if TYPE_CHECKING:
    from collections.abc import Callable

    from msgspec import Struct

    from service.sheets.drawing import Drawing
    from service.sheets.sheet import Sheet

HTML: Final = "text/html"
PDF: Final = "application/pdf"
SVG: Final = "image/svg+xml"

VARY: Final = {"Vary": "Accept"}
LOCKED: Final = "default-src 'none'; style-src {}; frame-ancestors 'none'; sandbox"
_POLICIES: Final = {HTML: LOCKED.format(STYLE_HASHES), SVG: LOCKED.format(style_hash(STYLE))}
_ENDINGS: Final = {HTML: "html", PDF: "pdf", SVG: "svg"}

AnyRequest = Request[Any, Any, Any]
Asked = TypeVar("Asked", bound="Struct")
Answered = TypeVar("Answered")


class Forms(NamedTuple, Generic[Asked, Answered]):
    """How the answers of one study are written beside JSON."""

    name: str
    """Of the file, without its ending."""
    request: type[Asked]
    sheet: Callable[[Asked, Answered], Sheet]
    drawing: Callable[[Asked, Answered], Drawing] | None = None

    @property
    def offered(self) -> tuple[str, ...]:
        """Media types, the preferred one first."""
        return (JSON, HTML, PDF) if self.drawing is None else (JSON, HTML, PDF, SVG)


AnyForms = Forms[Any, Any]


async def written(request: AnyRequest, body: bytes, reply: Struct, forms: AnyForms) -> Response[bytes]:
    """An answer in the form that is accepted best.

    What a request may hold bounds what is drawn.
    """
    form = negotiate(request.headers.get("accept"), forms.offered)
    if form == JSON:
        response = json_reply(reply)
        response.headers.update(VARY)
        return response
    note_answer(reply)
    content = await drawn_in_turn(request, decode(body, forms.request), reply, forms, form)
    return Response(content, media_type=form, headers=headers(forms.name, form))


async def drawn_in_turn(
    request: AnyRequest, message: Struct, reply: Struct, forms: AnyForms, form: str
) -> bytes:
    """Write an answer in a form other than JSON, beside the loop, so that nobody waits for the last page.

    Raises
    ------
    Refused
        ``busy``: others that came before are still being drawn.
    """
    return await in_turn(request.app.state[MAXIMUM_WAIT], drawn, message, reply, forms, form)


def drawn(message: Struct, reply: Struct, forms: AnyForms, form: str) -> bytes:
    """Write an answer in a form other than JSON."""
    if form == SVG and forms.drawing is not None:
        return svg_bytes(forms.drawing(message, reply))
    sheet = forms.sheet(message, reply)
    return html_bytes(sheet) if form == HTML else pdf_bytes(sheet)


def headers(name: str, form: str) -> dict[str, str]:
    """The header fields of a form: names come from callers, so it may load and run nothing."""
    shown = "attachment" if form == PDF else "inline"
    fields = {**VARY, "Content-Disposition": f'{shown}; filename="{name}.{_ENDINGS[form]}"'}
    return fields | ({"Content-Security-Policy": _POLICIES[form]} if form in _POLICIES else {})
