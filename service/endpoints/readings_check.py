"""Readings check: does the meter agree with the wiring."""

from typing import Final

from service.endpoints.encoding import JSON
from service.endpoints.forms import json_form, sheet_forms
from service.endpoints.study import Study
from service.messages.readings_check import ReadingsCheckReply, ReadingsCheckRequest
from service.sheets.readings_check import readings_check_sheet
from service.studies.estimates import readings_check_work
from service.studies.readings.asked import ReadingsJob
from service.studies.readings_check import readings_check
from service.translate.readings_check import asked_of
from service.translate.readings_reply import reply_of


def answer(message: ReadingsCheckRequest, asked: ReadingsJob, sha256: str) -> ReadingsCheckReply:
    """Explain the readings, and tell it."""
    return reply_of(message, readings_check(asked), sha256)


READINGS_CHECK: Final = Study(
    "readings-check",
    ReadingsCheckRequest,
    asked_of,
    readings_check_work,
    answer,
    {JSON: json_form(), **sheet_forms("readings-check", readings_check_sheet)},
)
