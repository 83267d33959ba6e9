"""The same fixtures on other layouts of cable, for remedies."""

from __future__ import annotations

from typing import TYPE_CHECKING

from service.studies.job import Graph, ReturnLeg
from service.studies.stations import farthest_point, place_fixtures

if TYPE_CHECKING:
    from service.studies.job import FixtureLine, Job, Run, Supply, Window

RATIO_24_OVER_12 = 2.0

MOST_AC_V, MOST_DC_V = 30.0, 60.0
"""Low voltage in the wet ends here; no remedy goes beyond. [V]"""


def split_in_two(run: Run) -> tuple[Run, Run] | None:
    """A run as two along the same route: the nearer half of its places and the farther half."""
    lines = _one_by_one(run)
    if run.branches or len(lines) < 2:  # noqa: PLR2004  two places make two runs
        return None
    half = len(lines) // 2
    near = run._replace(fixtures=tuple(lines[:half]), tail_m=0.0, return_leg=None)
    return near, run._replace(fixtures=tuple(lines[half:]), return_leg=None)


def fed_from_the_middle(run: Run) -> Run | None:
    """A run whose cable first goes to the middle of its places, and from there to either side.

    What is added keeps the run's subject: nothing else in the request could be pointed at.
    """
    lines = _one_by_one(run)
    if run.branches or len(lines) < 2:  # noqa: PLR2004  one place has no middle
        return None
    first_m, last_m = lines[0].at_m, lines[-1].at_m
    middle_m = 0.5 * (first_m + last_m)
    back = tuple(line._replace(at_m=middle_m - line.at_m) for line in lines if line.at_m <= middle_m)
    onward = tuple(line for line in lines if line.at_m > middle_m)
    branch = run._replace(
        name=None,
        at_m=middle_m,
        changes=(),
        tail_m=0.0,
        return_leg=None,
        fixtures=back,
    )
    return run._replace(fixtures=onward, branches=(branch,), return_leg=None)


def closed_to_a_loop(run: Run) -> Run | None:
    """A run whose farthest point is brought back to the supply by as much cable again."""
    if run.return_leg is not None:
        return None
    farthest_m = farthest_point(run, place_fixtures(run))
    leg = ReturnLeg(run.subject, farthest_m, run.cable, as_run=True)
    return run._replace(return_leg=leg) if farthest_m > 0.0 else None


def at_twice_the_voltage(job: Job) -> Job | None:
    """The same watts on a 24 V supply with 24 V fixtures; only for 12 V fixtures in runs, at low voltage."""
    if job.nominal_v not in {None, 12.0} or isinstance(job.wiring, Graph):
        return None
    most_v = MOST_DC_V if job.supply.direct_current else MOST_AC_V
    used_v = [job.supply.rated_v, *(run.tap_v for run in job.wiring if run.tap_v is not None)]
    if RATIO_24_OVER_12 * max(used_v) > most_v:
        return None
    runs = tuple(_doubled(run) for run in job.wiring)
    return job._replace(supply=_doubled_supply(job.supply), wiring=runs, nominal_v=24.0)


def _doubled_supply(supply: Supply) -> Supply:
    """A supply of twice the voltage that sags by as many per cent with the same watts."""
    measured, volts = supply.open_circuit, supply.range_v
    return supply._replace(
        rated_v=supply.rated_v * RATIO_24_OVER_12,
        taps_v=tuple(tap_v * RATIO_24_OVER_12 for tap_v in supply.taps_v),
        open_circuit=measured and measured._replace(voltage_v=measured.voltage_v * RATIO_24_OVER_12),
        internal_ohm=supply.internal_ohm and supply.internal_ohm * RATIO_24_OVER_12**2,
        range_v=volts and (volts[0] * RATIO_24_OVER_12, volts[1] * RATIO_24_OVER_12),
        standing_v=supply.standing_v and supply.standing_v * RATIO_24_OVER_12,
    )


def with_share_of_load(job: Job, share: float) -> Job:
    """Every load at a share of what it is. [-]"""
    if isinstance(job.wiring, Graph):
        fixtures = tuple(
            fixture._replace(line=_shared(fixture.line, share)) for fixture in job.wiring.fixtures
        )
        return job._replace(wiring=job.wiring._replace(fixtures=fixtures))
    return job._replace(wiring=tuple(_shared_run(run, share) for run in job.wiring))


def _shared_run(run: Run, share: float) -> Run:
    lines = tuple(_shared(line, share) for line in run.fixtures)
    return run._replace(fixtures=lines, branches=tuple(_shared_run(branch, share) for branch in run.branches))


def _shared(line: FixtureLine, share: float) -> FixtureLine:
    return line._replace(load=line.load.scaled(share))


def _doubled(run: Run) -> Run:
    """A run on twice the voltage: every load draws the same watts at twice the volts."""
    lines = tuple(
        line._replace(load=line.load.referred(1.0 / RATIO_24_OVER_12), window=_doubled_window(line.window))
        for line in run.fixtures
    )
    tap_v = None if run.tap_v is None else run.tap_v * RATIO_24_OVER_12
    return run._replace(
        fixtures=lines, tap_v=tap_v, branches=tuple(_doubled(branch) for branch in run.branches)
    )


def _doubled_window(window: Window | None) -> Window | None:
    return None if window is None else type(window)(*(bound * RATIO_24_OVER_12 for bound in window))


def _one_by_one(run: Run) -> list[FixtureLine]:
    """Every place of a run as a line of its own, nearest first."""
    lines = []
    for stand in place_fixtures(run):
        pieces = stand.line.pieces if stand.line.spacing_m is None else 1
        subject = stand.line.subject._replace(number=stand.number)
        line = stand.line._replace(subject=subject, at_m=stand.at_m, pieces=pieces, spacing_m=None)
        lines.append(line)
    return sorted(lines, key=lambda line: line.at_m)
