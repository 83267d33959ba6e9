"""Voltage drop: what each lamp gets."""

from typing import Final

from service.circuit.job import Job
from service.circuit.work import WorkOverLimitError
from service.sheets.papers import ALL_PAPERS, CUSTOMER, INSTALLER, METER, RECORD, asked_papers, in_order
from service.sheets.sheet import Sheet
from service.studies.commissioning_sheet import translate as stages
from service.studies.commissioning_sheet.reply import CommissioningSheetReply
from service.studies.commissioning_sheet.sheet import meter_sheet
from service.studies.commissioning_sheet.study import commissioning_sheet, commissioning_sheet_work
from service.studies.description import Description, Example
from service.studies.record import JSON, Study, drawing_form, finite, json_form, sheet_forms
from service.studies.voltage_drop.papers import WiredRun, customer_sheet, installer_sheet, wired_of
from service.studies.voltage_drop.reply import VoltageDropReply
from service.studies.voltage_drop.request import VoltageDropRequest
from service.studies.voltage_drop.sheet import voltage_drop_drawing, voltage_drop_sheet
from service.studies.voltage_drop.shorter import KEPT
from service.studies.voltage_drop.study import voltage_drop, voltage_drop_work
from service.studies.voltage_drop.translate import job_of, reply_of
from service.translate.job import length_unit


def answer(message: VoltageDropRequest, job: Job, sha256: str) -> VoltageDropReply:
    """Solve one state, and tell it."""
    return reply_of(message, voltage_drop(job), sha256)


def printed(message: VoltageDropRequest, reply: VoltageDropReply) -> Sheet:
    """The papers that the request asks for."""
    papers = asked_papers(message.sheet)
    wired = wired_of(message, reply)
    return in_order(
        papers,
        {
            CUSTOMER: lambda: customer_sheet(
                message, reply, wired, _planned(message, reply) if wired is None else None
            ),
            INSTALLER: lambda: installer_sheet(message, reply, wired),
            METER: lambda: meter_sheet(
                message,
                finite(stages_of(message, reply.request_sha256)),
                length_unit(message),
                reply.summary,
                None if wired is None else wired.lamps_by_place(),
            ),
            RECORD: lambda: voltage_drop_sheet(message, reply),
        },
    )


NEXT_TO_NOTHING: Final = 1e-6
"""A share of the load that any wiring carries. [-]"""


def _planned(message: VoltageDropRequest, reply: VoltageDropReply) -> WiredRun | None:
    """Where the lamps of a job are that cannot be carried: the wiring as solved with next to no load."""
    job = job_of(message)._replace(corners=None, usual_range=False, margin=False)
    try:
        drawn = voltage_drop(job.with_share_of_load(NEXT_TO_NOTHING))
    except WorkOverLimitError:
        return None
    return wired_of(message, reply_of(message, drawn, reply.request_sha256))


def stages_of(message: VoltageDropRequest, sha256: str) -> CommissioningSheetReply:
    """The stages to read with a meter."""
    return stages.reply_of(message, commissioning_sheet(stages.as_described(message)), sha256)


def work_of_stages(message: VoltageDropRequest) -> int:
    """Work of the stages, where they are asked for."""
    if METER not in asked_papers(message.sheet):
        return 0
    return commissioning_sheet_work(stages.as_described(message)).most


DESCRIPTION: Final = Description(
    summary="Voltage at every fixture",
    trade_names=(
        "voltage drop",
        "line loss",
        "volts at the fixture",
        "end-of-run voltage",
        "cable loss",
        "drop in a loop or a branch",
        "lamps too dim or too bright",
        "lighting plan for a customer",
        "wiring list for an installer",
    ),
    question="What does each lamp get? Volts at every fixture, drop, loading and findings, in one state.",
    reply=VoltageDropReply,
    reply_words="The operating point, or the proof that there is none.",
    refusals=("wiring-invalid", "taps-joined", "supply-not-computable", "job-too-large", "work-over-limit"),
    more=(
        "The coupled circuit is solved: each fixture draws what it draws at the voltage that it gets.\n\n"
        "A wiring in the form `runs` or `even` that fits the schema is always answered with 200, except"
        " when it expands to more points or loops than one request may have (`job-too-large`), or asks"
        " for more corners of a large job than one request may (`work-over-limit`). A job that"
        " is electrically impossible is an answer too: `status` is then `no-operating-point`, and no"
        " voltage is shown. A wiring in the form `spans` can contradict itself, and is then refused.\n\n"
        "What fixtures have in common is said once: `wiring.fixture_types` lists load, window and lead with"
        " an `id`, and a fixture names its `type`; `wiring.cable` is the cable of every run, branch and spur"
        " that names none; `count` and `spacing` stand for fixtures alike in a row.\n\n"
        "The same bytes always get the same bytes back; a request may be repeated safely.\n\n" + KEPT.words
    ),
    examples=(
        Example("runs", "A run with a branch, in feet", file="voltage_drop.json"),
        Example("even", "Fixtures alike at even distances, in metres", file="voltage_drop_even.json"),
        Example(
            "no-operating-point",
            "More load than the cable can carry",
            file="voltage_drop_no_operating_point.json",
        ),
        Example("totals", "Total watts and a length, and no more", file="voltage_drop_totals.json"),
        Example("strip", "Light strips with resistance of their own", file="voltage_drop_strip.json"),
        Example("fixtures", "Only the summary and each fixture in short", file="voltage_drop_fixtures.json"),
        Example("spans", "A ring of spans between named points", file="voltage_drop_spans.json"),
        Example("unfit", "Several mistakes, all named at once", 400, file="voltage_drop_unfit.json"),
        Example("too-large", "Too many points", 422, file="voltage_drop_too_large.json"),
        Example("island", "Spans that do not reach the supply", 422, file="voltage_drop_island.json"),
        Example(
            "as-text",
            "A body that is not announced as JSON",
            415,
            file="voltage_drop.json",
            headers=(("content-type", "text/plain"),),
        ),
        Example(
            "not-accepted",
            "Only a form that is not offered is accepted",
            406,
            file="voltage_drop.json",
            headers=(("accept", "text/csv"), ("content-type", "application/json")),
        ),
    ),
)


VOLTAGE_DROP: Final = Study(
    "voltage-drop",
    VoltageDropRequest,
    job_of,
    voltage_drop_work,
    answer,
    {
        JSON: json_form(KEPT),
        **sheet_forms("voltage-drop", printed, work_of_stages, ALL_PAPERS),
        **drawing_form(
            "voltage-drop",
            voltage_drop_drawing,
            "The volts along the way, and the wiring to scale of its lengths.",
        ),
    },
    DESCRIPTION,
)
