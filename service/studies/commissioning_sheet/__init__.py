"""Commissioning sheet: what a meter should show."""

from typing import Final

from service.estimation.job import ALL_ON
from service.sheets.papers import METER, RECORD, asked_papers, in_order
from service.sheets.sheet import Sheet
from service.studies.commissioning_sheet.csv import commissioning_csv
from service.studies.commissioning_sheet.reply import CommissioningSheetReply, Stage
from service.studies.commissioning_sheet.request import CommissioningSheetRequest
from service.studies.commissioning_sheet.sheet import commissioning_sheet_sheet, meter_sheet
from service.studies.commissioning_sheet.stages import CommissioningJob
from service.studies.commissioning_sheet.study import commissioning_sheet, commissioning_sheet_work
from service.studies.commissioning_sheet.translate import job_of, reply_of
from service.studies.description import Description, Example
from service.studies.record import JSON, Study, json_form, sheet_forms, values_form
from service.studies.shortening import Kept
from service.translate.job import length_unit


def answer(message: CommissioningSheetRequest, job: CommissioningJob, sha256: str) -> CommissioningSheetReply:
    """Predict every reading, and tell it."""
    return reply_of(message, commissioning_sheet(job), sha256)


def printed(message: CommissioningSheetRequest, reply: CommissioningSheetReply) -> Sheet:
    """The stages with all that they were computed from, or alone."""
    return in_order(
        asked_papers(message.sheet),
        {
            METER: lambda: meter_sheet(message, reply, length_unit(message)),
            RECORD: lambda: commissioning_sheet_sheet(message, reply),
        },
    )


def _with_everything_on(reply: CommissioningSheetReply, is_longer: bool) -> dict[str, list[Stage]]:  # noqa: FBT001  # as `cut` is called
    """The one stage in which every fixture is on."""
    return {"stages": [each for each in reply.stages if each.code == ALL_ON]} if is_longer else {}


KEPT: Final = Kept(
    fixtures=("mains",), cut=_with_everything_on, fixtures_in_part="the last of the `stages`, everything on"
)
"""Of a shorter reply."""


DESCRIPTION: Final = Description(
    summary="Commissioning sheet",
    trade_names=(
        "start-up readings",
        "tap voltages",
        "test sheet",
        "punch list",
        "sign-off",
        "clamp meter",
        "volt meter",
    ),
    question="What should a meter show, place by place, from bare terminals to everything on?",
    reply=CommissioningSheetReply,
    reply_words="Stages in order, and in each the places to read with expected values and tolerances.",
    refusals=(
        "wiring-invalid",
        "taps-joined",
        "supply-not-computable",
        "job-too-large",
        "work-over-limit",
        "paper-not-offered",
    ),
    more=(
        "Three kinds of stage: bare terminals, each run alone where there are several, everything on."
        " Each place has a value for each of the `mains`, with the tolerance by which"
        " `/v1/readings-check` judges a reading of it: a test point's `subject`, its stage's `state` with"
        " the `mains` of a column, and what the meter shows as `quantity` are a reading of that study, to"
        " be posted with the same supply, wiring, conditions, instrument and priors."
        " Of a battery each column stands for its volts as `nominal`.\n\n"
        "A stage that the wiring cannot carry is named in `findings` and has no numbers there.\n\n"
        "The same bytes always get the same bytes back; a request may be repeated safely.\n\n" + KEPT.words
    ),
    examples=(
        Example("two-runs", "Two runs on a transformer, at three mains", file="commissioning_sheet.json"),
    ),
)

COMMISSIONING_SHEET: Final = Study(
    "commissioning-sheet",
    CommissioningSheetRequest,
    job_of,
    commissioning_sheet_work,
    answer,
    {
        JSON: json_form(KEPT),
        **sheet_forms("commissioning-sheet", printed, papers=(METER, RECORD)),
        **values_form(
            "commissioning-sheet",
            commissioning_csv,
            "A header and a row for each place (RFC 4180), with an empty cell for what the meter says;"
            " texts never start like a formula.",
        ),
    },
    DESCRIPTION,
)
