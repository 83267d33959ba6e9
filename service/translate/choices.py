"""Choices of cable and taps, and what they do: from the studies to the wire."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import UNSET, UnsetType

from service.messages import gauge_recommendation as wire
from service.messages.shown import ShownLength, ShownVoltage
from service.studies.finding import Amount
from service.translate.finding import shown_amount, subject_row
from service.translate.rounding import DECIMALS, rounded
from service.translate.rows import volts, watts

if TYPE_CHECKING:
    from service.studies.assessment import Assessment
    from service.studies.breach import Breach
    from service.studies.candidates import Candidate
    from service.studies.gauge_recommendation import Recommendation
    from service.studies.job import Feeder
    from service.studies.search import Found
    from service.translate.naming import Naming


def outcome_row(assessment: Assessment, naming: Naming) -> wire.Outcome:
    """What a choice does; nothing is shown of one that cannot carry its load."""
    if any(breach.code == "no-operating-point" for breach in assessment.breaches):
        return wire.Outcome(passes=False, breaks=[_broken(breach, naming) for breach in assessment.breaches])
    codes = {breach.code for breach in assessment.breaches}
    return wire.Outcome(
        passes=assessment.passes,
        breaks=[_broken(breach, naming) for breach in assessment.breaches],
        lowest_voltage=_volts(assessment.lowest_v, -1 if "fixture-below-window" in codes else 0),
        highest_voltage=_volts(assessment.highest_v, 1 if "fixture-above-window" in codes else 0),
        drop_percent=UNSET
        if assessment.drop_ratio is None
        else rounded(100.0 * assessment.drop_ratio, DECIMALS["%"], 1 if "drop-over-limit" in codes else 0),
        cable_loss=UNSET if assessment.cable_loss_w is None else watts(assessment.cable_loss_w),
    )


def chosen_rows(recommendation: Recommendation, found: Found, naming: Naming) -> list[wire.ChosenCable]:
    """What was chosen for each cable of the request; spans in a row with the same choice are told as one."""
    rows: list[wire.ChosenCable] = []
    chosen = {
        index: recommendation.compared[choice].candidate
        for slot, choice in zip(recommendation.slots, found.choice, strict=True)
        for index in slot.spans
    }
    length_m = 0.0
    for index, candidate in sorted(chosen.items()):
        span = recommendation.spans[index]
        start, end = naming.points[span.start], naming.points[span.end]
        last = rows[-1] if rows else None
        stock_id = UNSET if candidate.subject.id is None else candidate.subject.id
        name = cable_name(candidate)
        joins = last is not None and (last.pointer, last.conductor, last.stock_id, last.end) == (
            span.cable_at,
            name,
            stock_id,
            start,
        )
        if joins and last is not None:
            start = last.start
            rows.pop()
        length_m = length_m + span.length_m if joins else span.length_m
        shown = ShownLength(naming.length(length_m), naming.length_unit)  # type: ignore[arg-type]
        rows.append(wire.ChosenCable(span.cable_at, start, end, shown, name, stock_id))
    return rows


def cable_name(candidate: Candidate) -> str:
    """Size of a candidate, and its material where that is not copper."""
    material = candidate.conductor.material or "copper"
    return candidate.conductor.name if material == "copper" else f"{candidate.conductor.name} {material}"


def chosen_taps(feeders: tuple[Feeder, ...], found: Found) -> list[wire.ChosenTap] | UnsetType:
    """The tap of each feeder, where the taps were open."""
    if not found.assessment.taps_v:
        return UNSET
    return [
        wire.ChosenTap(feeder.subject.pointer, volts(tap_v))
        for feeder, tap_v in zip(feeders, found.assessment.taps_v, strict=True)
    ]


def _broken(breach: Breach, naming: Naming) -> wire.BrokenLimit:
    if breach.code == "no-operating-point":
        return wire.BrokenLimit(breach.code, subject_row(breach.subject))
    towards = -1 if breach.code == "fixture-below-window" else 1
    return wire.BrokenLimit(
        breach.code,
        subject_row(breach.subject),
        shown_amount(Amount(breach.measured, breach.unit, towards), naming),
        shown_amount(Amount(breach.limit, breach.unit), naming),
    )


def _volts(value: float | None, towards: int) -> ShownVoltage | UnsetType:
    return UNSET if value is None else volts(value, towards)
