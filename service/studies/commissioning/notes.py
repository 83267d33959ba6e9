"""What a sheet takes for granted, where its numbers come from, and what cannot be predicted of a stage."""

from __future__ import annotations

from typing import TYPE_CHECKING

from service import tables
from service.studies.commissioning.columns import RANGE, follows_mains, steps_assumed
from service.studies.finding import FAULT, WARNING, Finding
from service.studies.job import Subject
from service.studies.readings import notes
from service.studies.readings.asked import CURRENT, VOLTAGE, Reading, Terminal

if TYPE_CHECKING:
    from service.studies.commissioning.asked import CommissioningJob, StageAnswer
    from service.studies.readings.asked import ReadingsJob
    from service.studies.readings.model import Model
    from service.studies.window import Bounds

NOT_CARRIED, NEEDS_TRUE_RMS = "stage-cannot-be-carried", "stage-needs-true-rms"

OF_THE_SEARCH = frozenset({"battery-nominal", "one-cause", "supply-common", "mains-set-aside"})
"""Assumptions of a check of readings that belong to its search or its one state, not to every column."""


def stage_finding(answer: StageAnswer) -> Finding | None:
    """Why a stage has no values in some columns; None where it has them all."""
    if not answer.empty:
        return None
    part = answer.stage.part
    subject = Subject("/wiring") if part is None else part.subject
    if answer.averaged:
        return Finding(NEEDS_TRUE_RMS, WARNING, subject, "own-calculation")
    return Finding(NOT_CARRIED, FAULT, subject, "own-calculation")


def assumptions_made(
    asked: CommissioningJob, readings: ReadingsJob, model: Model, bounds: list[Bounds]
) -> list[str]:
    """Codes of the assumptions: those of a check of the very readings, and of the columns."""
    both = tuple(
        Reading(Subject(""), Terminal(None, None, ""), quantity, 0.0, None) for quantity in (VOLTAGE, CURRENT)
    )
    held = {
        "window-default": any(not each.stated for each in bounds),
        "mains-outlet-steps": steps_assumed(asked),
        "mains-not-scalable": not asked.job.supply.direct_current and not follows_mains(asked.job.supply),
        "mains-set-aside": asked.job.supply.direct_current and bool(asked.mains_v),
    }
    shared = notes.assumptions_made(readings._replace(readings=both), model)
    return [
        *(code for code in shared if code not in OF_THE_SEARCH),
        *(code for code, holds in held.items() if holds),
    ]


def sources_used(asked: CommissioningJob, model: Model, bounds: list[Bounds]) -> list[str]:
    """Ids of the sources of the wiring's numbers, of the windows, and of the range of the mains."""
    windows = [source for each in bounds for source in (each.source, each.high_source)]
    ranges = [tables.mains_range(RANGE).source] if steps_assumed(asked) else []
    used = dict.fromkeys([*notes.sources_used(model), *windows, *ranges])
    return [source for source in used if source not in {"caller", "own-calculation"}]
