"""What a commissioning sheet is asked for, and the mains for which it gives values."""

from __future__ import annotations

from typing import NamedTuple

from service import tables
from service.circuit.job import Job, Supply
from service.circuit.work import MAXIMUM_REQUEST_WORK
from service.estimation.job import MeterSpec, PriorSpec
from service.estimation.measurements import BETWEEN_V, USUAL_RATED_V


class CommissioningJob(NamedTuple):
    """A job, the meter with which it will be read, and how well the wiring is known.

    `mains_v` are those for which values are wanted, None: steps through a range, empty: as the job says [V];
    `every`: every fixture, not the key ones alone.
    """

    job: Job
    instrument: MeterSpec
    priors: PriorSpec
    mains_v: tuple[float, ...] | None
    every: bool


AT_MAINS, AS_DESCRIBED = "at-mains", "as-described"


BATTERY = ("battery-lowest", "battery-nominal", "battery-highest")


STEPS = (5, 3)
"""Columns where nobody asked for any: as many as may be afforded, else one."""


SPENT_OF_STEPS = 0.8
"""Share of the work of one request that those columns may take. [-]"""


RANGE = "outlet"
"""Where nobody says within what the mains may be."""


SHOWN_DIGITS = 1
"""Steps are given to a tenth of a volt, as a meter shows mains. [V]"""


class MainsStep(NamedTuple):
    """A state behind the supply: its mains [V], or of a battery its volts over the nominal ones. [-]"""

    code: str
    mains_v: float | None = None
    battery_ratio: float = 1.0


def columns_of(asked: CommissioningJob, *, work: int) -> list[MainsStep]:
    """The columns, each once, in the order in which they were asked for; one is about so much `work`."""
    supply = asked.job.supply
    if supply.range_v is not None:
        volts = min(supply.range_v), supply.rated_v, max(supply.range_v)
        return [
            MainsStep(code, None, each / supply.rated_v) for code, each in zip(BATTERY, volts, strict=True)
        ]
    mains_v = mains_steps(asked, work=work) if asked.mains_v is None else asked.mains_v
    if not follows_mains(supply) or not mains_v:
        return [MainsStep(AS_DESCRIBED)]
    return [MainsStep(AT_MAINS, each) for each in dict.fromkeys(mains_v)]


def follows_mains(supply: Supply) -> bool:
    """Whether the volts at other mains can be told: not where they were measured and the mains were not."""
    if supply.direct_current:
        return False
    measured = supply.open_circuit
    return measured is None or measured.at_primary_v is not None or supply.mains is not None


def mains_steps(asked: CommissioningJob, *, work: int) -> tuple[float, ...]:
    """Even steps through the mains that the request names, else through the usual range. [V]"""
    rated_v, corners = rated_primary_v(asked.job.supply), asked.job.corners
    if corners is not None and corners.mains_ratios is not None:
        lowest, highest = corners.mains_ratios
    else:
        lowest, highest = tables.mains_range(RANGE).lowest_ratio, tables.mains_range(RANGE).highest_ratio
    room = SPENT_OF_STEPS * MAXIMUM_REQUEST_WORK
    steps = next((steps for steps in STEPS if steps * work <= room), 1)
    parts = [place / (steps - 1) for place in range(steps)] if steps > 1 else [0.5]
    return tuple(round(rated_v * (lowest + (highest - lowest) * part), SHOWN_DIGITS) for part in parts)


def steps_assumed(asked: CommissioningJob) -> bool:
    """Whether the mains of the columns are nobody's but ours."""
    corners = asked.job.corners
    said = corners is not None and corners.mains_ratios is not None
    return asked.mains_v is None and not said and follows_mains(asked.job.supply)


def rated_primary_v(supply: Supply) -> float:
    """Rated mains as said, else 120 V or 230 V, by what was measured if anything was. [V]"""
    if supply.mains is not None:
        return supply.mains.rated_v
    measured = supply.open_circuit
    at_v = None if measured is None else measured.at_primary_v
    return USUAL_RATED_V[at_v is not None and at_v > BETWEEN_V]
