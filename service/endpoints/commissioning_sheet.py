"""Commissioning sheet: what a meter should show."""

from typing import Final

from service.endpoints.encoding import JSON
from service.endpoints.forms import json_form, sheet_forms, values_form
from service.endpoints.study import Study
from service.messages.commissioning_sheet import CommissioningSheetReply, CommissioningSheetRequest
from service.sheets.commissioning_sheet import commissioning_sheet_sheet
from service.studies.commissioning.asked import CommissioningJob
from service.studies.commissioning_sheet import commissioning_sheet
from service.studies.estimates import commissioning_sheet_work
from service.translate.commissioning_csv import commissioning_csv
from service.translate.commissioning_sheet import asked_of, reply_of


def answer(
    message: CommissioningSheetRequest, asked: CommissioningJob, sha256: str
) -> CommissioningSheetReply:
    """Predict every reading, and tell it."""
    return reply_of(message, commissioning_sheet(asked), sha256)


COMMISSIONING_SHEET: Final = Study(
    "commissioning-sheet",
    CommissioningSheetRequest,
    asked_of,
    commissioning_sheet_work,
    answer,
    {
        JSON: json_form(),
        **sheet_forms("commissioning-sheet", commissioning_sheet_sheet),
        **values_form("commissioning-sheet", commissioning_csv),
    },
)
