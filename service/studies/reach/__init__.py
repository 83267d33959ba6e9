"""Reach: how far, how much, how many."""

from typing import Final

from service.studies.description import Description, Example
from service.studies.reach.reply import ReachReply
from service.studies.reach.request import ReachRequest
from service.studies.reach.sheet import reach_sheet
from service.studies.reach.study import ReachJob, reach, reach_work
from service.studies.reach.translate import job_of, reply_of
from service.studies.record import JSON, Study, json_form, sheet_forms


def answer(message: ReachRequest, job: ReachJob, sha256: str) -> ReachReply:
    """Find the largest run that keeps every limit, and tell it."""
    return reply_of(message, reach(job), sha256)


DESCRIPTION: Final = Description(
    summary="How far, how much, how many",
    question="How far, how much, how many?"
    " The longest run for a load, the largest load for a run, most fixtures.",
    reply=ReachReply,
    reply_words="The largest run that keeps every limit, and what breaks with the next.",
    refusals=("job-too-large", "work-over-limit"),
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
    examples=(Example("longest-run", "How far, at low mains and in hot cable", file="reach.json"),),
)


REACH: Final = Study(
    "reach",
    ReachRequest,
    job_of,
    reach_work,
    answer,
    {JSON: json_form(), **sheet_forms("reach", reach_sheet)},
    DESCRIPTION,
)
