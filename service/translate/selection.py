"""The choice of a transformer and the division of the runs: from the studies to the wire."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from msgspec import UNSET, UnsetType

from service import tables
from service.messages import transformer_loading as wire
from service.messages.shown import ShownApparentPower
from service.studies.selection import held_a
from service.translate.catalogue import REJECTIONS
from service.translate.envelope import corner_row
from service.translate.finding import compared_texts, shown_amount, subject_row
from service.translate.rounding import DECIMALS, rounded
from service.translate.rows import amps, supply_state, watts

if TYPE_CHECKING:
    from service.studies.loading import Loaded
    from service.studies.selection import Reason, Recommended, Rejected, RunCurrent, Selection
    from service.translate.naming import Naming

METHODS = {True: "exact", False: "best-found"}


class ChoiceRows(NamedTuple):
    """What is shown of a choice."""

    rejected: list[wire.RejectedTransformer]
    recommended: wire.RecommendedTransformer | UnsetType = UNSET
    division: wire.CircuitDivision | UnsetType = UNSET


def choice_rows(selection: Selection | None, naming: Naming, currency: str | UnsetType) -> ChoiceRows:
    """The recommended transformer, the runs over its circuits, and what each other one lacks."""
    if selection is None:
        return ChoiceRows([])
    rejected = [_rejected(each, naming) for each in selection.rejected]
    chosen = selection.recommended
    if chosen is None:
        return ChoiceRows(rejected)
    return ChoiceRows(rejected, _recommended(chosen, currency), _division(chosen, naming))


def volt_amperes(value: float, towards: int = 0) -> ShownApparentPower:
    """Apparent power for show. [VA]"""
    return ShownApparentPower(rounded(value, DECIMALS["VA"], towards), "VA")


def terminal_row(loaded: Loaded) -> wire.TerminalLoading:
    """What one state asks of the supply; what is left of its rating is never shown as more than it is."""
    shown, factor, rating_va = supply_state(loaded.supply), loaded.power_factor, loaded.rating_va
    spare_va = None if rating_va is None else rating_va - loaded.supply.apparent_va
    return wire.TerminalLoading(
        corner_row(loaded.corner),
        shown.real_power,
        shown.apparent_power,
        watts(loaded.cable_loss_w),
        watts(loaded.winding_loss_w),
        shown.taps,
        UNSET if factor is None else round(factor, DECIMALS["1"]),
        UNSET if rating_va is None else volt_amperes(rating_va),
        shown.loading_ratio,
        UNSET if spare_va is None else volt_amperes(spare_va, -1),
        UNSET if spare_va is None or not rating_va else rounded(spare_va / rating_va, 5, -1),
    )


def _recommended(chosen: Recommended, currency: str | UnsetType) -> wire.RecommendedTransformer:
    unit = chosen.unit
    return wire.RecommendedTransformer(
        volt_amperes(unit.rating_va),
        terminal_row(chosen.worst),
        unit.subject.pointer or UNSET,
        unit.subject.id or UNSET,
        unit.name or UNSET,
        UNSET if unit.price is None else format(unit.price, "f"),
        UNSET if unit.price is None else currency,
    )


def _rejected(rejected: Rejected, naming: Naming) -> wire.RejectedTransformer:
    unit = rejected.unit
    return wire.RejectedTransformer(
        volt_amperes(unit.rating_va),
        [_reason(reason, naming) for reason in rejected.reasons],
        unit.subject.pointer or UNSET,
        unit.subject.id or UNSET,
        unit.name or UNSET,
    )


def _reason(reason: Reason, naming: Naming) -> wire.RejectionReason:
    measured, limit, subject = reason.measured, reason.limit, reason.subject
    words = compared_texts(measured, limit, naming)
    where = "" if subject is None else naming.subject(subject)
    return wire.RejectionReason(
        reason.code,
        REJECTIONS[reason.code].format(where=where, **words),
        UNSET if measured is None else shown_amount(measured, naming),
        UNSET if limit is None else shown_amount(limit, naming),
        UNSET if subject is None else subject_row(subject),
    )


def _division(chosen: Recommended, naming: Naming) -> wire.CircuitDivision:
    """Each circuit with its runs; the share of the fullest decides whether the 80 % are kept."""
    division, limits_a = chosen.division, chosen.unit.limits_a()
    held = held_a(chosen.runs, division, len(limits_a))
    rows = [
        wire.DividedCircuit(
            name,
            amps(limits_a[circuit]),
            amps(held[circuit]),
            round(held[circuit] / limits_a[circuit], 5),
            [
                _divided_run(run, naming)
                for run, where in zip(chosen.runs, division.circuit_of, strict=True)
                if where == circuit
            ],
        )
        for circuit, name in enumerate(chosen.unit.circuit_names())
    ]
    over = division.largest_ratio > tables.constant("continuous_load_ratio").value
    return wire.CircuitDivision(
        rows, rounded(division.largest_ratio, 5, int(over)), not over, METHODS[division.exact]
    )


def _divided_run(run: RunCurrent, naming: Naming) -> wire.DividedRun:
    subject = run.subject
    return wire.DividedRun(
        subject.pointer,
        naming.run(subject),
        amps(run.current_a),
        UNSET if subject.id is None else subject.id,
    )
