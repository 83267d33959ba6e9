"""Reach: how far, how much, how many."""

from typing import Final

from service.endpoints.encoding import JSON
from service.endpoints.forms import json_form, sheet_forms
from service.endpoints.study import Study
from service.messages.reach import ReachReply, ReachRequest
from service.sheets.reach import reach_sheet
from service.studies.estimates import reach_work
from service.studies.reach import reach
from service.studies.trial import ReachJob
from service.translate.reach import job_of, reply_of


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
