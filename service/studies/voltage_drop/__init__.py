"""Voltage drop: what each lamp gets."""

from typing import Final

from msgspec import UnsetType

from service.circuit.job import Job
from service.sheets.sheet import Sheet
from service.studies.commissioning_sheet import translate as stages
from service.studies.commissioning_sheet.study import commissioning_sheet, commissioning_sheet_work
from service.studies.record import JSON, Study, drawing_form, finite, json_form, sheet_forms
from service.studies.voltage_drop.reply import VoltageDropReply
from service.studies.voltage_drop.request import VoltageDropRequest
from service.studies.voltage_drop.sheet import voltage_drop_drawing, voltage_drop_sheet
from service.studies.voltage_drop.study import voltage_drop, voltage_drop_work
from service.studies.voltage_drop.translate import job_of, reply_of


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
