"""The longest run for a load, the largest load for a run, the most fixtures at a spacing.

Small values may fail as well as large ones, so that a range is sought. What rules a value out is what a
voltage drop shows of it. Each estimate follows the charges of its study, with as many points as the wiring
may need at most. What a state takes beyond the usual because it is near its limit is not foreseen.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from itertools import pairwise
from typing import Final, NamedTuple

from service.circuit.corners import LOWEST, TOGETHER, Corner, corners_of
from service.circuit.envelope import Extreme, envelope_of
from service.circuit.estimate import (
    Estimate,
    Size,
    answer_work,
    corner_work,
    drop_work,
    estimate_of,
    findings_work,
    refuse_over_limit,
)
from service.circuit.growth import certain_growth
from service.circuit.job import JobTooLargeError
from service.circuit.reading import EndResult, built, read_off
from service.circuit.runs import LUMPS
from service.circuit.state import Connected
from service.circuit.work import MAXIMUM_WORK, work_of, work_of_judging
from service.findings.finding import (
    CABLE_CURRENT,
    CIRCUIT_CURRENT,
    HIGH_VOLTAGE,
    LEAST_LOAD,
    VOLT_AMPERES,
    WATTS,
    FindingFacts,
    FindingKind,
    Limited,
)
from service.findings.judge import corner_findings, judged
from service.findings.limits import excess, range_finding, unaccepted
from service.findings.voltage import FIXTURE_ABOVE_WINDOW, NO_OPERATING_POINT, growth_findings
from service.studies.reach.trial import (
    DECADES,
    DIGITS,
    EVENLY_SPREAD,
    LAST_RUNG,
    LUMPED,
    MOST_FIXTURES,
    PER_DECADE,
    LengthSearch,
    LoadSearch,
    ReachJob,
    Spaced,
    Trial,
    job_of,
    trial_of,
)
from service.studies.voltage_drop.study import (
    DropAnswer,
    closer,
    end_of,
    voltage_drop,
)


def reach_work(reach_job: ReachJob) -> Estimate:
    """Of a reach: every run that is scanned and one edge; then the other edge, and all as stated."""
    places = scanned(reach_job)
    steps = max(far - near for near, far in pairwise(places)).bit_length()
    points = _trial_points(reach_job, 1.0)
    scanning = [_trial_points(reach_job, (at + 1) / (reach_job.last + 1)) for at in places]
    scan, edge = (
        sum(_trial_work(reach_job, each) for each in tried) for tried in (scanning, [points] * steps)
    )
    light = sum(_light_work(reach_job, each) for each in (*scanning, *[points] * 3 * steps))
    size = _size(points)
    told = 2 * drop_work(reach_job.job, size)
    coarse = 2 * (work_of(LUMPS) + answer_work(LUMPS)) if reach_job.gapless else 0
    found = (len(places) + 3 * steps) * findings_work(reach_job.job, size)
    shifted = reach_job.line.load.non_active_var or reach_job.line.load.non_active_a
    turned = bool(shifted) and not reach_job.job.all_in_phase
    optional = 2 * edge + told + coarse + found + light
    if reach_job.job.usual_range:
        optional += 3 * edge
    if reach_job.counted and sides_of(reach_job).unsure:
        optional += 2 * MAXIMUM_WORK
    # About half of the runs on the way to an edge fail, most of them in the first states that are solved.
    return estimate_of(scan + edge // 2 + told + coarse, (1 + turned) * optional, turned=turned)


def _trial_work(reach_job: ReachJob, points: int) -> int:
    """Work of judging one run in every state, and with a little more load."""
    together = None if reach_job.job.corners is None else reach_job.job.corners._replace(switching=TOGETHER)
    corners = corner_work(reach_job.job._replace(corners=together), _size(points))
    return 2 * work_of(points) + work_of_judging(points) + corners


def _light_work(reach_job: ReachJob, points: int) -> int:
    """Work of judging one run with little on; only runs that keep the limits with all on take it."""
    corners = reach_job.job.corners
    if corners is None or corners.switching == TOGETHER:
        return 0
    return corner_work(reach_job.job, _size(points))


def _size(points: int) -> Size:
    return Size(points, points, points, 0, 1, 1, looped=False, turned=False)


def _trial_points(reach_job: ReachJob, share: float) -> int:
    """The most points of one run that is tried."""
    layout = reach_job.question.layout
    if isinstance(reach_job.question, LoadSearch) and isinstance(layout, Spaced):
        return 2 + _fixtures_along(reach_job)
    if isinstance(layout, Spaced):
        return 2 + int(MOST_FIXTURES * share)
    return LUMPS + 2 if layout == EVENLY_SPREAD else 3


def _fixtures_along(reach_job: ReachJob) -> int:
    """Fixtures along a run whose length was stated; more than are tried are refused elsewhere."""
    try:
        return trial_of(reach_job, 0).pieces or 1
    except JobTooLargeError:
        return MOST_FIXTURES


Broken = Callable[[int], list[FindingFacts]]
"""What rules out each value, by its place in the row of all; empty where it keeps every limit."""


def reach(reach_job: ReachJob) -> ReachAnswer:
    """Answer a question about a run: the values that keep every limit, and what breaks beyond.

    A value keeps the limits where it shows no fault and no warning that was not accepted, in the state that
    was stated and in every corner. Where none holds the usual range, those are sought that hold as stated.

    Raises
    ------
    JobTooLargeError
        A run of the length asked for would have more fixtures than are tried.
    """
    refuse_over_limit(reach_work(reach_job))
    as_stated = cache(lambda index: broken_as_stated(reach_job, index))
    broken, places = _broken(reach_job, as_stated), scanned(reach_job)
    found = _found(reach_job, broken, places)
    if found.kept is not None or not reach_job.job.usual_range:
        return _told(reach_job, found, [])
    stated = reach_job.stated()
    held = _found(stated, _broken(stated, as_stated), places)
    if held.kept is None:
        answer = _told(stated, held, [])._replace(as_stated=True)
        return answer if answer.unloaded is None else answer._replace(unloaded=_unloaded(reach_job))
    # What holds the range holds as stated too, so it is looked for once more where that does.
    if not found.every:
        found = search(broken, sorted({*places, *held.kept}), sides_of(reach_job))
    if found.kept is not None:
        return _told(reach_job, found, [])
    remarks = [range_finding(broken_in_corners(reach_job, held.kept.last))]
    return _told(stated, held, remarks)._replace(as_stated=True)


def _found(reach_job: ReachJob, broken: Broken, places: list[int]) -> ReachFound:
    """What is found; where that is nothing for sure, every number of fixtures is tried, if they are few."""
    found, sides = search(broken, places, sides_of(reach_job)), sides_of(reach_job)
    if found.kept is not None or found.every or not reach_job.counted:
        return found
    points = [_trial_points(reach_job, (at + 1) / MOST_FIXTURES) for at in found.left]
    work = sum(_trial_work(reach_job, each) + _light_work(reach_job, each) for each in points)
    return search(broken, sorted({*places, *found.left}), sides) if work <= MAXIMUM_WORK else found


def _told(reach_job: ReachJob, found: ReachFound, remarks: list[FindingFacts]) -> ReachAnswer:
    """What was found, each of its values solved in full."""
    if found.kept is None:
        nearest = _tried(reach_job, found.nearest)
        # What rules the smallest out as well is what stands in the way.
        always = {each.code for each in _binding_of(reach_job, _tried(reach_job, 0))}
        binding = sorted(_binding_of(reach_job, nearest), key=lambda each: each.code not in always)
        too_high = bool(binding) and binding[0].kind is FIXTURE_ABOVE_WINDOW
        unloaded = _unloaded(reach_job) if too_high else None
        return ReachAnswer(None, nearest, binding, found.every, found.tried, unloaded=unloaded)
    first, last = found.kept
    kept = _tried(reach_job, last)._replace(remarks=remarks)
    beyond = None if last == reach_job.last else _tried(reach_job, last + 1)
    binding = [] if beyond is None else _binding_of(reach_job, beyond)
    answer = ReachAnswer(kept, beyond, binding, found.every, found.tried)
    if first == 0:
        return answer
    below = _tried(reach_job, first - 1)
    return answer._replace(
        first=kept if first == last else _tried(reach_job, first),
        below=below,
        binding_below=tuple(_binding_of(reach_job, below)),
    )


def _unloaded(reach_job: ReachJob) -> Unloaded:
    """What the supply gives without load."""
    job, corners = job_of(reach_job, trial_of(reach_job, 0)), reach_job.job.corners
    stated = built(job)
    given = [
        Extreme(max(each.connected.feed.open_circuit_v), each.corner)
        for each in map(stated.at, corners_of(corners))
    ]
    highest = max(given, key=lambda extreme: extreme.value, default=None)
    return Unloaded(max(stated.connected.feed.open_circuit_v), highest)


def _binding_of(reach_job: ReachJob, tried: Tried) -> list[FindingFacts]:
    """Of what rules a run out the finding of each code that is farthest beyond its limit."""
    farthest: dict[str, FindingFacts] = {}
    for finding in unaccepted(tried.answer.findings, reach_job.accepted):
        known = farthest.get(finding.code)
        if known is None or excess(finding) > excess(known):
            farthest[finding.code] = finding
    return list(farthest.values())


def _broken(reach_job: ReachJob, as_stated: Broken) -> Broken:
    """What rules out each value, in the stated state or else in the corners; each worked out once."""
    return cache(
        lambda index: (
            as_stated(index) or _broken_with_all_on(reach_job, index) or _broken_by_light(reach_job, index)
        )
    )


def broken_as_stated(reach_job: ReachJob, index: int) -> list[FindingFacts]:
    """What rules a run out in the stated state."""
    trial = built(job_of(reach_job, trial_of(reach_job, index)))
    state = trial.solved()
    if state is None:
        return [_collapse(trial.connected)]
    found = unaccepted(judged(read_off(state)), reach_job.accepted)
    if found:
        return found
    growth = growth_findings(state, certain=certain_growth(state.network))
    return unaccepted(growth, reach_job.accepted)


def _broken_with_all_on(reach_job: ReachJob, index: int) -> list[FindingFacts]:
    """What rules a run out in the first corner that does so with all on; first those at which most break."""
    if reach_job.job.corners is None:
        return []
    job = job_of(reach_job, trial_of(reach_job, index))
    for trial in map(built(job).at, sorted(corners_of(reach_job.job.corners), key=_is_mild)):
        reading = trial.read()
        found = [_collapse(trial.connected)] if reading is None else judged(reading)
        ruled_out = unaccepted(found, reach_job.accepted)
        if ruled_out:
            return ruled_out
    return []


def _is_mild(corner: Corner) -> bool:
    """Whether a corner is neither that of the fewest volts, low and hot, nor that of the most."""
    return (LOWEST in {corner.mains, corner.battery}) == (corner.temperature == "cold")


def _broken_by_light(reach_job: ReachJob, index: int) -> list[FindingFacts]:
    """What rules a run out with little on, where the request asks for that."""
    corners = reach_job.job.corners
    return [] if corners is None or corners.switching == TOGETHER else broken_in_corners(reach_job, index)


def _collapse(connected: Connected) -> FindingFacts:
    return NO_OPERATING_POINT.found(connected.job.supply.subject, "own-calculation")


def broken_in_corners(reach_job: ReachJob, index: int) -> list[FindingFacts]:
    """What rules a run out in the corners that it must stand, if there are any."""
    if reach_job.job.corners is None:
        return []
    envelope = envelope_of(built(job_of(reach_job, trial_of(reach_job, index))), reach_job.job.corners)
    return unaccepted(corner_findings(envelope), reach_job.accepted)


class Stretch(NamedTuple):
    """The first and the last place of values that keep every limit."""

    first: int
    last: int


CURRENTS: Final = frozenset({VOLT_AMPERES, WATTS, CIRCUIT_CURRENT, CABLE_CURRENT})
"""What the current of a run breaks, or the power drawn with it."""


class Sides(NamedTuple):
    """What else a broken limit rules out, by what is limited.

    A value that breaks one of `small` is too small, and so is every smaller one. From one of `unsure` nothing
    follows. Whatever breaks another is too large, and so is every larger one. A limit that every value breaks
    may stand on either side.
    """

    small: frozenset[Limited]
    unsure: frozenset[Limited] = frozenset()

    def too_large(self, broken: frozenset[FindingKind]) -> bool:
        """Whether values larger than one that breaks these limits are ruled out too."""
        return any(kind.limited not in self.small | self.unsure for kind in broken)

    def too_small(self, broken: frozenset[FindingKind]) -> bool:
        """Whether smaller ones are, and nothing is said of larger ones."""
        return any(kind.limited in self.small for kind in broken) and not self.too_large(broken)


def sides_of(reach_job: ReachJob) -> Sides:
    """On which side of the values that hold each limit lies.

    More watts and more fixtures lower every voltage and raise the current of the cable and of the winding. So
    does a longer cable where loads draw no less at a lower voltage. Where they do (resistance, filament) its
    current falls, and with it the power, so that what they draw too much of is too short a run; the winding
    then gives more, which lifts the first of several fixtures. A load of both kinds may draw least anywhere.
    """
    rising = Sides(frozenset({HIGH_VOLTAGE, LEAST_LOAD}))
    if not isinstance(reach_job.question, LengthSearch):
        return rising
    load, corners = reach_job.line.load, reach_job.job.corners
    lessening = bool(load.conductance_s or load.filament_a)
    steady = bool(load.power_w or load.non_active_var)
    # A fixture that is on alone has its share of the load, and more fixtures have smaller shares.
    shared = reach_job.counted and corners is not None and corners.switching != TOGETHER
    if not lessening:
        return Sides(frozenset({LEAST_LOAD}), frozenset({HIGH_VOLTAGE})) if shared else rising
    supply = reach_job.job.supply
    falls = reach_job.question.layout == LUMPED or (
        reach_job.gapless and supply.winding is None and supply.internal_ohm is None
    )
    above = frozenset({HIGH_VOLTAGE})
    if steady:
        unsure = CURRENTS | {LEAST_LOAD}
        return Sides(above, unsure) if falls else Sides(frozenset(), unsure | above)
    if falls:
        return Sides(CURRENTS | above)
    return Sides(CURRENTS) if reach_job.counted else Sides(CURRENTS, above)


class ReachFound(NamedTuple):
    """Values that keep every limit, None where none was found; and the place that came nearest to it.

    `every`: no other value keeps every limit, and all in between do; else that is known of the places that
    were tried, `tried` in number. Outside of `left` nothing holds.
    """

    kept: Stretch | None
    nearest: int
    every: bool
    tried: int
    left: range


class _Places:
    """The places that were tried, what rules each of them out, and between which two others may hold."""

    def __init__(self, broken: Broken, sides: Sides, last: int) -> None:
        self._broken, self._sides = broken, sides
        self.tried: dict[int, frozenset[FindingKind]] = {}
        self.low, self.high = -1, last + 1

    def kinds(self, at: int) -> frozenset[FindingKind]:
        """What rules a place out; where that has a side, whatever lies there is ruled out with it."""
        kinds = self.tried[at] = frozenset(finding.kind for finding in self._broken(at))
        if self._sides.too_large(kinds):
            self.high = min(self.high, at)
        elif self._sides.too_small(kinds):
            self.low = max(self.low, at)
        return kinds

    @property
    def left(self) -> range:
        """The places that may hold."""
        return range(self.low + 1, self.high)

    @property
    def held(self) -> list[int]:
        """The places that were tried and hold, rising."""
        return sorted(at for at, kinds in self.tried.items() if not kinds)

    @property
    def failing(self) -> list[int]:
        """The places that do not hold, rising, with the bounds of those that may."""
        return sorted({self.low, self.high, *(at for at, kinds in self.tried.items() if kinds)})

    def scan(self, places: list[int]) -> None:
        """Try the places, rising, that may still hold."""
        for at in places:
            if at in self.left:
                self.kinds(at)

    def halve(self) -> None:
        """Halve what may hold until something does, nothing is left, or a limit of no side is broken."""
        while self.left:
            middle = (self.low + self.high) // 2
            self.kinds(middle)
            if middle in self.left:
                return

    def look_between(self) -> None:
        """Look between two places that fail by unlike limits for one that holds, from the largest down."""
        for low, high in reversed(list(pairwise(self.failing))):
            near, far = low, high
            while far - near > 1 and not self._alike(near, far):
                middle = (near + far) // 2
                kinds = self.kinds(middle)
                if not kinds:
                    return
                too_far = self._sides.too_large(kinds) or self._alike(middle, far)
                near, far = (near, middle) if too_far else (middle, far)

    def _alike(self, one: int, other: int) -> bool:
        """Whether two places fail by the same limit."""
        return bool(self.tried.get(one, frozenset()) & self.tried.get(other, frozenset()))

    def edge(self, holds: int, fails: int) -> int:
        """The place that holds beside one that fails, on the way from the one to the other."""
        while abs(fails - holds) > 1:
            middle = (holds + fails) // 2
            if self.kinds(middle):
                fails = middle
            else:
                holds = middle
        return holds


def search(broken: Broken, places: list[int], sides: Sides) -> ReachFound:
    """Find the values that keep every limit, although small ones may fail as well as large ones.

    The places are tried, those that are not ruled out. Where none holds, halving goes by why a value fails:
    what holds is smaller, or it is larger. Where every limit has a side this finds what holds, however few
    values that are, or shows that none does. From what holds, halving goes up to what fails and down.

    Certain in any case is this: `first` and `last` hold, and the values next to them outside fail. Where a
    limit has no side, values that fail may lie between, and others may hold that were not tried.

    Parameters
    ----------
    broken : callable
    places : list of int
        Rising; the last is the largest that there is.
    sides : Sides
    """
    seek = _Places(broken, sides, places[-1])
    seek.scan(places)
    if not seek.held:
        seek.halve()
    if not seek.held:
        seek.look_between()
    if not seek.held:
        nearest = min(sorted(seek.tried), key=lambda at: max(map(excess, broken(at))))
        every = all(at in seek.tried for at in seek.left)
        return ReachFound(None, nearest, every, len(seek.tried), seek.left)
    held = seek.held
    last = seek.edge(held[-1], min(at for at in seek.failing if at > held[-1]))
    below = max(at for at in seek.failing if at < held[-1])
    first = seek.edge(min(at for at in held if at > below), below)
    every = {first, last} <= set(seek.left) and (
        not sides.unsure or all(at in seek.tried for at in seek.left)
    )
    return ReachFound(Stretch(first, last), last, every, len(seek.tried), seek.left)


def scanned(reach_job: ReachJob) -> list[int]:
    """The places that are tried first: one, two, four ... fixtures, or one and three of each decade."""
    if reach_job.counted:
        doubled = [2**step - 1 for step in range(reach_job.last.bit_length())]
        return [*(at for at in doubled if at < reach_job.last), reach_job.last]
    return [*(decade * PER_DECADE + at for decade in range(DECADES) for at in (0, 2 * DIGITS)), LAST_RUNG]


def _tried(reach_job: ReachJob, index: int) -> Tried:
    """Solve one run in full."""
    trial = trial_of(reach_job, index)
    job = job_of(reach_job, trial)
    answer = voltage_drop(job)
    end = end_of(job, answer)
    if reach_job.gapless:
        coarse = job_of(reach_job, trial_of(reach_job, index, LUMPS // 2))
        end = closer(end, end_of(coarse, voltage_drop(coarse._replace(corners=None))))
    return Tried(trial, answer, end, _lowest(answer), [])


def _lowest(answer: DropAnswer) -> Extreme | None:
    """The lowest voltage of any fixture in any corner, where corners were asked for. [V]"""
    if answer.envelope is None:
        return None
    lows = [extremes.lowest for extremes in answer.envelope.fixtures.values() if extremes.lowest is not None]
    return min(lows, key=lambda extreme: extreme.value, default=None)


class Tried(NamedTuple):
    """One run that was tried, as it was solved."""

    trial: Trial
    answer: DropAnswer
    end: EndResult | None
    lowest: Extreme | None
    remarks: list[FindingFacts]


class Unloaded(NamedTuple):
    """What a supply gives without load, as it is stated, and the most in the corners. [V]"""

    stated_v: float
    highest: Extreme | None


class ReachAnswer(NamedTuple):
    """The largest run that keeps every limit, the next one, and what breaks there; None: there is none.

    `first` is the smallest, where smaller ones fail: `below` is the next, and `binding_below` what breaks
    there. Where nothing is kept `beyond` is the run that came nearest. `every`: that is so of every value,
    else of those that were `tried`. `as_stated`: no run holds the usual range, so all are judged without.
    `unloaded` is known where what stands in the way is a voltage that is too high.
    """

    kept: Tried | None
    beyond: Tried | None
    binding: list[FindingFacts]
    every: bool
    tried: int
    first: Tried | None = None
    below: Tried | None = None
    binding_below: tuple[FindingFacts, ...] = ()
    as_stated: bool = False
    unloaded: Unloaded | None = None
