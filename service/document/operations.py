"""Every operation, by the name of its handler.

A route that is not listed here keeps the document from being written.
"""

from __future__ import annotations

from typing import Annotated, Any, Final, NamedTuple

from msgspec import Meta, Struct

from service.document.examples import Example
from service.http.batch import BatchReply, BatchRequest
from service.http.catalogues import (
    AssumptionCatalogue,
    ConductorCatalogue,
    FindingCatalogue,
    LimitCatalogue,
    ProblemCatalogue,
    SourceCatalogue,
    UnitCatalogue,
)
from service.studies.commissioning_sheet.reply import CommissioningSheetReply
from service.studies.commissioning_sheet.request import CommissioningSheetRequest
from service.studies.drop_chart.reply import DropChartReply
from service.studies.drop_chart.request import DropChartQuery, DropChartRequest
from service.studies.drop_chart.study import MOST_CELLS, MOST_CELLS_TOGETHER
from service.studies.gauge_recommendation.reply import GaugeRecommendationReply
from service.studies.gauge_recommendation.request import GaugeRecommendationRequest
from service.studies.reach.reply import ReachReply
from service.studies.reach.request import ReachRequest
from service.studies.readings_check.reply import ReadingsCheckReply
from service.studies.readings_check.request import ReadingsCheckRequest
from service.studies.transformer_loading.reply import TransformerLoadingReply
from service.studies.transformer_loading.request import TransformerLoadingRequest
from service.studies.voltage_drop.reply import VoltageDropReply
from service.studies.voltage_drop.request import VoltageDropRequest

_TWO_ROWS: Final = Example("first-rows", "The first two rows", rows=2)


def _catalogue(summary: str, reply: type, example: Example) -> Operation:
    """Describe a list that a client may keep."""
    return Operation(
        summary=summary,
        tag="catalogues",
        reply=reply,
        reply_words="The whole list; it is short and never cut into pages.",
        refusals=READING,
        kept=True,
        examples=(example, NOT_ACCEPTED, OTHER_METHOD),
    )


_CHART_QUERY: Final = "conductor=14%20AWG&conductor=12%20AWG&watts=60&volts=12&feet=25,50,75"


_SHORT_CHART: Final = "conductor=14%20AWG&watts=60&volts=12&feet=75"


ALWAYS: Final = ("method-not-allowed", "internal-error")


# Questions about health are never refused for want of room, nor limited by address.
READING: Final = ("not-acceptable", "too-many-requests", "busy", *ALWAYS)


# Only where something is worked out.
QUOTAS: Final = ("quota-spent", "heavy-in-progress")


CALCULATING: Final = (
    "empty-body",
    "not-utf-8",
    "byte-order-mark",
    "malformed-json",
    "nesting-too-deep",
    "duplicate-member",
    "number-out-of-range",
    "request-invalid",
    "body-too-large",
    "unsupported-media-type",
    "unsupported-encoding",
    *QUOTAS,
    "work-out-of-time",
    *READING,
)


OTHER_METHOD: Final = Example("other-method", "A method that this path does not take", 405, method="DELETE")


NOT_ACCEPTED: Final = Example(
    "not-accepted", "Only a form that is not offered is accepted", 406, headers=(("accept", "text/csv"),)
)


class Form(NamedTuple):
    """A form other than JSON in which a reply can be had, by the Accept header."""

    media_type: str
    words: str
    text: bool = True
    """Whether it is a text, and not bytes."""


SHEET_FORMS: Final = (
    Form(
        "text/html",
        "The answer as one page to print and hand over: what was asked and assumed, every number with its"
        " unit, findings in words. It loads and runs nothing."
        " `sheet` in the request gives it a title and lines.",
    ),
    Form("application/pdf", "The same as a document, on A4 or letter paper.", text=False),
)


_CHART_FORMS: Final = (
    Form("text/csv", "A header and a row for each cell (RFC 4180); texts never start like a formula."),
    Form(
        "image/svg+xml",
        "A panel for each load, a line for each cable: volts against length, all of the load at the far end.",
    ),
    *SHEET_FORMS,
)


DRAWN: Final = Form("image/svg+xml", "The volts along the way, and the wiring to scale of its lengths.")


class Operation(NamedTuple):
    """Facts about one operation."""

    summary: str
    tag: str
    reply: Any
    """The struct, or union of structs, of a 200 reply."""
    reply_words: str
    refusals: tuple[str, ...]
    """Codes of the problems with which the operation may refuse."""
    request: Any = None
    """The struct of the body, where there is one."""
    query: Any = None
    """The struct of the query, where there is one."""
    forms: tuple[Form, ...] = ()
    """Forms of the 200 reply beside JSON."""
    kept: bool = False
    """Whether a client may keep the reply and ask later whether it is still good."""
    more: str = ""
    """What the handler's docstring leaves out."""
    examples: tuple[Example, ...] = ()


DESIGNING: Final[dict[str, Operation]] = {
    "voltage_drop": Operation(
        summary="Voltage at every fixture",
        tag="calculations",
        request=VoltageDropRequest,
        reply=VoltageDropReply,
        reply_words="The operating point, or the proof that there is none.",
        forms=(*SHEET_FORMS, DRAWN),
        refusals=("wiring-invalid", "taps-joined", "job-too-large", "work-over-limit", *CALCULATING),
        more=(
            "The coupled circuit is solved: each fixture draws what it draws at the voltage that it gets.\n\n"
            "A wiring in the form `runs` or `even` that fits the schema is always answered with 200, except"
            " when it expands to more points or loops than one request may have (`job-too-large`), or asks"
            " for more corners of a large job than one request may (`work-over-limit`). A job that"
            " is electrically impossible is an answer too: `status` is then `no-operating-point`, and no"
            " voltage is shown. A wiring in the form `spans` can contradict itself, and is then refused.\n\n"
            "The same bytes always get the same bytes back; a request may be repeated safely."
        ),
        examples=(
            Example("runs", "A run with a branch, in feet", file="voltage_drop.json"),
            Example("even", "Fixtures alike at even distances, in metres", file="voltage_drop_even.json"),
            Example(
                "no-operating-point",
                "More load than the cable can carry",
                file="voltage_drop_no_operating_point.json",
            ),
            Example("totals", "Total watts and a length, and no more", file="voltage_drop_totals.json"),
            Example("strip", "Light strips with resistance of their own", file="voltage_drop_strip.json"),
            Example("spans", "A ring of spans between named points", file="voltage_drop_spans.json"),
            Example("unfit", "Several mistakes, all named at once", 400, file="voltage_drop_unfit.json"),
            Example("too-large", "Too many points", 422, file="voltage_drop_too_large.json"),
            Example("island", "Spans that do not reach the supply", 422, file="voltage_drop_island.json"),
            Example(
                "as-text",
                "A body that is not announced as JSON",
                415,
                file="voltage_drop.json",
                headers=(("content-type", "text/plain"),),
            ),
            Example(
                "not-accepted",
                "Only a form that is not offered is accepted",
                406,
                file="voltage_drop.json",
                headers=(("accept", "text/csv"), ("content-type", "application/json")),
            ),
            OTHER_METHOD,
        ),
    ),
    "transformer_loading": Operation(
        summary="What the transformer carries, and which to take",
        tag="calculations",
        request=TransformerLoadingRequest,
        reply=TransformerLoadingReply,
        reply_words="The loading in the worst state, the recommended transformer, and its circuits.",
        forms=SHEET_FORMS,
        refusals=("wiring-invalid", "taps-joined", "job-too-large", "work-over-limit", *CALCULATING),
        more=(
            "`loading` is that of the supply in the request, in whichever of the stated state and the corners"
            " asks for most apparent power; everything is on. `recommended` is the smallest transformer that"
            " carries the connected volt-amperes with the spare, is not loaded over the maximum as connected"
            " and as solved with its own regulation and taps in every state, has every tap in use and room on"
            " its circuits, and is loaded enough to work; of equals the cheapest, then the first in the list."
            " `rejected` says of every other one why it is not that.\n\n"
            "`division` puts the runs on its circuits so that the fullest has the most room: `exact` where"
            " that is proved, which it is for up to 20 runs unless very many divisions are almost as good;"
            " else `best-found`.\n\n"
            "Where the supply in the request cannot carry the load at all, `status` is `no-operating-point`;"
            " another transformer may still be recommended."
        ),
        examples=(
            Example(
                "stock", "Three runs, two taps and a stock to choose from", file="transformer_loading.json"
            ),
            OTHER_METHOD,
        ),
    ),
    "gauge_recommendation": Operation(
        summary="Which cable",
        tag="calculations",
        request=GaugeRecommendationRequest,
        reply=GaugeRecommendationReply,
        reply_words="The cheapest choice that keeps every limit, or what each breaks and what would help.",
        forms=SHEET_FORMS,
        refusals=("wiring-invalid", "taps-joined", "job-too-large", "work-over-limit", *CALCULATING),
        more=(
            "What stands in the open places of the wiring only says where a cable lies. The filled `wiring`"
            " of the reply can be posted to voltage-drop as it is.\n\n"
            "`method` is `exact` where no cheaper choice passes; where the work of one request ran out before"
            " that was certain it is `best-found`, with the bound that nothing can cost less than."
        ),
        examples=(
            Example("per-run", "The cheapest cable for each run", file="gauge_recommendation.json"),
            Example(
                "none-passes",
                "No cable of the stock is enough; what would help",
                file="gauge_recommendation_none_passes.json",
            ),
            OTHER_METHOD,
        ),
    ),
    "reach": Operation(
        summary="How far, how much, how many",
        tag="calculations",
        request=ReachRequest,
        reply=ReachReply,
        reply_words="The largest run that keeps every limit, and what breaks with the next.",
        forms=SHEET_FORMS,
        refusals=("job-too-large", "work-over-limit", *CALCULATING),
        more=(
            "One run of one cable is made longer, loaded more or given one more fixture until a limit breaks:"
            " a window's minimum (without a window of your own the value below which common practice warns),"
            " the drop that the request allows, the cable's ampacity, 80 % of the device, the supply's rating"
            " or longest cable, a Class 2 limit, or the collapse of the voltage. Lengths and watts are tried"
            " in steps of their fourth digit, so the answer itself was solved and keeps every limit, and the"
            " value tried beyond it, at most 0.1 % larger, does not. Lengths go from 0.1 to 9,999 of the unit"
            " of the reply, loads from 0.1 W to 9,999 W, fixtures from 1 to 500; a largest load at a"
            " `spacing` that asks for more fixtures is refused (`job-too-large`). Where a load draws"
            " volt-amperes beyond its watts and the collapse binds, the answer may be 1 % short.\n\n"
            "`wiring` is the answer in the form that `/v1/voltage-drop` takes. Where `conditions` ask for"
            " corners, the limits are kept in each of them; the ends shown are those of the described state,"
            " and `lowest` is the lowest voltage of the corners.\n\n"
            "The same bytes always get the same bytes back; a request may be repeated safely."
        ),
        examples=(
            Example("longest-run", "How far, at low mains and in hot cable", file="reach.json"),
            OTHER_METHOD,
        ),
    ),
}


METERING: Final[dict[str, Operation]] = {
    "readings_check": Operation(
        summary="Meter readings against the model",
        tag="calculations",
        request=ReadingsCheckRequest,
        reply=ReadingsCheckReply,
        reply_words="Whether the readings agree and, if not, which single cause explains them and where.",
        forms=SHEET_FORMS,
        refusals=(
            "wiring-invalid",
            "taps-joined",
            "readings-invalid",
            "job-too-large",
            "work-over-limit",
            *CALCULATING,
        ),
        more=(
            "The meter has the last word: the wiring as described is solved in every state in which it was"
            " read, and each reading is compared with what it should have been, within what the meter and the"
            " wiring may be off by. Whether all of them are together is a chi-square test at 1 %.\n\n"
            "Where they do not agree, single causes are fitted: the supply, a splice, a stretch or a kind of"
            " cable, a break, a fixture's power, a load that nobody declared, two fixtures exchanged. They"
            " are ranked by likelihood with one unknown charged to each; `identifiability` says which of them"
            " these readings cannot tell from the first, and `next_reading` which reading would. Where no"
            " single cause fits, `verdict` is `contradicts` and nothing is concluded.\n\n"
            "Readings whose states are alike share one state. Positions are pointers into the same request."
            " The same bytes always get the same bytes back; a request may be repeated safely."
        ),
        examples=(
            Example("bad-splice", "Four readings and one bad joint", file="readings_check.json"),
            Example("points-at-nothing", "Readings of nothing", 422, file="readings_check_nowhere.json"),
            OTHER_METHOD,
        ),
    ),
    "commissioning_sheet": Operation(
        summary="What a meter should show, to take into the garden",
        tag="calculations",
        request=CommissioningSheetRequest,
        reply=CommissioningSheetReply,
        reply_words="Stages in order, and in each the places to read with expected values and tolerances.",
        forms=(
            Form(
                "text/csv",
                "A header and a row for each place (RFC 4180), with an empty cell for what the meter says;"
                " texts never start like a formula.",
            ),
            *SHEET_FORMS,
        ),
        refusals=("wiring-invalid", "taps-joined", "job-too-large", "work-over-limit", *CALCULATING),
        more=(
            "Three kinds of stage: bare terminals, each run alone where there are several, everything on."
            " Each place has a value for each of the `mains`, with the tolerance by which"
            " `/v1/readings-check` judges a reading of it: a test point's `subject`, its stage's `state` with"
            " the `mains` of a column, and what the meter shows as `quantity` are a reading of that study, to"
            " be posted with the same supply, wiring, conditions, instrument and priors."
            " Of a battery each column stands for its volts as `nominal`.\n\n"
            "A stage that the wiring cannot carry is named in `findings` and has no numbers there.\n\n"
            "The same bytes always get the same bytes back; a request may be repeated safely."
        ),
        examples=(
            Example("two-runs", "Two runs on a transformer, at three mains", file="commissioning_sheet.json"),
            OTHER_METHOD,
        ),
    ),
}


CHARTS: Final[dict[str, Operation]] = {
    "get_drop_chart": Operation(
        summary="Loads times lengths, as an address",
        tag="calculations",
        query=DropChartQuery,
        reply=DropChartReply,
        reply_words="The chart, in the form that is accepted best.",
        forms=_CHART_FORMS,
        refusals=("request-invalid", "work-out-of-time", *QUOTAS, *READING),
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


AnyObject = Annotated[dict[str, Any], Meta(extra_json_schema={"additionalProperties": True})]


class Health(Struct, frozen=True):
    """The state of the process."""

    status: Annotated[str, Meta(pattern=r"^[a-z]+(?![\s\S])", description="`live` or `ready`.")]
    version: Annotated[str, Meta(description="Version of the service.")]


class OpenApiDocument(Struct, frozen=True):
    """An OpenAPI document, as far as every client may count on it."""

    openapi: Annotated[str, Meta(pattern=r"^3\.1\.\d+(?![\s\S])", description="Version of the format.")]
    info: AnyObject
    paths: AnyObject
    components: AnyObject


OPERATIONS: Final[dict[str, Operation]] = {
    "live": Operation(
        summary="Is the process alive?",
        tag="health",
        reply=Health,
        reply_words="The process answers.",
        refusals=ALWAYS,
        examples=(Example("live", "Alive"), OTHER_METHOD),
    ),
    "ready": Operation(
        summary="Should the process be sent work?",
        tag="health",
        reply=Health,
        reply_words="The service is ready and reproduces a published value.",
        refusals=("not-ready", *ALWAYS),
        examples=(Example("ready", "Ready"), OTHER_METHOD),
    ),
    "openapi_document": Operation(
        summary="The contract",
        tag="contract",
        reply=OpenApiDocument,
        reply_words="The OpenAPI 3.1 document.",
        refusals=READING,
        kept=True,
        # Its 200 reply is this document, which cannot stand inside itself.
        examples=(NOT_ACCEPTED, OTHER_METHOD),
    ),
    "assumptions": _catalogue("Assumptions and cautions", AssumptionCatalogue, _TWO_ROWS),
    "conductors": _catalogue("Conductors", ConductorCatalogue, _TWO_ROWS),
    "findings": _catalogue("Findings", FindingCatalogue, _TWO_ROWS),
    "limits": _catalogue("Limits", LimitCatalogue, Example("limits", "As this service is set up")),
    "problems": _catalogue("Problems", ProblemCatalogue, _TWO_ROWS),
    "sources": _catalogue("Sources", SourceCatalogue, _TWO_ROWS),
    "units": _catalogue("Units", UnitCatalogue, Example("units", "Every unit")),
    **DESIGNING,
    **METERING,
    **CHARTS,
    "batch": Operation(
        summary="Several questions at once",
        tag="calculations",
        request=BatchRequest,
        reply=BatchReply,
        reply_words="One outcome for each item, in order: an answer or a problem.",
        refusals=CALCULATING,
        more=(
            "Each item is answered as if its `request` had been posted to its study alone. A mistake in one"
            " item spoils no other; its problem stands in its place."
        ),
        examples=(Example("two", "One that fits and one that does not", file="batch.json"), OTHER_METHOD),
    ),
}
