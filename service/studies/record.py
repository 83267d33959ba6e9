"""What there is to know of one study to answer it, and of the forms of its answer."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from hashlib import sha256
from types import ModuleType
from typing import Any, Final, Generic, NamedTuple, TypeVar

from msgspec import UNSET, Struct, json

from service.circuit.estimate import Estimate
from service.circuit.work import HEAVY_WORK, charge, left
from service.intake import decode
from service.problems.catalogue import WORK_OVER_LIMIT
from service.problems.unanswered import UnansweredError
from service.sheets.drawing import Drawing
from service.sheets.dxf import CadDrawing, dxf_bytes
from service.sheets.html import STYLE_HASHES, html_bytes, style_hash
from service.sheets.papers import PAPER_WORDS, RECORD, refuse_others, told_papers
from service.sheets.pdf import pdf_bytes
from service.sheets.sheet import Sheet, rows_of
from service.sheets.svg import OWN_STYLE, svg_bytes
from service.studies.description import Description
from service.studies.shortening import WHOLE, Kept, shortened
from service.translate.shared import with_shared
from service.wire.job import PaperFor

Message = TypeVar("Message", bound=Struct)


StudyJob = TypeVar("StudyJob")


Reply = TypeVar("Reply", bound=Struct)


VARY: Final = {"Vary": "Accept"}


HTML: Final = "text/html"


PDF: Final = "application/pdf"


SVG: Final = "image/svg+xml"


CSV: Final = "text/csv"


GEOJSON: Final = "application/geo+json"


DXF: Final = "image/vnd.dxf"


LOCKED: Final = "default-src 'none'; style-src {}; frame-ancestors 'none'; sandbox"
"""Names come from callers, so a page or a drawing may load and run nothing."""


_POLICIES: Final = {HTML: LOCKED.format(STYLE_HASHES), SVG: LOCKED.format(style_hash(OWN_STYLE))}


_ENDINGS: Final = {HTML: "html", PDF: "pdf", SVG: "svg", CSV: "csv", GEOJSON: "geojson", DXF: "dxf"}


_TO_KEEP: Final = (PDF, CSV, GEOJSON, DXF)
"""What a browser saves and does not show."""


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
    shown = "attachment" if form in _TO_KEEP else "inline"
    fields = {**VARY, "Content-Disposition": f'{shown}; filename="{name}.{_ENDINGS[form]}"'}
    return fields | ({"Content-Security-Policy": _POLICIES[form]} if form in _POLICIES else {})


class Form(NamedTuple):
    """A form in which an answer can be had."""

    write: Callable[[Any, Any], bytes]
    """From the request and the reply to the bytes that go out."""
    headers: Mapping[str, str]
    work: Callable[[Any, Estimate], int]
    """Work of writing, from the request and what the answer itself is estimated at."""
    words: str = ""
    """What the document says of it; of JSON the schema says all."""
    message: Any = None
    """The struct of a form that is JSON as well."""


def _read(body: bytes, kind: type[Message]) -> Message:
    """A message from its bytes, with what its wiring states once for many at every place."""
    return with_shared(decode(body, kind))


class Study(NamedTuple, Generic[Message, StudyJob, Reply]):
    """One study: from a message to its job, from the job to a reply, and the reply in its forms."""

    name: str
    """As a batch names it; its address is ``/v1/`` and this."""
    request: type[Message]
    prepare: Callable[[Message], StudyJob]
    """The job in SI floats; nothing is solved yet."""
    estimate: Callable[[StudyJob], Estimate]
    answer: Callable[[Message, StudyJob, str], Reply]
    """The reply; the text is the digest of the request."""
    forms: Mapping[str, Form]
    """By media type, the preferred one first."""
    description: Description
    read: Callable[[bytes, type[Message]], Message] = _read
    """From bytes to the message."""
    among_others: Callable[[Message, StudyJob, str], Reply] | None = None
    """The reply as one of several in a batch, where that is not the same."""
    for_pictures: tuple[str, ...] = ()
    """Media types, the preferred one first, for who asks for a picture; where there are none, as for all."""
    kinds_in: tuple[ModuleType, ...] = ()
    """Its files that define kinds of findings, assumptions, problems and errors, for the catalogues."""

    @property
    def operation(self) -> str:
        """The name of its operation in the document."""
        return self.name.replace("-", "_")

    @property
    def offered(self) -> tuple[str, ...]:
        """Media types, the preferred one first."""
        return tuple(self.forms)


AnyStudy = Study[Any, Any, Any]


def json_form(kept: Kept = WHOLE) -> Form:
    """The reply as JSON.

    Parameters
    ----------
    kept : Kept, optional
        What is left of it where a request has `detail` and wants less.
    """

    def write(message: Any, reply: Any) -> bytes:  # noqa: ANN401  # each study has messages of its own
        detail = getattr(message, "detail", UNSET)
        return encoded(reply if detail is UNSET else shortened(reply, detail, kept))

    return Form(write, VARY, lambda _, __: 0)


MOST_ROWS = 15_000
"""Of one sheet: about as much work as one request may ask for, three times, as a document."""


WORK_OF_A_ROW = 7
"""Work of laying out one row of a sheet that is then not printed; what is printed is known by its bytes."""


SHEET_TOO_LONG: Final = replace(
    WORK_OVER_LIMIT,
    detail="The sheet has {error.rows} rows; at most {error.most} are printed. Ask for JSON, for one paper"
    " at a time, or for parts of the job.",
)


class SheetTooLongError(UnansweredError):
    """A sheet has more rows than are printed."""

    def __init__(self, rows: int) -> None:
        super().__init__(SHEET_TOO_LONG, f"{rows} rows, at most {MOST_ROWS}")
        self.rows = rows
        self.most = MOST_ROWS


def sheet_forms(
    name: str,
    sheet: Callable[[Any, Any], Sheet],
    more: Callable[[Any], int] = lambda _: 0,
    papers: Sequence[PaperFor] = (RECORD,),
    words: Mapping[PaperFor, str] = PAPER_WORDS,
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
    papers : sequence of str, optional
        What a request may ask for as `for` of its sheet; another is refused before anything is solved.
    words : mapping, optional
        What each of its papers is, as the documentation says it.

    Notes
    -----
    A page takes about six times as long as the answer on it, with 20 lamps as with 1,000; a document about
    40 ms, and ten times as long as the answer. So a document is always heavy.
    """

    def work(message: Any) -> int:  # noqa: ANN401  # each study has a request of its own
        refuse_others(getattr(message, "sheet", UNSET), papers)
        return more(message)

    def laid(message: Any, reply: Any) -> Sheet:  # noqa: ANN401  # each study has messages of its own
        refuse_others(getattr(message, "sheet", UNSET), papers)
        made = sheet(message, finite(reply))
        if (rows := rows_of(made)) > MOST_ROWS:
            charge(min(left(), WORK_OF_A_ROW * rows))
            raise SheetTooLongError(rows)
        return made

    return {
        HTML: Form(
            lambda message, reply: html_bytes(laid(message, reply)),
            headers(name, HTML),
            lambda message, estimate: 6 * estimate.first + work(message),
            "The answer as one page to print and hand over: what was asked and assumed, every number with its"
            " unit, findings in words. It loads and runs nothing."
            " `sheet` in the request gives it a title and lines."
            + (told_papers(papers, words) if len(papers) > 1 else ""),
        ),
        PDF: Form(
            lambda message, reply: pdf_bytes(laid(message, reply)),
            headers(name, PDF),
            lambda message, estimate: 4 * HEAVY_WORK + 10 * estimate.first + work(message),
            "The same as a document, on A4 or letter paper.",
        ),
    }


def drawing_form(name: str, drawing: Callable[[Any, Any], Drawing], words: str) -> dict[str, Form]:
    """The answer as a drawing, which takes about as long again as the answer."""
    return {
        SVG: Form(
            lambda message, reply: svg_bytes(drawing(message, finite(reply))),
            headers(name, SVG),
            twice,
            words,
        )
    }


def values_form(name: str, values: Callable[[Any], str], words: str) -> dict[str, Form]:
    """The answer as rows of values, which takes less than the answer."""
    return {CSV: Form(lambda _, reply: values(finite(reply)).encode(), headers(name, CSV), twice, words)}


def map_form(
    name: str,
    plan: Callable[[Any, Any], Struct],
    kind: type[Struct],
    refuse: Callable[[Any], None],
    words: str,
) -> dict[str, Form]:
    """The answer as GeoJSON (RFC 7946), of a struct; `refuse` does so before anything is solved."""

    def work(message: Any, estimate: Estimate) -> int:  # noqa: ANN401  # each study has a request of its own
        refuse(message)
        return estimate.first

    return {
        GEOJSON: Form(
            lambda message, reply: encoded(plan(message, finite(reply))),
            headers(name, GEOJSON),
            work,
            words,
            kind,
        )
    }


def cad_form(name: str, drawing: Callable[[Any, Any], CadDrawing], words: str) -> dict[str, Form]:
    """The answer as a drawing to scale for a drawing program."""
    return {
        DXF: Form(
            lambda message, reply: dxf_bytes(drawing(message, finite(reply))),
            headers(name, DXF),
            twice,
            words,
        )
    }


JSON: Final = "application/json"


_ENCODER: Final = json.Encoder()


_NULL: Final = b"null"


class NotFiniteError(ArithmeticError):
    """An answer holds what is no number; that is always a fault of the program."""


def encoded(reply: Struct | list[Any]) -> bytes:
    """Write a reply as JSON.

    The encoder writes NaN and infinity as ``null``. No reply has a member that may be null, so a ``null``
    outside of a text is one of them. Looking for the four letters costs a hundredth of the encoding; only
    where a caller's name holds them as well are the bytes read back.

    Raises
    ------
    NotFiniteError
        A number of the reply is not finite.
    """
    content = _ENCODER.encode(reply)
    if _NULL in content and _holds_null(json.decode(content)):
        message = f"not a number in a {type(reply).__name__}"
        raise NotFiniteError(message)
    return content


def digest(body: bytes) -> str:
    """SHA-256 of a request, so that a quotation can name the very bytes it was computed from."""
    return sha256(body).hexdigest()


def _holds_null(tree: object) -> bool:
    if isinstance(tree, dict):
        return any(map(_holds_null, tree.values()))
    if isinstance(tree, list):
        return any(map(_holds_null, tree))
    return tree is None
