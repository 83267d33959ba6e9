"""The operations of the drop chart."""

from typing import Final

from service.document.examples import Example
from service.document.operation import Form, Operation
from service.document.usual import CALCULATING, OTHER_METHOD, READING, SHEET_FORMS
from service.messages.drop_chart import DropChartReply, DropChartRequest
from service.messages.drop_chart_query import DropChartQuery
from service.studies.drop_chart_job import MOST_CELLS, MOST_CELLS_TOGETHER

_CHART_FORMS: Final = (
    Form("text/csv", "A header and a row for each cell (RFC 4180); texts never start like a formula."),
    Form(
        "image/svg+xml",
        "A panel for each load, a line for each cable: volts against length, all of the load at the far end.",
    ),
    *SHEET_FORMS,
)
_CHART_QUERY: Final = "conductor=14%20AWG&conductor=12%20AWG&watts=60&volts=12&feet=25,50,75"
_SHORT_CHART: Final = "conductor=14%20AWG&watts=60&volts=12&feet=75"

CHARTS: Final[dict[str, Operation]] = {
    "get_drop_chart": Operation(
        summary="Loads times lengths, as an address",
        tag="calculations",
        query=DropChartQuery,
        reply=DropChartReply,
        reply_words="The chart, in the form that is accepted best.",
        forms=_CHART_FORMS,
        refusals=("request-invalid", "work-out-of-time", *READING),
        kept=True,
        more=(
            "For `<img src>` in a page: who accepts `image/*`, or names pictures and anything else, gets the"
            " drawing; `*/*` alone gets JSON. Unknown parameters are refused, and exactly one of `feet` and"
            " `metres` is needed.\n\n"
            "Each load is solved as constant power twice: all of it at the far end, and spread evenly without"
            " gaps. Beside them stands the trade's shortcut where it has a constant; `shortcut_note` says"
            " what that is worth."
        ),
        examples=(
            Example("chart", "Two cables, one load, three lengths", query=_CHART_QUERY),
            Example("values", "For a spreadsheet", query=_CHART_QUERY, headers=(("accept", "text/csv"),)),
            Example(
                "drawing",
                "For a page",
                query=_SHORT_CHART,
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
                query=_SHORT_CHART,
                headers=(("accept", "image/png"),),
            ),
            OTHER_METHOD,
        ),
    ),
    "drop_chart": Operation(
        summary="Loads times lengths, for any cable",
        tag="calculations",
        request=DropChartRequest,
        reply=DropChartReply,
        reply_words="The chart, in the form that is accepted best.",
        forms=_CHART_FORMS,
        refusals=("work-over-limit", *CALCULATING),
        more=(
            "The same chart as by GET, for more cells, with quantities, any cable and names of one's own."
            f" One chart may have {MOST_CELLS:,} cells, a load and a length on one cable each; in a batch"
            f" {MOST_CELLS_TOGETHER:,}."
        ),
        examples=(
            Example("named", "Two named cables, in metres", file="drop_chart.json"),
            OTHER_METHOD,
        ),
    ),
}
