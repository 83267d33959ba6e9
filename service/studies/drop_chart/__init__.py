"""Drop chart: loads times lengths for some cables, asked by a body or by the address alone."""

from typing import Final

from service.intake.query import read_query
from service.sheets.html import style_hash
from service.studies.drop_chart.csv import chart_csv
from service.studies.drop_chart.drawing import STYLE, chart_svg
from service.studies.drop_chart.reply import DropChartReply
from service.studies.drop_chart.request import DropChartQuery, DropChartRequest
from service.studies.drop_chart.sheet import drop_chart_sheet
from service.studies.drop_chart.study import (
    MOST_CELLS,
    MOST_CELLS_TOGETHER,
    ChartJob,
    drop_chart,
    drop_chart_work,
)
from service.studies.drop_chart.translate import QUERY, job_of, reply_of, request_of
from service.studies.record import (
    JSON,
    LOCKED,
    SVG,
    Form,
    Study,
    finite,
    headers,
    json_form,
    sheet_forms,
    twice,
    values_form,
)

NAME: Final = "drop-chart"


def answer(
    message: DropChartRequest, job: ChartJob, sha256: str, *, most_cells: int = MOST_CELLS
) -> DropChartReply:
    """Solve every cell, and tell it."""
    return reply_of(message, job, drop_chart(job, most_cells=most_cells), sha256)


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
    return job_of(message, QUERY)


_STYLED: Final = {"Content-Security-Policy": LOCKED.format(style_hash(STYLE))}


DROP_CHART: Final = Study(
    NAME,
    DropChartRequest,
    job_of,
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
