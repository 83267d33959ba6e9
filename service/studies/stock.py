"""Transformers that may be chosen: the caller's stock, or the ratings in which they are usually sold."""

from __future__ import annotations

from math import ceil
from typing import TYPE_CHECKING, NamedTuple

from service import tables
from service.studies.job import CircuitSpec, Subject, Supply, WindingPlate

if TYPE_CHECKING:
    from decimal import Decimal

    from service.studies.job import Job


MOST_CIRCUITS = 50
"""Circuits of one transformer."""


class Unit(NamedTuple):
    """One transformer that may be chosen.

    Parameters
    ----------
    subject : Subject
        Where it stands in the request; the caller's id names it.
    rating_va : float
        [VA]
    taps_v : tuple of float
        Voltages that it offers. [V]
    regulation_ratio : float or None
        Referred to full load; None where it is not said, and then its voltage does not sag. [-]
    circuits : tuple of CircuitSpec
        Empty where they are not said, and then there is one.
    minimum_load_w : float or None
        [W]
    price : Decimal or None
        [currency]
    """

    subject: Subject
    name: str | None
    rating_va: float
    taps_v: tuple[float, ...]
    regulation_ratio: float | None = None
    circuits: tuple[CircuitSpec, ...] = ()
    minimum_load_w: float | None = None
    price: Decimal | None = None

    @property
    def sag(self) -> tuple[float, float]:
        """What decides how its voltage follows the load: units alike in this solve alike. [-], [VA]"""
        return (self.regulation_ratio, self.rating_va) if self.regulation_ratio else (0.0, 0.0)

    def limits_a(self) -> tuple[float, ...]:
        """Limit of each circuit. [A]"""
        default_a = tables.constant("secondary_circuit_limit").value
        stated = (circuit.limit_a for circuit in self.circuits)
        return tuple(default_a if limit_a is None else limit_a for limit_a in stated) or (default_a,)

    def circuit_names(self) -> tuple[str, ...]:
        """Name of each circuit."""
        return tuple(circuit.name for circuit in self.circuits) or ("1",)


class Question(NamedTuple):
    """A job, and how its transformer is to be chosen.

    Parameters
    ----------
    job : Job
    spare_ratio : float or None
        To be left above the connected apparent power; None where it was left open. [-]
    maximum_ratio : float or None
        Largest share of its rating that a unit may be loaded to; None for all of it. [-]
    stock : tuple of Unit
        Empty for the usual ratings.
    currency : str or None
        Of every price.
    """

    job: Job
    spare_ratio: float | None = None
    maximum_ratio: float | None = None
    stock: tuple[Unit, ...] = ()
    currency: str | None = None

    @property
    def spare(self) -> float:
        """The spare as asked, else what is common practice. [-]"""
        if self.spare_ratio is None:
            return tables.constant("spare_capacity_ratio").value
        return self.spare_ratio


def usual_units(taps_v: tuple[float, ...]) -> tuple[Unit, ...]:
    """The usual ratings, each with the taps in use [V] and as many circuits as fill it at the lowest.

    No box has more of them than a request may state; below 1 V even the largest would need thousands.
    """
    limit_a = tables.constant("secondary_circuit_limit").value
    lowest_v = min(taps_v)
    units = []
    for usual in tables.usual_ratings():
        count = min(ceil(usual.rating_va / (limit_a * lowest_v)), MOST_CIRCUITS)
        circuits = tuple(CircuitSpec(Subject(""), str(number), limit_a) for number in range(1, count + 1))
        units.append(Unit(Subject(""), None, usual.rating_va, taps_v, circuits=circuits))
    return tuple(units)


def used_taps(job: Job) -> tuple[float, ...]:
    """Taps that something hangs on, in the order of the request. [V]"""
    rated_v = job.supply.rated_v
    return tuple(
        dict.fromkeys(rated_v if feeder.tap_v is None else feeder.tap_v for feeder in job.feeders())
    ) or (rated_v,)


def with_unit(job: Job, unit: Unit) -> Job:
    """The job fed by another transformer; the mains stay, what belongs to the old box goes."""
    supply = Supply(
        subject=unit.subject,
        kind=job.supply.kind,
        rated_v=job.supply.rated_v,
        winding=WindingPlate(unit.rating_va, unit.regulation_ratio or 0.0),
        mains=job.supply.mains,
        taps_v=unit.taps_v,
        minimum_load_w=unit.minimum_load_w,
    )
    return job._replace(supply=supply)
