"""Drop chart: loads times lengths for some cables, asked by a body or by the address alone."""

from typing import Final

from service.endpoints.encoding import JSON
from service.endpoints.forms import (
    LOCKED,
    SVG,
    finite,
    headers,
    json_form,
    sheet_forms,
    twice,
    values_form,
)
from service.endpoints.study import Form, Study
from service.intake.query import read_query
from service.messages.drop_chart import DropChartReply, DropChartRequest
from service.messages.drop_chart_query import DropChartQuery
from service.sheets.drop_chart import drop_chart_sheet
from service.sheets.html import style_hash
from service.studies.drop_chart import drop_chart
from service.studies.drop_chart_job import MOST_CELLS, MOST_CELLS_TOGETHER, ChartJob
from service.studies.estimates import drop_chart_work
from service.translate.drop_chart import QUERY, chart_job_of, chart_reply_of, request_of
from service.translate.drop_chart_csv import chart_csv
from service.translate.drop_chart_svg import STYLE, chart_svg

NAME: Final = "drop-chart"


def answer(
    message: DropChartRequest, job: ChartJob, sha256: str, *, most_cells: int = MOST_CELLS
) -> DropChartReply:
    """Solve every cell, and tell it."""
    return chart_reply_of(message, job, drop_chart(job, most_cells=most_cells), sha256)


def answer_among_others(message: DropChartRequest, job: ChartJob, sha256: str) -> DropChartReply:
    """Solve a chart of so few cells that many may stand in memory together."""
    return answer(message, job, sha256, most_cells=MOST_CELLS_TOGETHER)


def drawn(message: DropChartRequest, reply: DropChartReply) -> bytes:
    """The chart as a drawing."""
    return chart_svg(finite(reply), len(message.lengths)).encode()


def read_address(raw: bytes, kind: type[DropChartRequest]) -> DropChartRequest:
    """Read the chart that the query of an address asks for."""
    del kind
    return request_of(read_query(raw, DropChartQuery, one_of=("feet", "metres")))


def job_of_address(message: DropChartRequest) -> ChartJob:
    """The chart to solve, whose cables stand in an address."""
    return chart_job_of(message, QUERY)


_STYLED: Final = {"Content-Security-Policy": LOCKED.format(style_hash(STYLE))}

DROP_CHART: Final = Study(
    NAME,
    DropChartRequest,
    chart_job_of,
    drop_chart_work,
    answer,
    {
        JSON: json_form(),
        **values_form(NAME, chart_csv),
        SVG: Form(drawn, headers(NAME, SVG) | _STYLED, twice),
        **sheet_forms(NAME, drop_chart_sheet),
    },
)
DROP_CHART_AMONG_OTHERS: Final = DROP_CHART._replace(answer=answer_among_others)
DROP_CHART_BY_ADDRESS: Final = DROP_CHART._replace(read=read_address, prepare=job_of_address)
