"""Reach: how far, how much, how many."""

from typing import Final

from service.studies.reach.reply import ReachReply
from service.studies.reach.request import ReachRequest
from service.studies.reach.sheet import reach_sheet
from service.studies.reach.study import ReachJob, reach, reach_work
from service.studies.reach.translate import job_of, reply_of
from service.studies.record import JSON, Study, json_form, sheet_forms


def answer(message: ReachRequest, job: ReachJob, sha256: str) -> ReachReply:
    """Find the largest run that keeps every limit, and tell it."""
    return reply_of(message, reach(job), sha256)


REACH: Final = Study(
    "reach",
    ReachRequest,
    job_of,
    reach_work,
    answer,
    {JSON: json_form(), **sheet_forms("reach", reach_sheet)},
)
