"""What would help where no choice of the stock does: each remedy is solved, and none is a rule of thumb.

For each run that fails with the thickest cable of the stock the smallest change of each kind is sought, one
run after another, those that are still to be helped left aside. The cheapest cables of the stock are then
chosen for the whole changed wiring, and a voltage drop of it has the last word.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from decimal import Decimal
from typing import Final, NamedTuple

from msgspec import UNSET, UnsetType, ValidationError
from msgspec.structs import replace

from service import tables
from service.circuit.job import JobPart, JobTooLargeError, Listed, WiringContradictoryError
from service.circuit.layout import LaidSpan, Layout
from service.circuit.work import Budget, WorkOverLimitError
from service.findings.loading import (
    RATING_AT_USUAL_POWER_FACTOR,
    TRANSFORMER_OVER_RATING,
    WINDING_OVER_CURRENT,
)
from service.findings.protection import AMPACITY_UNKNOWN
from service.findings.voltage import NO_OPERATING_POINT
from service.studies.gauge_recommendation.assessment import Assessment, Assessor, slots_of
from service.studies.gauge_recommendation.buying import Purchase
from service.studies.gauge_recommendation.candidates import Candidate
from service.studies.gauge_recommendation.choosing import Choosing, solved_with
from service.studies.gauge_recommendation.relaying import (
    TWELVE_V,
    Line,
    Step,
    cables_of,
    closed_to_a_loop,
    doubled,
    doubled_supply,
    fed_from_the_middle,
    graph_with_cable,
    graph_with_share_of_load,
    larger,
    on_tap,
    parted,
    rated_v,
    stands_of,
    taps_of,
    with_cable,
    with_share_of_load,
    with_usual_taps,
)
from service.studies.gauge_recommendation.reply import RemedyChange, RemedyRow
from service.studies.gauge_recommendation.request import Cutting, GaugeRecommendationRequest
from service.studies.gauge_recommendation.search import Found
from service.studies.gauge_recommendation.study import (
    KEPT_FOR_REMEDIES,
    thickest_of,
)
from service.studies.gauge_recommendation.translate import (
    filled_wiring,
    in_cents,
    length_row,
    outcome_row,
    purchase_row,
    question_of,
    runs_of,
)
from service.translate.naming import PlaceNames
from service.translate.rows import subject_row
from service.translate.wiring import amount
from service.wire.quantities import NominalVoltage
from service.wire.supply import Supply
from service.wire.wiring import RunsWiring, SpansWiring, Wiring

PERCENT = 100
"""The share of the load that passes is sought in whole per cent."""


MOST_PARTS = 4
"""Into how many runs one is split at most."""


MOST_ROWS = 8
"""Remedies that are told."""


SEARCH_SHARE = 0.25
"""Of the work that is left, what the choice of cables for one remedy may spend. [-]"""


FEW_STEPS = 3
"""So many steps of a remedy are tried one after another, more by halving."""


class Change(NamedTuple):
    """One thing to change, where, and how far: a tap, a conductor, a number."""

    code: str
    subject: JobPart
    parameter: str = ""
    place: int | None = None
    """Of the run in the changed wiring."""


class Remedy(NamedTuple):
    """What is changed, what that does with the cheapest cables of the stock, and what to buy for it.

    `supply` is None where it stays. `more_m` is the cable of the changed wiring less that of the request. [m]
    """

    code: str
    changes: tuple[Change, ...]
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


LAST: Final = {"box-with-taps": 1, "thicker": 2, "twice-the-voltage": 3, "fewer-watts": 4}
"""What is told after all else: what is not cable of the stock, and has no price here."""


class _Plan(NamedTuple):
    """A changed job: its runs, or the wiring of another form with what is open in it, and its supply."""

    lines: tuple[Line, ...]
    supply: Supply
    changes: tuple[Change, ...] = ()
    nominal_v: float | None = None


class _Trial(NamedTuple):
    """A plan with the thickest cable of the stock: what it does, which runs fail, whether the box does."""

    assessment: Assessment
    failing: frozenset[int]
    loaded: bool


class _Failed(NamedTuple):
    """A changed request that does not pass, and what the thickest cable of the stock does in it."""

    message: GaugeRecommendationRequest
    changes: tuple[Change, ...]
    assessment: Assessment


Ladder = Callable[[Line, Supply], Iterator[Step]]
"""The steps of one kind of change of a run, the smallest first."""


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
        question = question_of(self._message)
        self._open_taps = bool(question.offered_taps_v)
        self._thickest = question.candidates[thickest_of(question)]
        self._failed: list[_Failed] = []
        self._trials: dict[tuple[int, frozenset[int]], tuple[_Plan, _Trial]] = {}
        self._length_m = _cable_m(
            Assessor(question.job, question.candidates[:1], Budget(), question.offered_taps_v).layout_spans
        )

    def _subjects_of(self, message: GaugeRecommendationRequest) -> list[JobPart]:
        """Where each run stands in the request as it came."""
        if not isinstance(message.wiring, RunsWiring):
            return [JobPart("/wiring")]
        return [
            JobPart(f"/wiring/runs/{place}", None if isinstance(run.id, UnsetType) else run.id)
            for place, run in enumerate(message.wiring.runs)
        ]

    def solved(self) -> list[Remedy]:
        """Every remedy that passes, the cheapest first; where none does the best that was tried."""
        found: list[Remedy] = []
        wiring = self._message.wiring
        tries = self._tries_for_graph(wiring) if isinstance(wiring, SpansWiring) else self._tries()
        with suppress(WorkOverLimitError, *_CANNOT_BE_ASKED):
            found.extend(tries)
        if not found and self._failed:
            with suppress(WorkOverLimitError, *_CANNOT_BE_ASKED):
                found.append(self._best_tried())
        told: list[Remedy] = []
        for remedy in sorted(found, key=_rank):
            if all((remedy.wiring, remedy.supply) != (other.wiring, other.supply) for other in told):
                told.append(remedy)
        return told[:MOST_ROWS]

    def for_spools(self, piece: JobPart) -> list[Remedy]:
        """Joints, where a piece is longer than any spool and joints alone are enough."""
        message = replace(self._message, cutting=Cutting(joints="anywhere"))
        for found in self._chosen(message, "allow-joints", (Change("allow-joints", piece),)):
            longer = (Change("longer-spool", piece),)
            return [found, found._replace(code="longer-spool", changes=longer, purchase=())]
        return []

    def _tries_for_graph(self, wiring: SpansWiring) -> Iterator[Remedy]:
        """Thicker cable than the stock has, or fewer watts."""
        whole, asked = JobPart("/wiring"), self._message.open
        self._failed.append(_Failed(self._message, (), self._assess(self._message)))
        at = [f"/spans/{place}/cable" for place in range(len(wiring.spans))]
        open_at = [each for each in at if isinstance(asked, UnsetType) or f"/wiring{each}" in asked]
        for conductor in self._thicker_conductors() if open_at else ():
            changed = replace(
                self._message, wiring=graph_with_cable(wiring, open_at, conductor), open=list[str]()
            )
            change = Change("thicker", whole, conductor.name)
            if self._passes(changed, change):
                yield from self._chosen(changed, "thicker", (change,))
                break

        def shared(percent: int) -> GaugeRecommendationRequest:
            return replace(self._message, wiring=graph_with_share_of_load(wiring, percent / PERCENT))

        percent = self._most_percent(shared)
        if percent:
            yield from self._chosen(
                shared(percent), "fewer-watts", (Change("fewer-watts", whole, f"{percent} %"),)
            )

    def _passes(self, message: GaugeRecommendationRequest, *changes: Change) -> bool:
        """Whether the thickest cable of the stock passes in a changed request."""
        assessment = self._assess(message)
        self._failed.append(_Failed(message, changes, assessment))
        return assessment.passes

    def _most_percent(self, shared: Callable[[int], GaugeRecommendationRequest]) -> int:
        """The largest share of the load that passes, in whole per cent; 0 where none does."""
        low, high = 0, PERCENT
        while high - low > 1:
            middle = (low + high) // 2
            if self._assess(shared(middle)).passes:
                low = middle
            else:
                high = middle
        return low

    def _tries(self) -> Iterator[Remedy]:
        """Each kind of change for all runs that need one; a larger box first where its rating binds."""
        wiring = self._message.wiring
        assert isinstance(wiring, RunsWiring)  # noqa: S101  asked only of runs
        plan = _Plan(self._lines(wiring), self._message.supply)
        base = self._trial(plan)
        self._fails(plan, base)
        boxed = self._boxed(plan) if base.loaded else plan
        failing = self._trial(boxed).failing
        if boxed.changes and not failing:
            yield from self._finished("larger-box", boxed)
        if failing:
            yield from self._tries_for_runs(boxed, failing)
        with suppress(*_CANNOT_BE_ASKED):
            yield from self._twice_the_voltage(plan)
        every = frozenset(range(len(plan.lines)))
        with suppress(*_CANNOT_BE_ASKED):
            yield from self._fewer_watts(plan, every if base.loaded else base.failing)

    def _boxed(self, plan: _Plan) -> _Plan:
        """A plan on the next larger box that carries it; as it is where none does."""
        others = tuple(change for change in plan.changes if change.code != "larger-box")
        for supply, rating in larger(plan.supply):
            change = Change("larger-box", JobPart("/supply"), rating)
            boxed = plan._replace(supply=supply, changes=(change, *others))
            if not self._trial(boxed).loaded:
                return boxed
        return plan

    def _tries_for_runs(self, plan: _Plan, failing: frozenset[int]) -> Iterator[Remedy]:
        helped = False
        ladders: tuple[tuple[str, Ladder], ...] = (
            ("tap-up", self._higher_taps),
            ("tap-down", self._lower_taps),
            ("box-with-taps", _usual_taps),
            ("other-cable", _opened),
            ("own-run", _own_runs),
            ("split-the-run", lambda line, _: _split(line, 2)),
            ("split-further", _split_further),
            ("feed-from-the-middle", lambda line, _: _alone(fed_from_the_middle(line))),
            ("close-the-loop", lambda line, _: _alone(closed_to_a_loop(line))),
            ("thicker", self._thicker),
        )
        for code, ladder in ladders:
            # A layout with more points may be more than one request can hold.
            with suppress(*_CANNOT_BE_ASKED):
                for remedy in self._finished(code, self._climbed(plan, failing, ((code, ladder),))):
                    helped = True
                    yield remedy
        if not helped and len(failing) > 1:
            with suppress(*_CANNOT_BE_ASKED):
                yield from self._finished("together", self._climbed(plan, failing, ladders))

    def _lines(self, wiring: RunsWiring) -> tuple[Line, ...]:
        message = self._message
        lines = []
        for place, run in enumerate(wiring.runs):
            at = f"/wiring/runs/{place}"
            asked = None if isinstance(message.open, UnsetType) else message.open
            open_at = asked and frozenset(each[len(at) :] for each in asked if each.startswith(f"{at}/"))
            if asked is not None and open_at == frozenset(cables_of(run)):
                open_at = None
            lines.append(Line(run, place, frozenset() if asked == [] else open_at))  # type: ignore[arg-type]
        return tuple(lines)

    def _climbed(
        self, plan: _Plan, failing: frozenset[int], ladders: Sequence[tuple[str, Ladder]]
    ) -> _Plan | None:
        """Every failing run with the smallest change that helps it; None where some cannot be helped so.

        A limit that is told last may show only when the others are kept.
        """
        runs, changed, left = len(plan.lines), set[int](), sorted(failing)
        while left:
            for done, place in enumerate(left):
                helped = self._first_that_helps(plan, place, frozenset(left[done + 1 :]), ladders)
                if helped is None:
                    return None
                plan = helped
            if self._trial(plan).loaded:
                plan = self._boxed(plan)
            changed.update(left)
            left = sorted(each for each in self._trial(plan).failing if each < runs and each not in changed)
        return plan

    def _first_that_helps(
        self, plan: _Plan, place: int, aside: frozenset[int], ladders: Sequence[tuple[str, Ladder]]
    ) -> _Plan | None:
        if place not in self._trial(plan, aside).failing:
            return plan
        for code, ladder in ladders:
            steps = list(ladder(plan.lines[place], plan.supply))
            changed = self._smallest(plan, place, aside, steps, code)
            if changed is not None:
                return changed
        return None

    def _smallest(
        self, plan: _Plan, place: int, aside: frozenset[int], steps: list[Step], code: str
    ) -> _Plan | None:
        """The smallest step with which a run passes; more than a few are gone through by halving."""
        kept = [self._stepped(plan, place, step, code) for step in steps]
        if len(kept) <= FEW_STEPS:
            return next((each for each in kept if self._helps(each, place, aside, len(plan.lines))), None)
        low, high = -1, len(kept)
        while high - low > 1:
            middle = (low + high) // 2
            if place in self._trial(kept[middle], aside).failing:
                low = middle
            else:
                high = middle
        found = kept[high] if high < len(kept) else None
        return found if found and self._helps(found, place, aside, len(plan.lines)) else None

    def _helps(self, plan: _Plan, place: int, aside: frozenset[int], before: int) -> bool:
        """Whether neither the run nor what was added for it fails."""
        trial = self._trial(plan, aside)
        if not aside:
            self._fails(plan, trial)
        return not trial.failing & {place, *range(before, len(plan.lines))}

    def _fails(self, plan: _Plan, trial: _Trial) -> None:
        """Remember what was tried of the whole job."""
        self._failed.append(_Failed(self._request(plan), plan.changes, trial.assessment))

    def _stepped(self, plan: _Plan, place: int, step: Step, code: str) -> _Plan:
        first, *new = step.lines
        lines = (*plan.lines[:place], first, *plan.lines[place + 1 :], *new)
        change = Change(code, self._subjects[first.place], step.parameter, place)
        supply = plan.supply if step.supply is None else step.supply
        return plan._replace(lines=lines, supply=supply, changes=(*plan.changes, change))

    def _request(self, plan: _Plan, aside: frozenset[int] = frozenset()) -> GaugeRecommendationRequest:
        """The request that a plan makes, some of its runs left aside."""
        lines = [line for place, line in enumerate(plan.lines) if place not in aside]
        wiring = self._message.wiring
        assert isinstance(wiring, RunsWiring)  # noqa: S101  asked only of runs
        wiring = replace(wiring, runs=[line.run for line in lines])
        if plan.nominal_v is not None:
            wiring = replace(wiring, nominal_voltage=NominalVoltage(plan.nominal_v, "V"))
        asked: list[str] | UnsetType = UNSET
        if any(line.open_at is not None for line in lines):
            asked = [
                f"/wiring/runs/{place}{pointer}"
                for place, line in enumerate(lines)
                for pointer in (cables_of(line.run) if line.open_at is None else sorted(line.open_at))
            ]
        return replace(self._message, wiring=wiring, supply=plan.supply, open=asked)

    def _trial(self, plan: _Plan, aside: frozenset[int] = frozenset()) -> _Trial:
        """A plan with the thickest cable in every open place, some of its runs left aside; remembered."""
        key = id(plan), aside
        if key not in self._trials:
            # The plan is kept as well, so that no other one can get its identity.
            self._trials[key] = plan, self._tried(plan, aside)
        return self._trials[key][1]

    def _tried(self, plan: _Plan, aside: frozenset[int]) -> _Trial:
        shown = [place for place in range(len(plan.lines)) if place not in aside]
        assessor = self._assessor(self._request(plan, aside))
        assessment = _everywhere(assessor)
        broken = {breach.kind for breach in assessment.breaches}
        if NO_OPERATING_POINT in broken:
            beyond = {finding.kind for finding in assessor.beyond_choice()}
            return _Trial(assessment, self._collapsed(plan, shown), loaded=bool(beyond & OVER_RATING))
        failing = {shown[place] for part in assessment.parts if (place := _run_of(part)) is not None}
        if AMPACITY_UNKNOWN in broken:
            failing.update(place for place in shown if plan.lines[place].open_at != frozenset())
        return _Trial(assessment, frozenset(failing), loaded=bool(broken & OVER_RATING))

    def _collapsed(self, plan: _Plan, shown: list[int]) -> frozenset[int]:
        """Which of the runs that cannot be carried together cannot be carried alone; all if each can be."""
        if len(shown) == 1:
            return frozenset(shown)
        every = frozenset(range(len(plan.lines)))
        alone = {place for place in shown if self._assess(self._request(plan, every - {place})).breaches}
        return frozenset(alone or shown)

    def _assess(self, message: GaugeRecommendationRequest) -> Assessment:
        return _everywhere(self._assessor(message))

    def _assessor(self, message: GaugeRecommendationRequest) -> Assessor:
        """Of the thickest cable of the stock, everywhere."""
        question = question_of(message)
        assessor = Assessor(
            question.job, (self._thickest,), self._budget, question.offered_taps_v, question.accepted
        )
        spans = assessor.layout_spans
        laid_at = frozenset(span.cable_at for span in spans if span.cable_at)
        open_at = laid_at if question.open_cables is None else question.open_cables & laid_at
        assessor.slots = slots_of(spans, open_at, "one")
        return assessor

    def _finished(self, code: str, plan: _Plan | None) -> Iterator[Remedy]:
        """The cheapest cables of the stock for a plan, if with them all passes."""
        if plan is None or not plan.changes:
            return
        yield from self._chosen(self._request(plan), code, plan.changes)

    def _chosen(
        self, message: GaugeRecommendationRequest, code: str, changes: tuple[Change, ...]
    ) -> Iterator[Remedy]:
        # Whatever one request cannot hold, or has no work left for, is left out.
        with suppress(WorkOverLimitError, *_CANNOT_BE_ASKED):
            question = question_of(message)
            choosing = Choosing(message, question, int(self._budget.left * SEARCH_SHARE))
            chosen = choosing.search.run()
            self._budget.spend(min(choosing.search.spent, self._budget.left))
            if chosen.found is None or choosing.last is None:
                return
            wiring, solved = choosing.last
            bought = (*choosing.search.bought(self._budget.left), *self._unpriced(changes, chosen.spans))
            yield Remedy(
                code,
                changes,
                chosen.found.assessment,
                wiring,
                self._changed_supply(message),
                bought,
                _cable_m(chosen.spans) - self._length_m,
                solved.layout,
            )

    def _unpriced(self, changes: tuple[Change, ...], spans: list[LaidSpan]) -> Iterator[Purchase]:
        """The cable that the stock does not have; no price of it is known."""
        own, asked = self._thickest.conductor, self._message.open
        for name in dict.fromkeys(each.parameter for each in changes if each.code == "thicker"):
            at = tuple(
                "/wiring/" if each.place is None else f"/wiring/runs/{each.place}/"
                for each in changes
                if (each.code, each.parameter) == ("thicker", name)
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
        question = question_of(message)
        searched = Choosing(message, question).search.recommended
        found = Found((thickest_of(question),) * len(searched.slots), assessment, exact=False, bound=0.0)
        wiring = filled_wiring(message.wiring, searched, found, question.job.feeders())
        changes = changes or (Change("thickest-of-the-stock", JobPart("/wiring")),)
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
        metric = own.name.endswith("mm2")
        names = [name for name in tables.CONDUCTOR_NAMES if name.endswith("mm2") == metric]
        return [Listed(name, own.material, own.stranding) for name in names[names.index(own.name) + 1 :]]

    def _twice_the_voltage(self, plan: _Plan) -> Iterator[Remedy]:
        """The same watts at 24 V, where supply and fixtures are of 12 V."""
        nominal = self._message.wiring.nominal_voltage
        of_12_v = rated_v(plan.supply) == TWELVE_V
        if not of_12_v or not (isinstance(nominal, UnsetType) or nominal.value == TWELVE_V):
            return
        supply = doubled_supply(plan.supply)
        if supply is None:
            return
        change = Change("twice-the-voltage", JobPart("/supply"), "24 V")
        lines = tuple(doubled(line) for line in plan.lines)
        changed = _Plan(lines, supply, (change,), 24.0)
        trial = self._trial(changed)
        self._fails(changed, trial)
        if trial.assessment.passes:
            yield from self._finished(change.code, changed)

    def _fewer_watts(self, plan: _Plan, failing: frozenset[int]) -> Iterator[Remedy]:
        """The largest share of the load of the runs that fail, in whole per cent, with which all passes."""
        least = self._trial(self._with_share(plan, failing, 1))
        while least.failing - failing:
            failing |= least.failing
            least = self._trial(self._with_share(plan, failing, 1))
        percent = self._most_percent(lambda each: self._request(self._with_share(plan, failing, each)))
        if percent:
            yield from self._finished("fewer-watts", self._with_share(plan, failing, percent))

    def _with_share(self, plan: _Plan, failing: frozenset[int], percent: int) -> _Plan:
        lines = tuple(
            with_share_of_load(line, percent / PERCENT) if place in failing else line
            for place, line in enumerate(plan.lines)
        )
        changes = [
            Change("fewer-watts", self._subjects[plan.lines[place].place], f"{percent} %")
            for place in sorted(failing)
        ]
        return plan._replace(lines=lines, changes=tuple(changes))


_CANNOT_BE_ASKED = (JobTooLargeError, WiringContradictoryError, ValidationError)
"""What a request cannot have: too many points, a contradiction, a value beyond its bounds."""


def _alone(lines: tuple[Line, ...] | None, parameter: str = "") -> Iterator[Step]:
    if lines is not None:
        yield Step(lines, parameter)


def _own_runs(line: Line, _: Supply) -> Iterator[Step]:
    """The farthest places on a run of their own: one of them, two, and so on."""
    places = len(stands_of(line.run))
    for moved in range(1, places):
        yield from _alone(parted(line, (places - moved,)), str(moved))


def _split(line: Line, parts: int) -> Iterator[Step]:
    """As many places on each of several runs."""
    places = len(stands_of(line.run))
    bounds = tuple(places * part // parts for part in range(1, parts))
    if places >= parts:
        yield from _alone(parted(line, bounds), str(parts))


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


OVER_RATING: Final = frozenset({TRANSFORMER_OVER_RATING, WINDING_OVER_CURRENT, RATING_AT_USUAL_POWER_FACTOR})
"""What a larger box of the same kind helps."""


def _everywhere(assessor: Assessor) -> Assessment:
    """Its one cable in every open place."""
    return assessor.compared((0,) * len(assessor.slots))


def _shortfall(assessment: Assessment) -> tuple[bool, int, float]:
    """How far from passing: nothing can be carried, how many limits are broken, and by how much."""
    breaches = assessment.breaches
    collapsed = any(breach.kind is NO_OPERATING_POINT for breach in breaches)
    return collapsed, len(breaches), sum(breach.excess for breach in breaches)


def _cable_m(spans: list[LaidSpan]) -> float:
    """Length of all cable, leads apart. [m]"""
    laid_at = frozenset(span.cable_at for span in spans if span.cable_at)
    return sum(slot.length_m for slot in slots_of(spans, laid_at, "one"))


def _code_of(changes: tuple[Change, ...]) -> str:
    """The code of changes that are all of one kind."""
    codes = {change.code for change in changes}
    return codes.pop() if len(codes) == 1 else "together"


def _rank(remedy: Remedy) -> tuple[object, ...]:
    """Those that pass first, then by price, then by metres."""
    total = remedy.total
    return (
        not remedy.assessment.passes,
        max(LAST.get(change.code, 0) for change in remedy.changes),
        total is None,
        total or Decimal(0),
        remedy.more_m,
    )


REMEDIES: Final[dict[str, str]] = {
    "larger-box": "Use a box of {parameter}, otherwise the same; its price is not known here.",
    "tap-up": "Put {where} on the {parameter} tap.",
    "tap-down": "Put {where} on the {parameter} tap.",
    "box-with-taps": "Use a box with taps of 12, 13, 14 and 15 V, its price not known here, and put {where}"
    " on its {parameter} tap.",
    "other-cable": "Lay other cable of the stock in {where}.",
    "own-run": "Move the fixtures of {where} that are farthest to a new run from the supply along the same"
    " route; places moved: {parameter}.",
    "split-the-run": "Split {where} in two, half of its places on each, both from the supply.",
    "split-further": "Split {where} in {parameter}, as many of its places on each, all from the supply.",
    "feed-from-the-middle": "Bring the cable of {where} to the middle of its fixtures and feed both ways.",
    "close-the-loop": "Bring the far end of {where} back to the supply.",
    "thicker": "Use {parameter} in {where}: the stock does not have it, and no price of it is known.",
    "twice-the-voltage": "Use a 24 V supply and 24 V fixtures of the same watts; no price of them is known.",
    "allow-joints": 'Allow joints in the cable: `cutting.joints` "anywhere".',
    "longer-spool": "Offer a spool that holds the longest piece.",
    "fewer-watts": "Bring every load of {where} down to {parameter} of its watts.",
    "thickest-of-the-stock": "Use the thickest cable of the stock; nothing that was tried is enough.",
}


def remedy_row(remedy: Remedy, asked: PlaceNames, unit: str) -> RemedyRow:
    """A remedy in words: places are those of the request, in `outcome` those of the changed wiring."""
    naming = PlaceNames(remedy.layout, unit)
    changes = [_change_row(change, asked) for change in remedy.changes]
    subjects = {change.subject for change in remedy.changes}
    parameters = {change.parameter for change in remedy.changes}
    total = remedy.total
    return RemedyRow(
        code=remedy.code,
        message=" ".join(change.message for change in changes),
        outcome=outcome_row(remedy.assessment, naming),
        subject=subject_row(subjects.pop() if len(subjects) == 1 else JobPart("/wiring")),
        changes=changes,
        wiring=remedy.wiring,
        more_cable=length_row(remedy.more_m, naming),
        purchase=[purchase_row(line, naming) for line in remedy.purchase],
        parameter=(parameters.pop() or UNSET) if len(parameters) == 1 else UNSET,
        supply=UNSET if remedy.supply is None else remedy.supply,
        total=UNSET if total is None else str(total),
    )


def _change_row(change: Change, asked: PlaceNames) -> RemedyChange:
    words = REMEDIES[change.code].format(where=asked.subject(change.subject), parameter=change.parameter)
    return RemedyChange(change.code, words, subject_row(change.subject), change.parameter or UNSET)
