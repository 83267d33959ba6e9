"""Reach: how far, how much, how many."""

from typing import Final

from service.studies.description import Description, Example
from service.studies.reach.reply import ReachReply
from service.studies.reach.request import ReachRequest
from service.studies.reach.sheet import reach_sheet
from service.studies.reach.study import reach, reach_work
from service.studies.reach.translate import job_of, reply_of
from service.studies.reach.trial import ReachJob
from service.studies.record import JSON, Study, json_form, sheet_forms
from service.studies.shortening import Kept


def answer(message: ReachRequest, job: ReachJob, sha256: str) -> ReachReply:
    """Find the largest run that keeps every limit, and tell it."""
    return reply_of(message, reach(job), sha256)


KEPT: Final = Kept(("binding", "from"), ("below", "binding_below"))
"""Of a shorter reply."""


DESCRIPTION: Final = Description(
    summary="Reach",
    trade_names=(
        "maximum run length",
        "longest run",
        "maximum load",
        "how many fixtures on a run",
        "home run",
    ),
    question="How far, how much, how many?"
    " The longest run for a load, the largest load for a run, most fixtures.",
    reply=ReachReply,
    reply_words="The run, or the range of runs, that keeps every limit, and what breaks beyond.",
    refusals=("supply-not-computable", "job-too-large", "work-over-limit", "paper-not-offered"),
    more=(
        "One run of one cable is made longer, loaded more or given one more fixture. A value keeps every"
        " limit where `/v1/voltage-drop` shows no fault and no warning, but for the codes in `accept`, in the"
        " stated state and in every corner. Without a range in `conditions` that is the usual one"
        " (`usual-range`); where no value holds it, the answer is for the stated state and"
        " `range-not-held` says so.\n\n"
        "Small values may fail as well as large ones: lamps near the supply above their window, a supply"
        " below its least load, a filament that draws too much. Then the answer is a range, from `from` to"
        " `answer`. Lengths and watts have four digits; both ends were solved and keep every limit, the value"
        " next to each, at most 0.1 % away, does not. Found it is by trying one and three of each decade, or"
        " 1, 2, 4 … fixtures, and by halving from there: what is too small for one limit and what is too"
        " large for another leave between them what keeps all, however few values that are. `searched` says"
        " whether all others are known to fail. They are, but where a longer run may break a limit in its"
        " middle: a load that draws less at lower voltage (resistance, filament) spread evenly behind a"
        " winding, a mixture with such a part, and a load shared at a `spacing` by fixtures that may be on"
        " alone. There values that were not tried may fail in between, or hold elsewhere; before"
        " `out-of-reach` is said every number of fixtures is tried where that is little work."
        " Lengths go from 0.1 to 9,999 of the unit of the reply, loads from 0.1 W to 9,999 W, fixtures"
        " from 1 to 500; a largest load at a `spacing` that asks for more fixtures is refused"
        " (`job-too-large`). Where a load draws volt-amperes beyond its watts and the collapse binds, the"
        " answer may be 1 % short.\n\n"
        "`wiring` is the answer in the form that `/v1/voltage-drop` takes, and `judged_conditions` are those"
        " under which it keeps every limit there. The ends shown are those of the described state, and"
        " `lowest` is the lowest voltage of the corners.\n\n"
        "The same bytes always get the same bytes back; a request may be repeated safely.\n\n" + KEPT.words
    ),
    examples=(Example("longest-run", "How far, at low mains and in hot cable", file="reach.json"),),
)


REACH: Final = Study(
    "reach",
    ReachRequest,
    job_of,
    reach_work,
    answer,
    {JSON: json_form(KEPT), **sheet_forms("reach", reach_sheet)},
    DESCRIPTION,
)
