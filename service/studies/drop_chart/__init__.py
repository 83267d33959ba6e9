"""Drop chart: loads times lengths for some cables, asked by a body or by the address alone."""

from typing import Final

from service.intake.query import read_query
from service.studies.description import Description, Example
from service.studies.drop_chart.csv import chart_csv
from service.studies.drop_chart.drawing import chart_drawing
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
    CSV,
    HTML,
    JSON,
    PDF,
    SVG,
    Study,
    drawing_form,
    json_form,
    sheet_forms,
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


def read_address(raw: bytes, kind: type[DropChartRequest]) -> DropChartRequest:
    """Read the chart that the query of an address asks for."""
    del kind
    return request_of(read_query(raw, DropChartQuery, one_of=("feet", "metres")))


def job_of_address(message: DropChartRequest) -> ChartJob:
    """The chart to solve, whose cables stand in an address."""
    return job_of(message, QUERY)


DESCRIPTION: Final = Description(
    summary="Drop chart",
    trade_names=(
        "voltage-drop table",
        "cable table",
        "load times length",
        "load moment",
        "ampere-metres",
        "watt-feet",
    ),
    question="What is left at the end of each cable, for loads times lengths?"
    " Any cable, with names of one's own.",
    reply=DropChartReply,
    reply_words="The chart, in the form that is accepted best.",
    refusals=("work-over-limit", "paper-not-offered"),
    more=(
        "The same chart as by GET, for more cells, with quantities, any cable and names of one's own."
        f" One chart may have {MOST_CELLS:,} cells, a load and a length on one cable each; in a batch"
        f" {MOST_CELLS_TOGETHER:,}."
    ),
    examples=(Example("named", "Two named cables, in metres", file="drop_chart.json"),),
)


_QUERY: Final = "conductor=14%20AWG&conductor=12%20AWG&watts=60&volts=12&feet=25,50,75"


_SHORT_QUERY: Final = "conductor=14%20AWG&watts=60&volts=12&feet=75"


BY_ADDRESS_DESCRIPTION: Final = Description(
    summary="Drop chart (GET)",
    question="What is left at the end of each cable, for loads times lengths?"
    " An address that a page can show.",
    reply=DropChartReply,
    reply_words="The chart, in the form that is accepted best.",
    refusals=("request-invalid", "work-out-of-time"),
    more=(
        "For `<img src>` in a page: who accepts `image/*`, or names pictures and anything else, gets the"
        " drawing; `*/*` alone gets JSON. Unknown parameters are refused, and exactly one of `feet` and"
        " `metres` is needed.\n\n"
        "Each load is solved as constant power twice: all of it at the far end, and spread evenly without"
        " gaps. Beside them stands the trade's shortcut where it has a constant; `shortcut_note` says"
        " what that is worth."
    ),
    examples=(
        Example("chart", "Two cables, one load, three lengths", query=_QUERY),
        Example("values", "For a spreadsheet", query=_QUERY, headers=(("accept", "text/csv"),)),
        Example(
            "drawing",
            "For a page",
            query=_SHORT_QUERY,
            headers=(("accept", "image/avif,image/webp,image/svg+xml,image/*,*/*;q=0.8"),),
        ),
        Example(
            "misspelt",
            "Every parameter to change, at once",
            400,
            query="conductor=14AWG&wats=60&volts=twelve&feet=75",
        ),
        Example(
            "not-accepted",
            "Only a form that is not offered is accepted",
            406,
            query=_SHORT_QUERY,
            headers=(("accept", "image/png"),),
        ),
    ),
)


DROP_CHART: Final = Study(
    NAME,
    DropChartRequest,
    job_of,
    drop_chart_work,
    answer,
    {
        JSON: json_form(),
        **values_form(
            NAME,
            chart_csv,
            "A header and a row for each cell (RFC 4180); texts never start like a formula.",
        ),
        **drawing_form(
            NAME,
            chart_drawing,
            "A panel for each load, a line for each cable: volts against length, all of the load at the far"
            " end.",
        ),
        **sheet_forms(NAME, drop_chart_sheet),
    },
    DESCRIPTION,
    among_others=answer_among_others,
    for_pictures=(SVG, JSON, CSV, HTML, PDF),
)


DROP_CHART_BY_ADDRESS: Final = DROP_CHART._replace(
    read=read_address, prepare=job_of_address, description=BY_ADDRESS_DESCRIPTION
)
