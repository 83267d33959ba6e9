"""`/v1/drop-chart`: by GET as an address that a page may show, by POST for what is too long for one."""

from collections.abc import Mapping
from typing import Any, Final

from litestar import HttpMethod, Request, Response, get, post, route
from msgspec import json

from service.endpoints.kept import Kept, kept_reply
from service.endpoints.posted import JSON, begin_work, digest, posted_body
from service.endpoints.sheets import HTML, LOCKED, PDF, SVG, VARY, Forms, drawn_in_turn, headers
from service.intake import decode, negotiate
from service.intake.query import read_query
from service.messages.drop_chart import DropChartReply, DropChartRequest
from service.messages.drop_chart_query import DropChartQuery
from service.problems import Refused
from service.sheets.drop_chart import drop_chart_sheet
from service.sheets.html import style_hash
from service.studies.drop_chart import drop_chart as solved_chart
from service.studies.drop_chart_job import MOST_CELLS, MOST_CELLS_TOGETHER
from service.translate.drop_chart import BODY, QUERY, chart_job_of, chart_reply_of, request_of
from service.translate.drop_chart_csv import chart_csv
from service.translate.drop_chart_svg import STYLE, chart_svg

CSV: Final = "text/csv"
FORMS: Final = (JSON, CSV, SVG, HTML, PDF)
PICTURE_FIRST: Final = (SVG, JSON, CSV, HTML, PDF)
SHEETS: Final = Forms("drop-chart", DropChartRequest, drop_chart_sheet)

POLICY: Final = LOCKED.format(style_hash(STYLE))
_HEADERS: Final[dict[str, Mapping[str, str]]] = {
    JSON: VARY,
    CSV: {**VARY, "Content-Disposition": 'attachment; filename="drop-chart.csv"'},
    SVG: {**headers("drop-chart", SVG), "Content-Security-Policy": POLICY},
    HTML: headers("drop-chart", HTML),
    PDF: headers("drop-chart", PDF),
}

AnyRequest = Request[Any, Any, Any]


@get("/v1/drop-chart")
async def get_drop_chart(request: AnyRequest) -> Response[bytes]:
    """What is left at the end of each cable, for loads times lengths? An address that a page can show."""
    form = wanted_form(request)
    raw: bytes = request.scope["query_string"]
    begin_work(request, len(raw))
    message = request_of(read_query(raw, DropChartQuery, one_of=("feet", "metres")))
    content = await written(request, message, charted(message, digest(raw), cables_at=QUERY), form)
    reply = kept_reply(request, Kept(content, f'"{digest(content)[:32]}"'), form)
    # On 304 as well: a browser keeps its copy with the policy of the newest reply.
    reply.headers.update(_HEADERS[form])
    return reply


@post("/v1/drop-chart", status_code=200)
async def drop_chart(request: AnyRequest) -> Response[bytes]:
    """What is left at the end of each cable, for loads times lengths? Any cable, with names of one's own."""
    body = await posted_body(request, FORMS)
    form = wanted_form(request)
    message = decode(body, DropChartRequest)
    content = await written(request, message, charted(message, digest(body)), form)
    return Response(content, media_type=form, headers=dict(_HEADERS[form]))


@route("/v1/drop-chart", http_method=HttpMethod.OPTIONS, status_code=204, sync_to_thread=False)
def drop_chart_options() -> Response[None]:
    """Which methods does the address take? The framework's own answer names only the first of them."""
    methods = {HttpMethod.OPTIONS, *get_drop_chart.http_methods, *drop_chart.http_methods}
    return Response(None, headers={"Allow": ", ".join(sorted(methods))})


def answer_drop_chart(body: bytes) -> DropChartReply:
    """Answer one chart among others: decode, compute, reply."""
    return charted(decode(body, DropChartRequest), digest(body), most_cells=MOST_CELLS_TOGETHER)


def charted(
    message: DropChartRequest, sha256: str, *, cables_at: str = BODY, most_cells: int = MOST_CELLS
) -> DropChartReply:
    """Compute the chart of a message."""
    job = chart_job_of(message, cables_at)
    return chart_reply_of(message, job, solved_chart(job, most_cells=most_cells), sha256)


def wanted_form(request: AnyRequest) -> str:
    """The form that the request accepts best.

    Browsers fetch pictures with `image/*` or, some of them, `image/webp,*/*`: who names pictures and accepts
    anything wants the drawing, unless it names pages too: then it is a tab, not a picture in a page.
    """
    accept = request.headers.get("accept")
    pictures = accept is not None and "image/" in accept and JSON not in accept
    try:
        return negotiate(accept, PICTURE_FIRST if pictures else FORMS)
    except Refused as refusal:
        raise Refused(refusal.code, refusal.detail, headers=VARY) from None


async def written(request: AnyRequest, message: DropChartRequest, reply: DropChartReply, form: str) -> bytes:
    """Write a chart in one of the forms."""
    if form == SVG:
        return chart_svg(reply, len(message.lengths)).encode()
    if form in (HTML, PDF):
        return await drawn_in_turn(request, message, reply, SHEETS, form)
    return chart_csv(reply).encode() if form == CSV else json.encode(reply)
