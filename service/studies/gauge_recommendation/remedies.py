"""What would help where no cable of the stock does: each remedy is solved, none is a rule of thumb."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import suppress
from typing import NamedTuple

from service import tables
from service.circuit.job import (
    FixtureSpec,
    Graph,
    Job,
    JobPart,
    JobTooLargeError,
    Listed,
    ReturnLegSpec,
    RunSpec,
    Supply,
    VoltageWindow,
)
from service.circuit.runs import farthest_point, place_fixtures
from service.circuit.work import Budget, WorkOverLimitError
from service.studies.gauge_recommendation.assessment import Assessment, Assessor, slots_of, with_taps
from service.studies.gauge_recommendation.candidates import Candidate

PERCENT = 100
"""The share of the load that passes is sought in whole per cent."""


class Remedy(NamedTuple):
    """One remedy and what it does, the stock's thickest cable in every open place unless it says another.

    `parameter` is what it depends on: a tap, a conductor, a share of the load.
    """

    code: str
    subject: JobPart
    assessment: Assessment
    parameter: str = ""


class Remedies:
    """Tries remedies on one job.

    Parameters
    ----------
    job : Job
        For which no choice passes.
    open_cables : frozenset of str
        Pointers to the cables that may be chosen; the others stay.
    thickest : Candidate
        The cable of the stock with the least resistance.
    offered_taps_v : tuple of float
        Taps among which each feeder may choose, lowest first; empty where they stay as they are. [V]
    budget : Budget
        Work that may be spent.
    accepted : frozenset of str
        Codes of warnings with which a choice passes all the same.
    """

    def __init__(  # noqa: PLR0913  what a question and its search know, one caller
        self,
        job: Job,
        open_cables: frozenset[str],
        thickest: Candidate,
        offered_taps_v: tuple[float, ...],
        budget: Budget,
        *,
        accepted: frozenset[str],
    ) -> None:
        self._accepted = accepted
        self._job, self._open_cables, self._thickest = job, open_cables, thickest
        self._offered_taps_v, self._budget = offered_taps_v, budget

    def solved(self) -> list[Remedy]:
        """Every remedy that applies: those that help first, each group in order of how little it asks for."""
        found: list[Remedy] = []
        for tried in (self._higher_tap, self._thicker, self._relaid, self._doubled, self._fewer_watts):
            # What there is no work left for is left out.
            with suppress(WorkOverLimitError):
                found.extend(tried())
        return sorted(found, key=lambda remedy: not remedy.assessment.passes)

    def for_spools(self, piece: JobPart) -> list[Remedy]:
        """What helps where a piece is longer than any spool; the cable stays, and what it does."""
        with suppress(WorkOverLimitError):
            assessment = self._assess(self._job)
            return [Remedy(code, piece, assessment) for code in ("allow-joints", "longer-spool")]
        return []

    def _assess(
        self, job: Job, candidate: Candidate | None = None, taps_v: tuple[float, ...] | None = None
    ) -> Assessment:
        """One cable in every open place of a job."""
        offered_v = self._offered_taps_v if taps_v is None else taps_v
        assessor = Assessor(job, (candidate or self._thickest,), self._budget, offered_v, self._accepted)
        assessor.slots = slots_of(assessor.layout_spans, self._open_cables, "one")
        return assessor.assess((0,) * len(assessor.slots))

    def _higher_tap(self) -> Iterator[Remedy]:
        """The lowest higher tap that helps all feeders below it, or else the highest there is."""
        supply, feeders = self._job.supply, self._job.feeders()
        used_v = [supply.rated_v if feeder.tap_v is None else feeder.tap_v for feeder in feeders]
        higher = sorted(tap_v for tap_v in supply.taps_v if used_v and tap_v > min(used_v))
        if supply.direct_current or self._offered_taps_v:
            return
        last: Remedy | None = None
        for tap_v in higher:
            raised = with_taps(self._job, tuple(max(tap_v, own_v) for own_v in used_v))
            last = Remedy("tap-up", supply.subject, self._assess(raised), f"{tap_v:g} V")
            if last.assessment.passes:
                break
        if last is not None:
            yield last

    def _thicker(self) -> Iterator[Remedy]:
        """The next thicker conductor of the tables that helps, or else the thickest there is."""
        own = self._thickest.conductor
        metric = own.name.endswith("mm2")
        names = [name for name in tables.CONDUCTOR_NAMES if name.endswith("mm2") == metric]
        last: Remedy | None = None
        for name in names[names.index(own.name) + 1 :]:
            candidate = Candidate(self._thickest.subject, Listed(name, own.material, own.stranding))
            last = Remedy("thicker", self._thickest.subject, self._assess(self._job, candidate), name)
            if last.assessment.passes:
                break
        if last is not None:
            yield last

    def _relaid(self) -> Iterator[Remedy]:
        """Other layouts of the run that reaches farthest, those left out that one request cannot hold."""
        runs = self._job.wiring
        if isinstance(runs, Graph) or not runs:
            return
        longest = max(runs, key=lambda run: farthest_point(run, place_fixtures(run)))
        for code, relay in LAYOUTS:
            new = relay(longest)
            if new is not None:
                with suppress(JobTooLargeError):
                    yield Remedy(code, longest.subject, self._assess_runs(runs, longest, new))

    def _assess_runs(self, runs: tuple[RunSpec, ...], old: RunSpec, new: tuple[RunSpec, ...]) -> Assessment:
        """The job with some runs in the place of one."""
        others = tuple(run for run in runs if run is not old)
        return self._assess(self._job._replace(wiring=(*new, *others)))

    def _doubled(self) -> Iterator[Remedy]:
        """The same watts at twice the voltage."""
        doubled = at_twice_the_voltage(self._job)
        if doubled is not None:
            taps_v = tuple(RATIO_24_OVER_12 * tap_v for tap_v in self._offered_taps_v)
            assessment = self._assess(doubled, taps_v=taps_v)
            yield Remedy("twice-the-voltage", self._job.supply.subject, assessment, "24 V")

    def _fewer_watts(self) -> Iterator[Remedy]:
        """The largest share of every load, in whole per cent, with which the thickest cable passes."""
        low, high, best = 0, PERCENT, None
        while high - low > 1:
            middle = (low + high) // 2
            assessment = self._assess(with_share_of_load(self._job, middle / PERCENT))
            if assessment.passes:
                low, best = middle, assessment
            else:
                high = middle
        if best is not None:
            yield Remedy("fewer-watts", self._job.subject, best, f"{low} %")


def _alone(run: RunSpec | None) -> tuple[RunSpec, ...] | None:
    return None if run is None else (run,)


RATIO_24_OVER_12 = 2.0


MOST_AC_V, MOST_DC_V = 30.0, 60.0
"""Low voltage in the wet ends here; no remedy goes beyond. [V]"""


def split_in_two(run: RunSpec) -> tuple[RunSpec, RunSpec] | None:
    """A run as two along the same route: the nearer half of its places and the farther half."""
    lines = _one_by_one(run)
    if run.branches or len(lines) < 2:  # noqa: PLR2004  two places make two runs
        return None
    half = len(lines) // 2
    near = run._replace(fixtures=tuple(lines[:half]), tail_m=0.0, return_leg=None)
    return near, run._replace(fixtures=tuple(lines[half:]), return_leg=None)


LAYOUTS: tuple[tuple[str, Callable[[RunSpec], tuple[RunSpec, ...] | None]], ...] = (
    ("split-the-run", split_in_two),
    ("feed-from-the-middle", lambda run: _alone(fed_from_the_middle(run))),
    ("close-the-loop", lambda run: _alone(closed_to_a_loop(run))),
)
"""Other layouts of the run that reaches farthest."""


def fed_from_the_middle(run: RunSpec) -> RunSpec | None:
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


def closed_to_a_loop(run: RunSpec) -> RunSpec | None:
    """A run whose farthest point is brought back to the supply by as much cable again."""
    if run.return_leg is not None:
        return None
    farthest_m = farthest_point(run, place_fixtures(run))
    leg = ReturnLegSpec(run.subject, farthest_m, run.cable, as_run=True)
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


def _shared_run(run: RunSpec, share: float) -> RunSpec:
    lines = tuple(_shared(line, share) for line in run.fixtures)
    return run._replace(fixtures=lines, branches=tuple(_shared_run(branch, share) for branch in run.branches))


def _shared(line: FixtureSpec, share: float) -> FixtureSpec:
    return line._replace(load=line.load.scaled(share))


def _doubled(run: RunSpec) -> RunSpec:
    """A run on twice the voltage: every load draws the same watts at twice the volts."""
    lines = tuple(
        line._replace(load=line.load.referred(1.0 / RATIO_24_OVER_12), window=_doubled_window(line.window))
        for line in run.fixtures
    )
    tap_v = None if run.tap_v is None else run.tap_v * RATIO_24_OVER_12
    return run._replace(
        fixtures=lines, tap_v=tap_v, branches=tuple(_doubled(branch) for branch in run.branches)
    )


def _doubled_window(window: VoltageWindow | None) -> VoltageWindow | None:
    return None if window is None else type(window)(*(bound * RATIO_24_OVER_12 for bound in window))


def _one_by_one(run: RunSpec) -> list[FixtureSpec]:
    """Every place of a run as a line of its own, nearest first."""
    lines = []
    for stand in place_fixtures(run):
        pieces = stand.line.pieces if stand.line.spacing_m is None else 1
        subject = stand.line.subject._replace(number=stand.number)
        line = stand.line._replace(subject=subject, at_m=stand.at_m, pieces=pieces, spacing_m=None)
        lines.append(line)
    return sorted(lines, key=lambda line: line.at_m)
