"""What the choice of a transformer comes to where no choice is left."""

from __future__ import annotations

from typing import TYPE_CHECKING

from service import tables
from service.studies.finding import FAULT, NOTE, Amount, Finding
from service.studies.job import Subject
from service.studies.selection import CIRCUIT_REASONS

if TYPE_CHECKING:
    from service.studies.selection import Reason, Rejected, Selection
    from service.studies.stock import Unit


def selection_findings(selection: Selection, units: tuple[Unit, ...], *, wanted_va: float) -> list[Finding]:
    """What stands in the way where no unit is recommended. [VA]"""
    if selection.recommended is not None:
        return []
    largest_va = max(unit.rating_va for unit in units)
    # Stock has a place in the request; the usual ratings do not, and then it is about the supply.
    subject = Subject("/stock" if units[0].subject.pointer else "/supply")
    wanted, largest = Amount(wanted_va, "VA", 1), Amount(largest_va, "VA")
    source = "caller" if units[0].subject.pointer else tables.usual_ratings()[-1].source
    none_fits = Finding("no-transformer-fits", FAULT, subject, source, measured=wanted, limit=largest)
    return [none_fits, *_division_findings(selection.rejected)]


def _division_findings(rejected: tuple[Rejected, ...]) -> list[Finding]:
    """The run that does not fit on the circuits of the largest unit that lacks nothing but circuits."""
    short = [each for each in rejected if {reason.code for reason in each.reasons} <= CIRCUIT_REASONS]
    if not short:
        return []
    nearest = max(short, key=lambda each: each.unit.rating_va)
    reason = nearest.reasons[0]
    return [
        Finding(
            "division-impossible",
            FAULT,
            reason.subject or nearest.unit.subject,
            _limit_source(nearest.unit, reason),
            measured=reason.measured,
            limit=reason.limit,
        )
    ]


def _limit_source(unit: Unit, reason: Reason) -> str:
    """Where the limit of a circuit comes from: the caller, or the one taken for a circuit without any."""
    limit_a = reason.limit.value if reason.limit else 0.0
    stated = bool(unit.subject.pointer) and limit_a in {circuit.limit_a for circuit in unit.circuits}
    return "caller" if stated else tables.constant("secondary_circuit_limit").source


def direct_current_finding(subject: Subject) -> Finding:
    """A job on direct current, for which no transformer can be recommended."""
    return Finding("no-transformer-on-direct-current", NOTE, subject, "own-calculation")
