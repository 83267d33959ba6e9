"""Readings check: does the meter agree with the wiring."""

from typing import Final

from service.estimation.job import ReadingsJob
from service.studies.readings_check.reply import ReadingsCheckReply
from service.studies.readings_check.request import ReadingsCheckRequest
from service.studies.readings_check.sheet import readings_check_sheet
from service.studies.readings_check.study import readings_check, readings_check_work
from service.studies.readings_check.translate import job_of, reply_of
from service.studies.record import JSON, Study, json_form, sheet_forms


def answer(message: ReadingsCheckRequest, asked: ReadingsJob, sha256: str) -> ReadingsCheckReply:
    """Explain the readings, and tell it."""
    return reply_of(message, readings_check(asked), sha256)


READINGS_CHECK: Final = Study(
    "readings-check",
    ReadingsCheckRequest,
    job_of,
    readings_check_work,
    answer,
    {JSON: json_form(), **sheet_forms("readings-check", readings_check_sheet)},
)
