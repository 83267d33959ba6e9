"""Commissioning sheet: what a meter should show."""

from typing import Final

from service.studies.commissioning_sheet.csv import commissioning_csv
from service.studies.commissioning_sheet.job import CommissioningJob
from service.studies.commissioning_sheet.reply import CommissioningSheetReply
from service.studies.commissioning_sheet.request import CommissioningSheetRequest
from service.studies.commissioning_sheet.sheet import commissioning_sheet_sheet
from service.studies.commissioning_sheet.study import commissioning_sheet, commissioning_sheet_work
from service.studies.commissioning_sheet.translate import job_of, reply_of
from service.studies.record import JSON, Study, json_form, sheet_forms, values_form


def answer(
    message: CommissioningSheetRequest, asked: CommissioningJob, sha256: str
) -> CommissioningSheetReply:
    """Predict every reading, and tell it."""
    return reply_of(message, commissioning_sheet(asked), sha256)


COMMISSIONING_SHEET: Final = Study(
    "commissioning-sheet",
    CommissioningSheetRequest,
    job_of,
    commissioning_sheet_work,
    answer,
    {
        JSON: json_form(),
        **sheet_forms("commissioning-sheet", commissioning_sheet_sheet),
        **values_form("commissioning-sheet", commissioning_csv),
    },
)
