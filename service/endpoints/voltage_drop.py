"""Voltage drop: what each lamp gets."""

from typing import Final

from msgspec import UnsetType

from service.endpoints.encoding import JSON
from service.endpoints.forms import drawing_form, finite, json_form, sheet_forms
from service.endpoints.study import Study
from service.messages.voltage_drop import VoltageDropReply, VoltageDropRequest
from service.sheets.sheet import Sheet
from service.sheets.voltage_drop import voltage_drop_drawing, voltage_drop_sheet
from service.studies.commissioning_sheet import commissioning_sheet
from service.studies.estimates import commissioning_sheet_work, voltage_drop_work
from service.studies.job import Job
from service.studies.voltage_drop import voltage_drop
from service.translate import commissioning_sheet as stages
from service.translate.voltage_drop import job_of, reply_of


def answer(message: VoltageDropRequest, job: Job, sha256: str) -> VoltageDropReply:
    """Solve one state, and tell it."""
    return reply_of(message, voltage_drop(job), sha256)


def printed(message: VoltageDropRequest, reply: VoltageDropReply) -> Sheet:
    """The sheet, with the stages to read with a meter where the request asks for them."""
    if not has_stages(message):
        return voltage_drop_sheet(message, reply)
    read = stages.reply_of(message, commissioning_sheet(stages.as_described(message)), reply.request_sha256)
    return voltage_drop_sheet(message, reply, finite(read))


def work_of_stages(message: VoltageDropRequest) -> int:
    """Work of the stages, where the sheet is to have them."""
    return commissioning_sheet_work(stages.as_described(message)).most if has_stages(message) else 0


def has_stages(message: VoltageDropRequest) -> bool:
    """Whether the sheet is to have the stages to read with a meter."""
    return not isinstance(message.sheet, UnsetType) and message.sheet.commissioning is True


VOLTAGE_DROP: Final = Study(
    "voltage-drop",
    VoltageDropRequest,
    job_of,
    voltage_drop_work,
    answer,
    {
        JSON: json_form(),
        **sheet_forms("voltage-drop", printed, work_of_stages),
        **drawing_form("voltage-drop", voltage_drop_drawing),
    },
)
