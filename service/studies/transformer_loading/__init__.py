"""Transformer loading: what the transformer carries."""

from typing import Final

from service import tables
from service.studies.description import Description, Example
from service.studies.record import JSON, Study, json_form, sheet_forms
from service.studies.shortening import Kept
from service.studies.transformer_loading.reply import TransformerLoadingReply
from service.studies.transformer_loading.request import TransformerLoadingRequest
from service.studies.transformer_loading.selection import LoadingJob
from service.studies.transformer_loading.sheet import transformer_loading_sheet
from service.studies.transformer_loading.study import transformer_loading, transformer_loading_work
from service.studies.transformer_loading.translate import job_of, reply_of


def answer(
    message: TransformerLoadingRequest, loading_job: LoadingJob, sha256: str
) -> TransformerLoadingReply:
    """Load the transformer, and tell it."""
    return reply_of(message, transformer_loading(loading_job), sha256)


KEPT: Final = Kept(("recommended", "nearest", "judged_conditions"), ("circuits", "division", "placement"))
"""Of a shorter reply."""


DESCRIPTION: Final = Description(
    summary="Transformer loading",
    trade_names=(
        "transformer sizing",
        "transformer size",
        "load calculation",
        "VA and watts",
        "multi-tap transformer",
        "spare capacity",
        "low-voltage power supply",
        "secondary circuits",
        "breakers and fuses",
    ),
    question="What does the transformer carry, which would carry it best,"
    " and how do the runs go on its circuits?",
    reply=TransformerLoadingReply,
    reply_words="The loading in the worst state, the recommended or nearest transformer, and its circuits.",
    refusals=(
        "wiring-invalid",
        "taps-joined",
        "supply-not-computable",
        "job-too-large",
        "work-over-limit",
        "paper-not-offered",
    ),
    more=(
        "`loading` is that of the supply in the request, in whichever of the stated state and the corners"
        " loads it most; everything is on. A rating is one of volt-amperes and, at the rated voltage, one of"
        " current: at low mains the same watts draw more current. `recommended` is the smallest"
        " transformer that carries the connected volt-amperes with the spare, is not loaded over the"
        " maximum as connected and as solved with its own regulation and taps in every state, has every"
        " tap in use and room on its circuits, is loaded enough to work, and passes: behind it"
        " `voltage-drop` finds under `judged_conditions` no fault, and no warning but those in `accept`."
        " Of equals it is the cheapest, then the first in the list. Where none passes it is absent, and"
        " `no-transformer-passes` says so: `nearest` is then the one with the fewest codes of faults, then of"
        " warnings, then the smallest, and `findings` has what it breaks. Where none carries the job"
        " (`no-transformer-fits`) there is neither. Where only the total load is known no lamp is, and lamps"
        " do not count. `rejected` says of every one that is not recommended why.\n\n"
        "`division` puts the runs on the circuits of the recommended one, or else of the nearest, so that the"
        " fullest has the most room: `exact` where that is proved, which it is for up to 20 runs unless very"
        " many divisions are almost as good;"
        " else `best-found`. Where a cable is too thin for the device of its circuit, or a short at its end"
        " would not trip that, the runs go where devices suit them, if that breaks less. A circuit of the"
        " stock without a `limit` rules out and warns of nothing:"
        " `device-not-stated` says what to state and the largest device that the cable allows. Of the usual"
        " ratings no device is known either; a circuit of theirs has"
        f" {tables.constant('secondary_circuit_limit').value:g} A at most.\n\n"
        "`stated` judges the supply of the request as the one on offer is judged: both have the verdict"
        " that `voltage-drop` gives under `judged_conditions`, its runs on the circuits of `placement` or of"
        " `division`, and the codes that speak against it. Where a transformer passes as stated and none"
        " holds the usual range, all is judged as stated, the supply of the request included"
        " (`range-not-held` names the limit, the lamp and the corner), and so say `judged_conditions`.\n\n"
        "Where the supply in the request cannot carry the load at all, `status` is `no-operating-point`;"
        " another transformer may still be recommended.\n\n" + KEPT.words
    ),
    examples=(
        Example("stock", "Three runs, two taps and a stock to choose from", file="transformer_loading.json"),
    ),
)


TRANSFORMER_LOADING: Final = Study(
    "transformer-loading",
    TransformerLoadingRequest,
    job_of,
    transformer_loading_work,
    answer,
    {JSON: json_form(KEPT), **sheet_forms("transformer-loading", transformer_loading_sheet)},
    DESCRIPTION,
)
