"""What would help where no choice of the stock does: each remedy is solved, and none is a rule of thumb.

For each run that fails with the thickest cable of the stock the smallest change of each kind is sought: what
helps the run alone, and from there on, since runs sag one box together, a step more wherever one still fails.
The cheapest cables of the stock are then chosen for the whole changed wiring; a voltage drop of it has the
last word. What is little work for a whole job comes first; the kinds that the work ended before are named.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from decimal import Decimal
from itertools import chain, pairwise, product
from typing import Final, NamedTuple

from msgspec import UNSET, UnsetType, ValidationError
from msgspec.structs import replace

from service import tables
from service.circuit.job import JobPart, JobTooLargeError, Listed, WiringContradictoryError
from service.circuit.layout import LaidSpan, Layout
from service.circuit.work import Budget, WorkOverLimitError
from service.findings.finding import (
    CIRCUIT_CURRENT,
    DEVICE_OF_CONDUCTOR,
    DEVICE_OF_SHORT,
    VOLT_AMPERES,
    WATTS,
)
from service.findings.protection import AMPACITY_UNKNOWN
from service.findings.violation import Violation, as_violations, count_and_excess
from service.findings.voltage import FIXTURE_ABOVE_WINDOW, NO_OPERATING_POINT
from service.studies.gauge_recommendation.assessment import Assessment, Assessor, slots_of
from service.studies.gauge_recommendation.boxes import (
    TWELVE_V,
    circuits_of,
    doubled_supply,
    larger,
    of_usual_voltage,
    rated_v,
    taps_of,
    with_devices,
    with_usual_taps,
)
from service.studies.gauge_recommendation.buying import Purchase
from service.studies.gauge_recommendation.candidates import Candidate
from service.studies.gauge_recommendation.choosing import Choosing, solved_with
from service.studies.gauge_recommendation.filling import filled_wiring, runs_of
from service.studies.gauge_recommendation.remedy_kinds import (
    ALLOW_JOINTS,
    BOX_WITH_TAPS,
    CLOSE_THE_LOOP,
    FEED_FROM_THE_MIDDLE,
    FEWER_WATTS,
    LARGER_BOX,
    LARGER_SUPPLY,
    LONGER_SPOOL,
    LOWER_VOLTAGE,
    OTHER_CABLE,
    OTHER_CIRCUIT,
    OWN_RUN,
    REMEDY_KINDS,
    SMALLER_DEVICE,
    SPLIT_FURTHER,
    SPLIT_THE_RUN,
    TAP_DOWN,
    TAP_UP,
    THICKER,
    THICKER_LEADS,
    THICKEST_OF_THE_STOCK,
    TOGETHER,
    TWICE_THE_VOLTAGE,
    RemedyKind,
)
from service.studies.gauge_recommendation.request import GaugeRecommendationRequest
from service.studies.gauge_recommendation.rewiring import (
    Line,
    Step,
    cables_of,
    circuit_of,
    closed_to_a_loop,
    doubled,
    farthest_apart,
    fed_from_the_middle,
    graph_with_cable,
    graph_with_share_of_load,
    least_leads,
    on_circuit,
    on_tap,
    parted,
    positions_of,
    shares,
    spread,
    with_cable,
    with_leads,
    with_share_of_load,
)
from service.studies.gauge_recommendation.search import Found
from service.studies.gauge_recommendation.study import (
    KEPT_FOR_REMEDIES,
    thickest_of,
)
from service.studies.gauge_recommendation.translate import (
    gauge_job_of,
    in_cents,
)
from service.translate.wiring import amount
from service.wire.optional import given
from service.wire.quantities import NominalVoltage
from service.wire.stock import Cutting
from service.wire.supply import DcSupply, Supply
from service.wire.wiring import RunsWiring, SpansWiring, Wiring

PERCENT, LEAST_PERCENT = 100, 20
"""The share of the load that passes is sought in whole per cent, and told down to a fifth.

An LED lamp draws about a fifth of what a filament of the same light does (common practice, no published
source): less is no lamp to exchange for.
"""


MOST_PARTS = 4
"""Into how many runs one is split at most."""


MOST_MOVED = 60
"""So many ways to move the farthest places of a run to another are tried at most."""


MOST_WAYS = 32
"""Ways to put the runs on the circuits of the supply that are all tried where there are no more."""


MOST_ROWS = 8
"""Remedies that are told."""


SHARE_OF_A_KIND, SHARE_OF_CLIMBING, SHARE_OF_CHOOSING, SHARE_OF_MOVING = 0.4, 0.6, 0.5, 0.2
"""Of the work that is left, what one kind of remedy may spend, and of that its steps, and its cables; before
that, the runs that move to other circuits. [-]
"""


FEW_STEPS = 3
"""So many steps of a remedy are tried one after another, more by halving."""


class JobChange(NamedTuple):
    """One thing to change, where, and how far: a tap, a conductor, a number."""

    kind: RemedyKind
    subject: JobPart
    parameter: str = ""
    place: int | None = None
    """Of the run in the changed wiring."""

    @property
    def code(self) -> str:
        """The code of its kind."""
        return self.kind.code


class Remedy(NamedTuple):
    """What is changed, what that does with the cheapest cables of the stock, and what to buy for it.

    `supply` is None where it stays. `more_m` is the cable of the changed wiring less that of the request. [m]
    """

    code: str
    changes: tuple[JobChange, ...]
    assessment: Assessment
    wiring: Wiring
    supply: Supply | None
    purchase: tuple[Purchase, ...]
    more_m: float
    layout: Layout

    @property
    def total(self) -> Decimal | None:
        """Price of all the cable, where each has one. [currency]"""
        prices = [in_cents(line.price) for line in self.purchase if line.price is not None]
        return sum(prices, start=Decimal(0)) if self.purchase and len(prices) == len(self.purchase) else None


KINDS: Final = (
    LARGER_BOX.code,
    SMALLER_DEVICE.code,
    OTHER_CIRCUIT.code,
    THICKER.code,
    TAP_UP.code,
    FEWER_WATTS.code,
    TWICE_THE_VOLTAGE.code,
    LOWER_VOLTAGE.code,
    TAP_DOWN.code,
    BOX_WITH_TAPS.code,
    OTHER_CABLE.code,
    OWN_RUN.code,
    SPLIT_THE_RUN.code,
    SPLIT_FURTHER.code,
    FEED_FROM_THE_MIDDLE.code,
    CLOSE_THE_LOOP.code,
    THICKER_LEADS.code,
    TOGETHER,
)
"""In the order in which they are tried: what is little work for a whole job, and helps most often, first."""


KINDS_FOR_GRAPH: Final = (LARGER_BOX.code, THICKER.code, FEWER_WATTS.code)


def kinds_of(wiring: Wiring) -> tuple[str, ...]:
    """What is tried of a wiring of its form."""
    return KINDS_FOR_GRAPH if isinstance(wiring, SpansWiring) else KINDS


class _RunPlan(NamedTuple):
    """A changed job: its runs, or the wiring of another form with what is open in it, and its supply."""

    lines: tuple[Line, ...]
    supply: Supply
    changes: tuple[JobChange, ...] = ()
    nominal_v: float | None = None


class _TriedPlan(NamedTuple):
    """A plan with the thickest cable of the stock: what it does, which runs fail, whether the box does.

    `circuits`: whether a limit of a circuit is broken, `overloaded`: whether too much hangs on one. `need`:
    what is drawn of the rating. [-]
    """

    assessment: Assessment
    failing: frozenset[int]
    loaded: bool
    circuits: bool
    overloaded: bool
    need: float = 0.0


class _Failed(NamedTuple):
    """A changed request that does not pass, and what the thickest cable of the stock does in it."""

    message: GaugeRecommendationRequest
    changes: tuple[JobChange, ...]
    assessment: Assessment


class _Start(NamedTuple):
    """The job as it is, and what it is on a box and on circuits that carry it.

    The steps of single runs begin with `carried`, in which `failing` still fail.
    """

    plan: _RunPlan
    base: _TriedPlan
    moved: _RunPlan
    carried: _RunPlan
    failing: frozenset[int]


Ladder = Callable[[Line, Supply], Iterator[Step]]
"""The steps of one kind of change of a run, the smallest first."""


class _Rung(NamedTuple):
    """One step of one kind."""

    code: str
    step: Step


Rungs = list[list[_Rung]]
"""The steps for one run, kind by kind."""


class Remedies:
    """Tries remedies on one request for which no choice passes.

    Parameters
    ----------
    message : GaugeRecommendationRequest
    work : int
        That may be spent.
    """

    def __init__(self, message: GaugeRecommendationRequest, work: int = KEPT_FOR_REMEDIES) -> None:
        self._message, self._budget = runs_of(message), Budget(work)
        self._subjects = self._subjects_of(message)
        gauge_job = gauge_job_of(self._message)
        self._open_taps = bool(gauge_job.offered_taps_v)
        self._thickest = gauge_job.candidates[thickest_of(gauge_job)]
        self._failed: list[_Failed] = []
        self._trials: dict[int, tuple[_RunPlan, _TriedPlan]] = {}
        self._alone: dict[tuple[int, int], tuple[_RunPlan, bool]] = {}
        self.untried: list[str] = []
        """Kinds of which the work ended before they were tried to their end."""
        self._length_m = _cable_m(
            Assessor(gauge_job.job, gauge_job.candidates[:1], Budget(), gauge_job.offered_taps_v).layout_spans
        )

    def _subjects_of(self, message: GaugeRecommendationRequest) -> list[JobPart]:
        """Where each run stands in the request as it came."""
        if not isinstance(message.wiring, RunsWiring):
            return [JobPart("/wiring")]
        return [
            JobPart(f"/wiring/runs/{place}", None if isinstance(run.id, UnsetType) else run.id)
            for place, run in enumerate(message.wiring.runs)
        ]

    @property
    def left(self) -> int:
        """Work that was not spent."""
        return self._budget.left

    def solved(self) -> list[Remedy]:
        """Every remedy that passes, the cheapest first; where none does the best that was tried."""
        wiring = self._message.wiring
        found = self._of_graph(wiring) if isinstance(wiring, SpansWiring) else self._of_runs()
        if not found and self._failed:
            with suppress(WorkOverLimitError, *_CANNOT_BE_ASKED):
                found.append(self._best_tried())
        distinct: list[Remedy] = []
        for remedy in sorted(found, key=_rank):
            if all((remedy.wiring, remedy.supply) != (other.wiring, other.supply) for other in distinct):
                distinct.append(remedy)
        return distinct[:MOST_ROWS]

    def for_spools(self, piece: JobPart) -> list[Remedy]:
        """Joints, where a piece is longer than any spool and joints alone are enough."""
        message = replace(self._message, cutting=Cutting(joints="anywhere"))
        for found in self._chosen(message, ALLOW_JOINTS.code, (JobChange(ALLOW_JOINTS, piece),)):
            longer = (JobChange(LONGER_SPOOL, piece),)
            return [found, found._replace(code=LONGER_SPOOL.code, changes=longer, purchase=())]
        return []

    def _tried_as(self, code: str, tries: Iterable[Remedy], share: float = SHARE_OF_A_KIND) -> list[Remedy]:
        """What one kind of change gives, with a share of the work that is left. [-]

        A layout with more points may be more than one request can hold: that is no remedy.
        """
        found: list[Remedy] = []
        try:
            with self._at_most(share), suppress(*_CANNOT_BE_ASKED):
                found.extend(tries)
        except WorkOverLimitError:
            self.untried.append(code)
        return found

    @contextmanager
    def _at_most(self, share: float) -> Iterator[None]:
        """Spend no more than a share of the work that is left. [-]"""
        whole = self._budget
        part = self._budget = Budget(int(whole.left * share))
        try:
            yield
        finally:
            self._budget = whole
            whole.left -= part.limit - part.left

    def _of_graph(self, wiring: SpansWiring) -> list[Remedy]:
        """A larger box, thicker cable than the stock has, or fewer watts."""
        try:
            base = self._assess(self._message)
            self._failed.append(_Failed(self._message, (), base))
            boxed, changes = self._boxed_graph(base)
        except WorkOverLimitError:
            self.untried += kinds_of(wiring)
            return []
        found = (
            self._tried_as(LARGER_BOX.code, self._chosen(boxed, _code_of(changes), changes))
            if changes
            else []
        )
        found += self._tried_as(THICKER.code, self._thicker_graph(boxed, wiring, changes))
        return found + self._tried_as(FEWER_WATTS.code, self._fewer_watts_of_graph(wiring))

    def _boxed_graph(self, base: Assessment) -> tuple[GaugeRecommendationRequest, tuple[JobChange, ...]]:
        """A graph on the next larger box that carries it; as it is where none does, or none is needed."""
        over = base.violations
        for supply, rating in larger(self._message.supply, _need(over)) if _is_loaded(over) else ():
            boxed = replace(self._message, supply=supply)
            if not _is_loaded(self._assess(boxed).violations):
                return boxed, (_box_change(supply, rating),)
        return self._message, ()

    def _thicker_graph(
        self, message: GaugeRecommendationRequest, wiring: SpansWiring, changes: tuple[JobChange, ...]
    ) -> Iterator[Remedy]:
        asked = self._message.open
        at = [f"/spans/{place}/cable" for place in range(len(wiring.spans))]
        open_at = [each for each in at if isinstance(asked, UnsetType) or f"/wiring{each}" in asked]
        for conductor in self._thicker_conductors() if open_at else ():
            changed = replace(message, wiring=graph_with_cable(wiring, open_at, conductor), open=list[str]())
            every = (*changes, JobChange(THICKER, JobPart("/wiring"), conductor.name))
            assessment = self._assess(changed)
            self._failed.append(_Failed(changed, every, assessment))
            if assessment.passes:
                yield from self._chosen(changed, THICKER.code, every)
                break

    def _fewer_watts_of_graph(self, wiring: SpansWiring) -> Iterator[Remedy]:
        """The largest share of the load with which all passes, of the fixtures without which nothing does."""
        every = frozenset(range(len(wiring.fixtures)))

        def shared(percent: int, giving: frozenset[int] = every) -> GaugeRecommendationRequest:
            graph = graph_with_share_of_load(wiring, percent / PERCENT, sorted(giving))
            return replace(self._message, wiring=graph)

        percent = self._most_percent(shared)
        if not percent:
            return
        giving = every
        with suppress(WorkOverLimitError):
            for place in sorted(every):
                if len(giving) > 1 and self._passes(shared(percent, giving - {place})):
                    giving -= {place}
        subjects = [
            JobPart(f"/wiring/fixtures/{place}", given(wiring.fixtures[place].id)) for place in sorted(giving)
        ]
        places = subjects if giving < every else [JobPart("/wiring")]
        changes = tuple(JobChange(FEWER_WATTS, place, f"{percent} %") for place in places)
        yield from self._chosen(shared(percent, giving), FEWER_WATTS.code, changes)

    def _most_percent(self, shared: Callable[[int], GaugeRecommendationRequest]) -> int:
        """The largest share of the load that passes, in whole per cent; 0 where none worth telling does."""
        if not self._passes(shared(LEAST_PERCENT)):
            return 0
        low, high = LEAST_PERCENT, PERCENT
        while high - low > 1:
            middle = (low + high) // 2
            if self._passes(shared(middle)):
                low = middle
            else:
                high = middle
        return low

    def _of_runs(self) -> list[Remedy]:
        """Each kind of change for all runs that need one; on a box and on circuits that carry the job."""
        wiring = self._message.wiring
        assert isinstance(wiring, RunsWiring)  # noqa: S101  # a short form is written out
        plan = _RunPlan(self._lines(wiring), self._message.supply)
        try:
            start = self._start(plan)
        except (WorkOverLimitError, *_CANNOT_BE_ASKED):
            self.untried += kinds_of(wiring)
            return []
        found: list[Remedy] = []
        for code, tries in self._kinds(start).items():
            # Two ways to split in two may both pass: the cheaper one is told.
            found += sorted(self._tried_as(code, tries), key=_rank)[:1]
        if len(start.failing) > 1 and not any(remedy.code in self._ladders() for remedy in found):
            every = tuple(self._ladders().items())
            found += self._tried_as(TOGETHER, self._laid_by(start, TOGETHER, every), 1.0)
        return found

    def _start(self, plan: _RunPlan) -> _Start:
        """The job as it is, and on a larger box and other circuits where those it has are overloaded."""
        base = self._trial(plan)
        self._fails(plan, base)
        boxed = moved = self._boxed(plan) if base.loaded else plan
        if self._trial(boxed).circuits:
            try:
                with self._at_most(SHARE_OF_MOVING):
                    moved = self._on_other_circuits(boxed)
            except WorkOverLimitError:
                self.untried.append(OTHER_CIRCUIT.code)
        carried = moved if self._trial(boxed).overloaded else boxed
        return _Start(plan, base, moved, carried, self._trial(carried).failing)

    def _kinds(self, start: _Start) -> dict[str, Iterator[Remedy]]:
        """What is tried, in its order; nothing is before it is asked for."""
        ladders = self._ladders()
        rest = {code: self._laid_by(start, code, ((code, ladder),)) for code, ladder in ladders.items()}
        moved = self._finished(_code_of(start.moved.changes), start.moved) if start.moved.changes else None
        return {
            **({} if moved is None else {_code_of(start.moved.changes): moved}),
            SMALLER_DEVICE.code: self._smaller_device(start),
            **{code: rest.pop(code) for code in (THICKER.code, TAP_UP.code)},
            FEWER_WATTS.code: self._fewer_watts(start),
            TWICE_THE_VOLTAGE.code: self._twice_the_voltage(start.plan),
            LOWER_VOLTAGE.code: self._lower_voltage(start),
            **rest,
            SPLIT_THE_RUN.code: chain(rest[SPLIT_THE_RUN.code], self._split_evenly(start)),
        }

    def _split_evenly(self, start: _Start) -> Iterator[Remedy]:
        """Every failing run in two of about equal moment: more cable than the least, which may be thinner."""
        plan, taken = start.carried, dict[int, _Rung]()
        for place in sorted(start.failing):
            (rungs,) = _rungs(plan.lines[place], plan.supply, ((SPLIT_THE_RUN.code, _in_two),))
            if not rungs:
                return
            taken[place] = rungs[-1]
        built, _ = self._built(plan, taken)
        if taken and self._passes(self._request(built)):
            yield from self._finished(SPLIT_THE_RUN.code, built)

    def _ladders(self) -> dict[str, Ladder]:
        """The kinds of change of one run, those that are little work and cost little first."""
        return {
            TAP_UP.code: self._higher_taps,
            TAP_DOWN.code: self._lower_taps,
            BOX_WITH_TAPS.code: _usual_taps,
            OTHER_CABLE.code: _opened,
            OWN_RUN.code: _own_runs,
            SPLIT_THE_RUN.code: _in_two,
            SPLIT_FURTHER.code: _split_further,
            FEED_FROM_THE_MIDDLE.code: lambda line, _: _alone(fed_from_the_middle(line)),
            CLOSE_THE_LOOP.code: lambda line, _: _alone(closed_to_a_loop(line)),
            THICKER_LEADS.code: _thicker_leads,
            THICKER.code: self._thicker,
        }

    def _laid_by(self, start: _Start, code: str, ladders: tuple[tuple[str, Ladder], ...]) -> Iterator[Remedy]:
        """The remedy that some kinds of change of the failing runs make."""
        if start.failing:
            yield from self._finished(code, self._climbed(start.carried, start.failing, ladders))

    def _boxed(self, plan: _RunPlan) -> _RunPlan:
        """A plan on the next larger box that carries it; as it is where none does."""
        others = tuple(change for change in plan.changes if change.code not in BOXES)
        for supply, rating in larger(plan.supply, self._trial(plan).need):
            boxed = plan._replace(supply=supply, changes=(_box_change(supply, rating), *others))
            if not self._trial(boxed).loaded:
                return boxed
        return plan

    def _on_other_circuits(self, plan: _RunPlan) -> _RunPlan:
        """Runs on other circuits of the supply, so that none is broken; as it is where no way is found."""
        evened = plan
        for place, circuit in spread(plan.lines, plan.supply).items():
            evened = self._moved(evened, place, circuit)
        if evened is not plan and not self._is_broken(evened):
            return evened
        ways = len(circuits_of(plan.supply)) ** len(plan.lines)
        if ways <= MOST_WAYS:
            return next((each for each in self._ways(plan) if not self._is_broken(each)), plan)
        return self._moved_one_by_one(plan)

    def _ways(self, plan: _RunPlan) -> Iterator[_RunPlan]:
        """Every way to put the runs on circuits, the fewest moves first."""
        circuits = circuits_of(plan.supply)
        own = [circuit_of(line, plan.supply) for line in plan.lines]
        moves = [
            [(place, to) for place, to in enumerate(way) if to != own[place]]
            for way in product(circuits, repeat=len(plan.lines))
        ]
        for each in sorted(filter(None, moves), key=lambda moved: (len(moved), moved)):
            moved = plan
            for place, circuit in each:
                moved = self._moved(moved, place, circuit)
            yield moved

    def _is_broken(self, plan: _RunPlan) -> bool:
        """Whether a limit of a circuit is broken."""
        trial = self._trial(plan)
        self._fails(plan, trial)
        return trial.circuits

    def _moved_one_by_one(self, plan: _RunPlan) -> _RunPlan:
        """Each time the move that relieves the broken circuits most."""
        best, excess = plan, _circuit_excess(self._trial(plan).assessment)
        for _ in plan.lines:
            better = best
            for place in self._on_broken_circuits(best):
                for circuit in circuits_of(best.supply):
                    if circuit == circuit_of(best.lines[place], best.supply):
                        continue
                    each = self._moved(best, place, circuit)
                    if not self._is_broken(each):
                        return each
                    if _circuit_excess(self._trial(each).assessment) < excess:
                        better, excess = each, _circuit_excess(self._trial(each).assessment)
            if better is best:
                break
            best = better
        return plan

    def _on_broken_circuits(self, plan: _RunPlan) -> list[int]:
        """The runs that hang on a circuit which is overloaded, or whose cable is too thin for its device."""
        return sorted(self._trial(plan).failing | self._on_overloaded_circuits(plan))

    def _moved(self, plan: _RunPlan, place: int, circuit: str) -> _RunPlan:
        lines = (*plan.lines[:place], on_circuit(plan.lines[place], circuit), *plan.lines[place + 1 :])
        others = tuple(each for each in plan.changes if (each.kind, each.place) != (OTHER_CIRCUIT, place))
        change = JobChange(OTHER_CIRCUIT, self._subjects[plan.lines[place].place], circuit, place)
        return plan._replace(lines=lines, changes=(*others, change))

    def _lines(self, wiring: RunsWiring) -> tuple[Line, ...]:
        message = self._message
        lines = []
        for place, run in enumerate(wiring.runs):
            at = f"/wiring/runs/{place}"
            asked = None if isinstance(message.open, UnsetType) else message.open
            open_at = asked and frozenset(each[len(at) :] for each in asked if each.startswith(f"{at}/"))
            if asked is not None and open_at == frozenset(cables_of(run)):
                open_at = None
            lines.append(Line(run, place, frozenset() if asked == [] else open_at))  # type: ignore[arg-type]  # `asked` is not empty here
        return tuple(lines)

    def _climbed(
        self, plan: _RunPlan, failing: frozenset[int], ladders: Sequence[tuple[str, Ladder]]
    ) -> _RunPlan | None:
        """Every failing run with the smallest change that helps it; None where some cannot be helped so.

        The same step for all is soon found; where the work ends before a smaller one is, it stands.
        """
        rungs = {place: _rungs(plan.lines[place], plan.supply, ladders) for place in sorted(failing)}
        if not all(any(kind) for kind in rungs.values()):
            return None
        alike = self._alike(plan, rungs) if len(failing) > 1 and len(ladders) == 1 else None
        try:
            with self._at_most(SHARE_OF_CLIMBING if alike else 1.0):
                return self._climbed_together(plan, rungs, ladders) or alike
        except WorkOverLimitError:
            if alike is None:
                raise
            return alike

    def _alike(self, plan: _RunPlan, rungs: Mapping[int, Rungs]) -> _RunPlan | None:
        """The smallest step that is enough when all failing runs take the same one."""
        most = max(len(kind) for (kind,) in rungs.values())
        kept = [
            self._built(plan, {place: kind[min(step, len(kind) - 1)] for place, (kind,) in rungs.items()})[0]
            for step in range(most)
        ]
        low, high, found = 0, most, None
        while low < high:
            middle = low if most <= FEW_STEPS else (low + high) // 2
            if self._passes(self._request(kept[middle])):
                found, high = kept[middle], middle
            else:
                low = middle + 1
        return found

    def _climbed_together(
        self, plan: _RunPlan, rungs: dict[int, Rungs], ladders: Sequence[tuple[str, Ladder]]
    ) -> _RunPlan | None:
        """From what helps each run alone, one step more in every run that fails beside the others.

        A run that sags for another's sake may want that one to change: where no failing run has a step left
        the others take one.
        """
        taken: dict[int, int] = {}
        for place, kinds in rungs.items():
            least = self._least_alone(plan, place, kinds)
            if least is None:
                return None
            taken[place] = least
        floor, raised_together = dict(taken), False
        while True:
            built, owners = self._built(plan, _taken(rungs, taken))
            trial = self._trial(built)
            if trial.loaded:
                boxed = self._boxed(built)
                built, trial = boxed, self._trial(boxed)
            self._fails(built, trial)
            if trial.assessment.passes:
                break
            failing = {owners[place] for place in trial.failing}
            for place in failing - rungs.keys():
                rungs[place] = _rungs(plan.lines[place], plan.supply, ladders)
                taken[place] = floor[place] = AS_IT_IS
            able = {place for place in taken if taken[place] + 1 < sum(map(len, rungs[place]))}
            raised = failing & able or (able if failing else set())
            if not raised:
                return None
            raised_together |= len(raised) > 1
            for place in raised:
                taken[place] += 1
        return self._lowered(plan, rungs, taken, floor) or built if raised_together else built

    def _lowered(
        self, plan: _RunPlan, rungs: Mapping[int, Rungs], taken: dict[int, int], floor: Mapping[int, int]
    ) -> _RunPlan | None:
        """What several runs took together, less a step in each that can do with less; None where none can."""
        best = None
        with suppress(WorkOverLimitError):
            for place in sorted(taken):
                while taken[place] > floor[place]:
                    lower = {**taken, place: taken[place] - 1}
                    built, _ = self._built(plan, _taken(rungs, lower))
                    if not self._passes(self._request(built)):
                        break
                    taken, best = lower, built
        return best

    def _least_alone(self, plan: _RunPlan, place: int, rungs: Rungs) -> int | None:
        """The smallest step with which a run passes when alone, more than a few gone through by halving.

        As it is where it needs none, None where none helps.
        """
        key = id(plan), place
        if key not in self._alone:
            alone = _RunPlan((plan.lines[place],), plan.supply, nominal_v=plan.nominal_v)
            # The plan is kept as well, so that no other one can get its identity.
            self._alone[key] = plan, bool(self._trial(alone).failing)
        if not self._alone[key][1]:
            return AS_IT_IS
        before = 0
        for kind in rungs:
            found = self._least_of_kind(plan, place, kind)
            if found is not None:
                return before + found
            before += len(kind)
        return None

    def _least_of_kind(self, plan: _RunPlan, place: int, kind: list[_Rung]) -> int | None:
        if len(kind) <= FEW_STEPS:
            return next(
                (step for step, rung in enumerate(kind) if not self._alone_on(plan, place, rung)), None
            )
        low, high = -1, len(kind)
        while high - low > 1:
            middle = (low + high) // 2
            failing = self._alone_on(plan, place, kind[middle])
            # Too few have moved where those that stay fail; where those that moved do it is too many.
            if 0 in failing if kind[middle].code == OWN_RUN.code else failing:
                low = middle
            else:
                high = middle
        return high if high < len(kind) and not self._alone_on(plan, place, kind[high]) else None

    def _alone_on(self, plan: _RunPlan, place: int, rung: _Rung) -> frozenset[int]:
        """Which of the runs fail that one becomes by a step, the others left aside."""
        if len(plan.lines) == 1:
            built, _ = self._built(plan, {place: rung})
            self._fails(built, self._trial(built))
            return self._trial(built).failing
        supply = plan.supply if rung.step.supply is None else rung.step.supply
        alone = _RunPlan(rung.step.lines, supply, nominal_v=plan.nominal_v)
        request = self._request(alone)
        return frozenset() if self._passes(request) else self._trial(alone).failing

    def _built(self, plan: _RunPlan, taken: Mapping[int, _Rung]) -> tuple[_RunPlan, list[int]]:
        """A plan with a step of some runs taken, and of each run of it the one of the plan that it is for."""
        lines, owners = list(plan.lines), list(range(len(plan.lines)))
        supply, changes = plan.supply, list(plan.changes)
        for place, rung in sorted(taken.items()):
            lines[place], *new = rung.step.lines
            lines += new
            owners += [place] * len(new)
            supply = supply if rung.step.supply is None else rung.step.supply
            subject = self._subjects[plan.lines[place].place]
            changes.append(JobChange(REMEDY_KINDS[rung.code], subject, rung.step.parameter, place))
        return plan._replace(lines=tuple(lines), supply=supply, changes=tuple(changes)), owners

    def _fails(self, plan: _RunPlan, trial: _TriedPlan) -> None:
        """Remember what was tried of the whole job and does not pass."""
        if not trial.assessment.passes:
            self._failed.append(_Failed(self._request(plan), plan.changes, trial.assessment))

    def _request(self, plan: _RunPlan) -> GaugeRecommendationRequest:
        """The request that a plan makes."""
        wiring = self._message.wiring
        assert isinstance(wiring, RunsWiring)  # noqa: S101  # asked only of runs
        wiring = replace(wiring, runs=[line.run for line in plan.lines])
        if plan.nominal_v is not None:
            wiring = replace(wiring, nominal_voltage=NominalVoltage(plan.nominal_v, "V"))
        asked: list[str] | UnsetType = UNSET
        if any(line.open_at is not None for line in plan.lines):
            asked = [
                f"/wiring/runs/{place}{pointer}"
                for place, line in enumerate(plan.lines)
                for pointer in (cables_of(line.run) if line.open_at is None else sorted(line.open_at))
            ]
        return replace(self._message, wiring=wiring, supply=plan.supply, open=asked)

    def _trial(self, plan: _RunPlan) -> _TriedPlan:
        """A plan with the thickest cable in every open place; remembered."""
        if id(plan) not in self._trials:
            # The plan is kept as well, so that no other one can get its identity.
            self._trials[id(plan)] = plan, self._tried(plan)
        return self._trials[id(plan)][1]

    def _tried(self, plan: _RunPlan) -> _TriedPlan:
        assessor = self._assessor(self._request(plan))
        assessment = _everywhere(assessor)
        broken = {violation.kind for violation in assessment.violations}
        limited = {kind.limited for kind in broken}
        circuits = bool(limited & SHARED_OUT)
        overloaded = CIRCUIT_CURRENT in limited
        if NO_OPERATING_POINT in broken:
            beyond = as_violations(assessor.beyond_choice())
            failing = self._collapsed(plan)
            return _TriedPlan(assessment, failing, _is_loaded(beyond), circuits, overloaded, _need(beyond))
        failing = frozenset(place for part in assessment.parts if (place := _run_of(part)) is not None)
        if AMPACITY_UNKNOWN in broken:
            failing |= {place for place, line in enumerate(plan.lines) if line.open_at != frozenset()}
        over = assessment.violations
        return _TriedPlan(assessment, failing, _is_loaded(over), circuits, overloaded, _need(over))

    def _collapsed(self, plan: _RunPlan) -> frozenset[int]:
        """Which of the runs that cannot be carried together cannot be carried alone; all if each can be."""
        every = range(len(plan.lines))
        if len(plan.lines) == 1:
            return frozenset(every)
        alone = {
            place
            for place in every
            if not self._passes(self._request(plan._replace(lines=(plan.lines[place],))))
        }
        return frozenset(alone or every)

    def _assess(self, message: GaugeRecommendationRequest) -> Assessment:
        return _everywhere(self._assessor(message))

    def _passes(self, message: GaugeRecommendationRequest) -> bool:
        """Whether the thickest cable of the stock passes: less work than what all it breaks."""
        assessor = self._assessor(message)
        return assessor.near((0,) * len(assessor.slots), ()).passes

    def _assessor(self, message: GaugeRecommendationRequest) -> Assessor:
        """Of the thickest cable of the stock, everywhere."""
        gauge_job = gauge_job_of(message)
        assessor = Assessor(
            gauge_job.job, (self._thickest,), self._budget, gauge_job.offered_taps_v, gauge_job.accepted
        )
        spans = assessor.layout_spans
        laid_at = frozenset(span.cable_at for span in spans if span.cable_at)
        open_at = laid_at if gauge_job.open_cables is None else gauge_job.open_cables & laid_at
        assessor.slots = slots_of(spans, open_at, "one")
        return assessor

    def _finished(self, code: str, plan: _RunPlan | None) -> Iterator[Remedy]:
        """The cheapest cables of the stock for a plan, if with them all passes."""
        if plan is None or not plan.changes:
            return
        yield from self._chosen(self._request(plan), code, plan.changes)

    def _chosen(
        self, message: GaugeRecommendationRequest, code: str, changes: tuple[JobChange, ...]
    ) -> Iterator[Remedy]:
        """With the cheapest cables that are found; with the thickest where the work ends before any are.

        Raises
        ------
        WorkOverLimitError
            Not even that was found to pass or to fail.
        """
        gauge_job = gauge_job_of(message)
        thickest = gauge_job._replace(candidates=(gauge_job.candidates[thickest_of(gauge_job)],))
        for offered, share in ((gauge_job, SHARE_OF_CHOOSING), (thickest, 1.0)):
            choosing = Choosing(message, offered, int(self._budget.left * share))
            chosen = choosing.search.run()
            self._budget.spend(min(choosing.search.spent, self._budget.left))
            if chosen.found is not None and choosing.last is not None:
                yield self._remedy(message, code, changes, choosing, chosen.found)
                return
            if chosen.proven:
                return
        raise WorkOverLimitError(self._budget.limit)

    def _remedy(
        self,
        message: GaugeRecommendationRequest,
        code: str,
        changes: tuple[JobChange, ...],
        choosing: Choosing,
        found: Found,
    ) -> Remedy:
        assert choosing.last is not None  # noqa: S101  # asked only once something was found
        wiring, solved = choosing.last
        spans = choosing.search.recommended.spans
        bought = (*choosing.search.bought(self._budget.left), *self._unpriced(changes, spans))
        more_m = _cable_m(spans) - self._length_m
        supply = self._changed_supply(message)
        return Remedy(code, changes, found.assessment, wiring, supply, bought, more_m, solved.layout)

    def _unpriced(self, changes: tuple[JobChange, ...], spans: list[LaidSpan]) -> Iterator[Purchase]:
        """The cable that the stock does not have; no price of it is known."""
        own, asked = self._thickest.conductor, self._message.open
        for name in dict.fromkeys(each.parameter for each in changes if each.code == THICKER.code):
            at = tuple(
                "/wiring/" if each.place is None else f"/wiring/runs/{each.place}/"
                for each in changes
                if (each.code, each.parameter) == (THICKER.code, name)
            )
            places = {
                span.cable_at
                for span in spans
                if span.cable_at.startswith(at) and (isinstance(asked, UnsetType) or span.cable_at in asked)
            }
            (slot,) = slots_of(spans, frozenset(places), "one")
            conductor = Listed(name, own.material, own.stranding)
            yield Purchase(Candidate(JobPart(""), conductor), slot.length_m, None)

    def _best_tried(self) -> Remedy:
        """What of all that was tried is nearest to passing, with the thickest cable of the stock."""
        message, changes, assessment = min(self._failed, key=lambda each: _shortfall(each.assessment))
        gauge_job = gauge_job_of(message)
        searched = Choosing(message, gauge_job).search.recommended
        found = Found((thickest_of(gauge_job),) * len(searched.slots), assessment, exact=False, bound=0.0)
        wiring = filled_wiring(message.wiring, searched, found, gauge_job.job.feeders())
        changes = changes or (JobChange(THICKEST_OF_THE_STOCK, JobPart("/wiring")),)
        return Remedy(
            _code_of(changes),
            changes,
            assessment,
            wiring,
            self._changed_supply(message),
            (),
            _cable_m(searched.spans) - self._length_m,
            solved_with(message, wiring).layout,
        )

    def _changed_supply(self, message: GaugeRecommendationRequest) -> Supply | None:
        return None if message.supply == self._message.supply else message.supply

    def _higher_taps(self, line: Line, supply: Supply) -> Iterator[Step]:
        """The taps of the box above that of a run, the next first."""
        for tap_v in taps_of(supply):
            if tap_v > _tap_of(line, supply) and not self._open_taps:
                yield Step((on_tap(line, tap_v),), f"{tap_v:g} V")

    def _lower_taps(self, line: Line, supply: Supply) -> Iterator[Step]:
        """The taps of the box below that of a run, the next first."""
        for tap_v in reversed(taps_of(supply)):
            if tap_v < _tap_of(line, supply) and not self._open_taps:
                yield Step((on_tap(line, tap_v),), f"{tap_v:g} V")

    def _thicker(self, line: Line, _: Supply) -> Iterator[Step]:
        """The sizes of the tables that are thicker than the stock."""
        if line.open_at != frozenset():
            for conductor in self._thicker_conductors():
                yield Step((with_cable(line, conductor),), conductor.name)

    def _thicker_conductors(self) -> list[Listed]:
        own = self._thickest.conductor
        return [Listed(name, own.material, own.stranding) for name in _thicker_names(own.name)]

    def _twice_the_voltage(self, plan: _RunPlan) -> Iterator[Remedy]:
        """The same watts at 24 V, where supply and fixtures are of 12 V."""
        nominal = self._message.wiring.nominal_voltage
        of_12_v = rated_v(plan.supply) == TWELVE_V
        if not of_12_v or not (isinstance(nominal, UnsetType) or nominal.value == TWELVE_V):
            return
        supply = doubled_supply(plan.supply)
        if supply is None:
            return
        change = JobChange(TWICE_THE_VOLTAGE, JobPart("/supply"), "24 V")
        lines = tuple(doubled(line) for line in plan.lines)
        changed = _RunPlan(lines, supply, (change,), 24.0)
        trial = self._trial(changed)
        self._fails(changed, trial)
        if trial.assessment.passes:
            yield from self._finished(change.code, changed)

    def _lower_voltage(self, start: _Start) -> Iterator[Remedy]:
        """The usual voltage below that of a supply without taps, where a lamp gets too much."""
        over = any(each.kind is FIXTURE_ABOVE_WINDOW for each in start.base.assessment.violations)
        supply = of_usual_voltage(start.plan.supply) if over else None
        if supply is None:
            return
        change = JobChange(LOWER_VOLTAGE, JobPart("/supply"), f"{rated_v(supply):g} V")
        changed = start.plan._replace(supply=supply, changes=(change,))
        trial = self._trial(changed)
        self._fails(changed, trial)
        if trial.assessment.passes:
            yield from self._finished(change.code, changed)

    def _smaller_device(self, start: _Start) -> Iterator[Remedy]:
        """The largest overcurrent device that the cables of the stock allow, where one is too large."""
        plan = start.plan
        if not start.base.assessment.violations or UNSET is plan.supply.circuits:
            return
        if not {violation.kind.limited for violation in start.base.assessment.violations} & DEVICE:
            return
        for device_a in sorted(set(tables.device_sizes_a()), reverse=True):
            supply, changed = with_devices(plan.supply, device_a)
            if not changed:
                continue
            changes = tuple(
                JobChange(SMALLER_DEVICE, JobPart(f"/supply/circuits/{index}"), f"{device_a:g} A")
                for index in changed
            )
            smaller = plan._replace(supply=supply, changes=changes)
            trial = self._trial(smaller)
            self._fails(smaller, trial)
            if trial.assessment.passes:
                yield from self._finished(SMALLER_DEVICE.code, smaller)
                return

    def _fewer_watts(self, start: _Start) -> Iterator[Remedy]:
        """The largest share of the load of those that must give, in whole per cent, with which all passes."""
        plan, failing = start.plan, start.base.failing
        if start.base.loaded or start.base.overloaded:
            failing = frozenset(range(len(plan.lines)))
        least = self._trial(self._with_share(plan, failing, LEAST_PERCENT))
        while least.failing - failing:
            failing |= least.failing
            least = self._trial(self._with_share(plan, failing, LEAST_PERCENT))
        if not least.assessment.passes:
            return
        percent = self._most_percent(lambda each: self._request(self._with_share(plan, failing, each)))
        if percent:
            failing = self._that_must_give(start, failing, percent)
            yield from self._finished(FEWER_WATTS.code, self._with_share(plan, failing, percent))

    def _that_must_give(self, start: _Start, asked: frozenset[int], percent: int) -> frozenset[int]:
        """Of the runs that could have fewer watts those without which nothing passes, at the same share.

        First those that break a limit of their own are tried alone, then every other is left out in turn.
        """
        own = asked & (start.base.failing | self._on_overloaded_circuits(start.plan))

        def passes(giving: frozenset[int]) -> bool:
            return self._passes(self._request(self._with_share(start.plan, giving, percent)))

        with suppress(WorkOverLimitError):
            if own and own != asked and passes(own):
                return own
            for place in sorted(asked - own):
                if len(asked) > 1 and passes(asked - {place}):
                    asked -= {place}
        return asked

    def _on_overloaded_circuits(self, plan: _RunPlan) -> frozenset[int]:
        """The runs on a circuit of which a limit is broken."""
        parts = {part.pointer for part in self._trial(plan).assessment.parts}
        broken = {
            circuit
            for index, circuit in enumerate(circuits_of(plan.supply))
            if f"/supply/circuits/{index}" in parts
        }
        return frozenset(
            place for place, line in enumerate(plan.lines) if circuit_of(line, plan.supply) in broken
        )

    def _with_share(self, plan: _RunPlan, failing: frozenset[int], percent: int) -> _RunPlan:
        lines = tuple(
            with_share_of_load(line, percent / PERCENT) if place in failing else line
            for place, line in enumerate(plan.lines)
        )
        changes = [
            JobChange(FEWER_WATTS, self._subjects[plan.lines[place].place], f"{percent} %")
            for place in sorted(failing)
        ]
        return plan._replace(lines=lines, changes=tuple(changes))


_CANNOT_BE_ASKED = (JobTooLargeError, WiringContradictoryError, ValidationError, ValueError)
"""What a request cannot have: too many points, a contradiction, a value beyond its bounds."""


def _alone(lines: tuple[Line, ...] | None, parameter: str = "") -> Iterator[Step]:
    if lines is not None:
        yield Step(lines, parameter)


AS_IT_IS: Final = -1
"""Before the first step of a run."""


def _rungs(line: Line, supply: Supply, ladders: Sequence[tuple[str, Ladder]]) -> Rungs:
    """The steps of each kind for one run, as far as a request can have what they say."""
    rungs: Rungs = []
    for code, ladder in ladders:
        kind: list[_Rung] = []
        with suppress(*_CANNOT_BE_ASKED):
            kind.extend(_Rung(code, step) for step in ladder(line, supply))
        rungs.append(kind)
    return rungs


def _taken(rungs: Mapping[int, Rungs], taken: Mapping[int, int]) -> dict[int, _Rung]:
    """The steps that are taken, by the run that takes them; the kinds of a run follow one another."""
    every = {place: [rung for kind in kinds for rung in kind] for place, kinds in rungs.items()}
    return {place: every[place][step] for place, step in taken.items() if step != AS_IT_IS}


def _own_runs(line: Line, _: Supply) -> Iterator[Step]:
    """The farthest places on a run of their own: one of them, two, and so on."""
    if not isinstance(line.run.branches, UnsetType):
        for lines, moved in farthest_apart(line):
            yield from _alone(lines, str(moved))
        return
    places = len(positions_of(line.run))
    for moved in range(1, places, 1 + places // MOST_MOVED):
        yield from _alone(parted(line, (places - moved,)), str(moved))


def _thicker_leads(line: Line, _: Supply) -> Iterator[Step]:
    """Every lead that is thinner of one size that the tables list, the next first."""
    thinnest = least_leads(line)
    for conductor in [] if thinnest is None else _thicker_names(thinnest):
        yield Step((with_leads(line, conductor),), conductor)


def _split(line: Line, parts: int) -> Iterator[Step]:
    """Several runs, the least cable first; the last ones lose as little as so many can."""
    places = len(positions_of(line.run))
    for bounds in shares(line, parts):
        counts = [after - before for before, after in pairwise((0, *bounds, places))]
        yield from _alone(parted(line, bounds), " + ".join(str(count) for count in counts))


def _in_two(line: Line, _: Supply) -> Iterator[Step]:
    """Two runs."""
    return _split(line, 2)


def _split_further(line: Line, _: Supply) -> Iterator[Step]:
    """Three runs, or four."""
    for parts in range(3, MOST_PARTS + 1):
        yield from _split(line, parts)


def _tap_of(line: Line, supply: Supply) -> float:
    """The tap that a run is on. [V]"""
    return rated_v(supply) if isinstance(line.run.tap, UnsetType) else amount(line.run.tap)


def _opened(line: Line, _: Supply) -> Iterator[Step]:
    """Other cable of the stock where the request keeps what there is."""
    if line.open_at is not None:
        yield Step((line._replace(open_at=None),))


def _usual_taps(line: Line, supply: Supply) -> Iterator[Step]:
    """A higher tap of a box that has several, where this one has a single one."""
    box = with_usual_taps(supply)
    offered_v = taps_of(supply if box is None else box)
    if box is not None:
        for tap_v in offered_v[1:]:
            yield Step((on_tap(line, tap_v),), f"{tap_v:g} V", box)


def _run_of(part: JobPart) -> int | None:
    """Which run a part of the job lies in."""
    found = re.match(r"/wiring/runs/([0-9]+)", part.pointer)
    return int(found.group(1)) if found else None


RATING: Final = frozenset({VOLT_AMPERES, WATTS})
"""What a larger box of the same kind helps."""


DEVICE: Final = frozenset({DEVICE_OF_CONDUCTOR, DEVICE_OF_SHORT})
"""What a smaller overcurrent device helps."""


SHARED_OUT: Final = frozenset({CIRCUIT_CURRENT, DEVICE_OF_CONDUCTOR})
"""What further circuits help."""


BOXES: Final = frozenset({LARGER_BOX.code, LARGER_SUPPLY.code})


def _box_change(supply: Supply, rating: str) -> JobChange:
    return JobChange(
        LARGER_SUPPLY if isinstance(supply, DcSupply) else LARGER_BOX, JobPart("/supply"), rating
    )


def _is_loaded(violations: Iterable[Violation]) -> bool:
    """Whether the rating of the supply is broken."""
    return any(violation.kind.limited in RATING for violation in violations)


def _need(violations: Iterable[Violation]) -> float:
    """What is drawn of the rating of the supply, where that is broken. [-]"""
    over = [each for each in violations if each.kind.limited in RATING and each.limit > 0.0]
    return max((violation.measured / violation.limit for violation in over), default=0.0)


def _circuit_excess(assessment: Assessment) -> tuple[int, float]:
    """How many limits of circuits are broken, and by how much. [A]"""
    return count_and_excess([each for each in assessment.violations if each.kind.limited in SHARED_OUT])


def _thicker_names(name: str) -> list[str]:
    """The sizes of the tables that are thicker than one, of its kind."""
    metric = name.endswith("mm2")
    names = [each for each in tables.CONDUCTOR_NAMES if each.endswith("mm2") == metric]
    return names[names.index(name) + 1 :]


def _everywhere(assessor: Assessor) -> Assessment:
    """Its one cable in every open place."""
    return assessor.compared((0,) * len(assessor.slots))


def _shortfall(assessment: Assessment) -> tuple[bool, int, float]:
    """How far from passing: nothing can be carried, how many limits are broken, and by how much."""
    violations = assessment.violations
    collapsed = any(violation.kind is NO_OPERATING_POINT for violation in violations)
    return collapsed, *count_and_excess(violations)


def _cable_m(spans: list[LaidSpan]) -> float:
    """Length of all cable, leads apart. [m]"""
    laid_at = frozenset(span.cable_at for span in spans if span.cable_at)
    return sum(slot.length_m for slot in slots_of(spans, laid_at, "one"))


def _code_of(changes: tuple[JobChange, ...]) -> str:
    """The code of changes that are all of one kind."""
    codes = {change.kind.code for change in changes}
    return codes.pop() if len(codes) == 1 else TOGETHER


def _rank(remedy: Remedy) -> tuple[object, ...]:
    """Those that pass first, then by price, then by metres."""
    total = remedy.total
    return (
        not remedy.assessment.passes,
        max(change.kind.rank for change in remedy.changes),
        total is None,
        total or Decimal(0),
        remedy.more_m,
    )
