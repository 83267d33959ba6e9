"""Readings check: does the meter agree with the wiring."""

from typing import Final

from service.estimation.job import ReadingsJob
from service.studies.description import Description, Example
from service.studies.readings_check.reply import ReadingsCheckReply
from service.studies.readings_check.request import ReadingsCheckRequest
from service.studies.readings_check.sheet import readings_check_sheet
from service.studies.readings_check.study import IMPROBABLE, readings_check, readings_check_work
from service.studies.readings_check.translate import job_of, reply_of
from service.studies.record import JSON, Study, json_form, sheet_forms
from service.studies.shortening import Kept


def answer(message: ReadingsCheckRequest, job: ReadingsJob, sha256: str) -> ReadingsCheckReply:
    """Explain the readings, and tell it."""
    return reply_of(message, readings_check(job), sha256)


KEPT: Final = Kept(("explanations", "by_run", "next_reading"), ("readings",))
"""Of a shorter reply."""


DESCRIPTION: Final = Description(
    summary="Meter readings against the model",
    trade_names=(
        "troubleshooting",
        "fault finding",
        "dim lights",
        "bad splice",
        "corroded connector",
        "high-resistance joint",
        "wrong gauge",
        "lamp out",
    ),
    question="Does the meter agree with the wiring as built and, if not, what explains it and where to look?",
    reply=ReadingsCheckReply,
    reply_words="Whether the readings agree and, if not, which single cause explains them and where.",
    refusals=(
        "wiring-invalid",
        "taps-joined",
        "readings-invalid",
        "supply-not-computable",
        "job-too-large",
        "work-over-limit",
        "paper-not-offered",
    ),
    more=(
        "The meter has the last word: the wiring as described is solved in every state in which it was"
        " read, and each reading is compared with what it should have been, within what the meter and the"
        " wiring allow. Whether all of them are together is a chi-square test at"
        f" {100.0 * IMPROBABLE:g} %. Volts, amperes and, with the supply off and disconnected, the ohms of a"
        " loop count alike.\n\nWhere they do not agree, single causes are fitted: the supply, a splice, a"
        " stretch or a kind of cable, a break, a fixture's power, a load that nobody declared, two fixtures"
        " exchanged, a run on another tap, two runs exchanged. They are ranked by likelihood with one"
        " unknown charged to each; `identifiability` says which of them these readings cannot tell from the"
        " first, and `next_reading` which reading would. Each run is judged by itself as well (`by_run`),"
        " so that a fault on each of two runs is two answers. Where no cause fits, `verdict` is"
        " `contradicts` and nothing is concluded.\n\nA commissioning sheet's CSV with its column `read`"
        " filled in is taken as `readings_csv`.\n\nReadings whose states are alike share one state."
        " Positions are pointers into the same request. The same bytes always get the same bytes back; a"
        " request may be repeated safely.\n\n" + KEPT.words
    ),
    examples=(
        Example("bad-splice", "Four readings and one bad joint", file="readings_check.json"),
        Example("points-at-nothing", "Readings of nothing", 422, file="readings_check_nowhere.json"),
    ),
)

READINGS_CHECK: Final = Study(
    "readings-check",
    ReadingsCheckRequest,
    job_of,
    readings_check_work,
    answer,
    {JSON: json_form(KEPT), **sheet_forms("readings-check", readings_check_sheet)},
    DESCRIPTION,
)
