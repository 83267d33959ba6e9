"""The operations that answer before anything is laid: volts, loading, cable, reach."""

from typing import Final

from service.document.examples import Example
from service.document.operation import Operation
from service.document.usual import CALCULATING, DRAWN, OTHER_METHOD, SHEET_FORMS
from service.messages.gauge_recommendation import GaugeRecommendationReply, GaugeRecommendationRequest
from service.messages.reach import ReachReply, ReachRequest
from service.messages.transformer_loading import TransformerLoadingReply, TransformerLoadingRequest
from service.messages.voltage_drop import VoltageDropReply, VoltageDropRequest

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
