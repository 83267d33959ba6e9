"""Run division: a request into its job, and what was divided into a reply."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import Decimal
from typing import NamedTuple

from msgspec import UNSET
from msgspec.structs import replace

from service.findings.rows import Closing
from service.intake import words
from service.studies.gauge_recommendation.candidates import Candidate
from service.studies.gauge_recommendation.choosing import Choosing
from service.studies.gauge_recommendation.reply import GaugeRecommendationReply, Recommended, ShownMetal
from service.studies.gauge_recommendation.request import GaugeRecommendationRequest
from service.studies.gauge_recommendation.study import gauge_recommendation_work
from service.studies.gauge_recommendation.translate import as_stated, money
from service.studies.gauge_recommendation.translate import job_of as gauge_job
from service.studies.run_division.composing import (
    PlacedRun,
    ReadZone,
    gauge_request,
    length_unit_of,
    placed_runs,
    read_zones,
)
from service.studies.run_division.division import HUB, RunPlan, ZonePlan, plans_of
from service.studies.run_division.reply import (
    ComparedPlan,
    Divided,
    DividedRunRow,
    DividedZone,
    HubPlace,
    NotDivided,
    RunDivisionReply,
    RunFixtures,
)
from service.studies.run_division.request import USUAL_RUNS, RunDivisionRequest
from service.studies.run_division.study import Attempt, DividedZones, DivisionJob, DivisionTrial, TriedPlan
from service.translate.rows import length_in, volt_amperes
from service.wire.optional import given
from service.wire.quantities import ShownVoltage
from service.wire.summary import LoadSummary


class DivisionQuestion(NamedTuple):
    """The job of a request, its zones with where their fixtures come from, and how a division is tried."""

    job: DivisionJob
    zones: tuple[ReadZone, ...]


def question_of(request: RunDivisionRequest) -> DivisionQuestion:
    """What a request asks.

    Raises
    ------
    JobTooLargeError, WiringContradictoryError
        The zones cannot be read.
    """
    zones = read_zones(request)
    runs_at_most = int(given(request.runs_at_most) or USUAL_RUNS)
    hubs = given(request.hubs) is not False
    plans = tuple(tuple(plans_of(read.zone, runs_at_most, hubs=hubs)) for read in zones)
    choice = gauge_job(_asked(request, zones, [of_zone[-1] for of_zone in plans]))
    job = DivisionJob(
        plans=plans,
        least_per_m=_least_per_m(choice.candidates),
        whole=gauge_recommendation_work(choice),
    )
    return DivisionQuestion(job, zones)


def _least_per_m(candidates: Sequence[Candidate]) -> float:
    """What a metre of cable costs at least. [currency/m], or [mm²] where not every one has a price"""
    if all(candidate.priced for candidate in candidates):
        return min(float(candidate.least_price_per_m()) for candidate in candidates)
    return min(candidate.metal_mm2() for candidate in candidates)


def _asked(
    request: RunDivisionRequest, zones: Sequence[ReadZone], plans: Sequence[ZonePlan | None]
) -> GaugeRecommendationRequest:
    return gauge_request(request, zones, placed_runs(request, plans))


WORK_OF_A_TRIAL = 2_000
"""What the search for the cables of one division may spend."""


def attempt_of(
    request: RunDivisionRequest, zones: Sequence[ReadZone], *, stated_alone: bool = False
) -> Attempt:
    """How a division is tried: `stated_alone`, in the state that the request describes and no usual range."""

    def attempt(plans: Sequence[ZonePlan | None]) -> DivisionTrial:
        asked = _asked(request, zones, plans)
        asked = as_stated(asked) if stated_alone else asked
        choosing = Choosing(asked, gauge_job(asked), WORK_OF_A_TRIAL)
        chosen = choosing.search.run()
        return DivisionTrial(choosing.search.cost, proven=chosen.proven)

    return attempt


def reply_of(
    request: RunDivisionRequest,
    question: DivisionQuestion,
    divided: DividedZones,
    recommend: Callable[[GaugeRecommendationRequest], GaugeRecommendationReply],
) -> RunDivisionReply:
    """The reply; `recommend` chooses the cables in the division that is taken."""
    runs = placed_runs(request, divided.plans)
    asked = gauge_request(request, question.zones, runs)
    chosen = recommend(asked)
    rows = _Rows(request, question, divided, runs, chosen)
    closing = Closing(
        assumptions=chosen.assumptions,
        sources=chosen.sources,
        cautions=chosen.cautions,
        calculation_version=chosen.calculation_version,
        tables_version=chosen.tables_version,
        request_sha256=chosen.request_sha256,
        id=request.id,
    )
    method = "all-tried" if divided.complete else "best-found"
    if isinstance(chosen, Recommended):
        return Divided(
            summary=rows.summary(),
            method=method,
            zones=rows.zones(),
            wiring=chosen.wiring,
            outcome=chosen.outcome,
            chosen=chosen.chosen,
            purchase=chosen.purchase,
            compared=rows.compared(),
            findings=chosen.findings,
            taps=chosen.taps,
            total=chosen.total,
            least_possible_total=chosen.least_possible_total,
            least_possible_metal=chosen.least_possible_metal,
            judged_conditions=chosen.judged_conditions,
            currency=request.currency,
            **closing,
        )
    return NotDivided(
        summary=rows.summary(),
        method=method,
        zones=rows.zones(),
        wiring=asked.wiring,
        compared=rows.compared(),
        remedies=chosen.remedies,
        findings=chosen.findings,
        judged_conditions=chosen.judged_conditions,
        currency=request.currency,
        **closing,
    )


class _Rows:
    """Zones, runs and plans as the reply tells them."""

    def __init__(
        self,
        request: RunDivisionRequest,
        question: DivisionQuestion,
        divided: DividedZones,
        runs: list[PlacedRun],
        chosen: GaugeRecommendationReply,
    ) -> None:
        self._request, self._question, self._divided = request, question, divided
        self._runs, self._chosen, self._unit = runs, chosen, length_unit_of(request)

    def summary(self) -> LoadSummary:
        """The answer to the choice of cables, and how the zones are divided."""
        summary = self._chosen.summary
        named = words.listed([self._in_words(index) for index in range(len(self._question.zones))], "and")
        told = "Divided" if isinstance(self._chosen, Recommended) else "Divided so far"
        return replace(summary, text=f"{summary.text} {told}: {named}.")

    def _in_words(self, zone: int) -> str:
        runs = self._divided.plans[zone].runs
        lamps = [str(len(run.onward) + len(run.back)) for run in runs]
        name, hub = self._request.zones[zone].name, " from a hub" if runs[0].form == HUB else ""
        if len(runs) == 1:
            return f"{name} in one run{hub}"
        several = " from hubs" if any(run.form == HUB for run in runs) else ""
        return f"{name} in {len(runs)} runs{several} of {words.listed(lamps, 'and')} fixtures"

    def zones(self) -> list[DividedZone]:
        """The zones, and the runs of each."""
        return [
            DividedZone(
                pointer=f"/zones/{index}",
                name=zone.name,
                runs=[self._run(place, run) for place, run in enumerate(self._runs) if run.zone == index],
                id=zone.id,
            )
            for index, zone in enumerate(self._request.zones)
        ]

    def _run(self, place: int, run: PlacedRun) -> DividedRunRow:
        plan, pointer = run.plan, f"/wiring/runs/{place}"
        return DividedRunRow(
            name=run.name,
            pointer=pointer,
            form=plan.form,
            load=volt_amperes(plan.load_va),
            cable=length_in(plan.cable_m, self._unit),
            fixtures=self._fixtures(run.zone, plan),
            tap=self._taps().get(pointer, UNSET),
            circuit=UNSET if run.circuit is None else run.circuit,
            hub=HubPlace(
                length_in(plan.hub_m, self._unit), length_in(plan.leg_m, self._unit), len(plan.onward)
            )
            if plan.form == HUB
            else UNSET,
        )

    def _taps(self) -> dict[str, ShownVoltage]:
        taps = self._chosen.taps if isinstance(self._chosen, Recommended) else UNSET
        return {row.pointer: row.tap for row in given(taps) or ()}

    def _fixtures(self, zone: int, plan: RunPlan) -> list[RunFixtures]:
        rows = []
        for way in (plan.onward, plan.back):
            found: dict[int, list[int]] = {}
            for lamp in way:
                source = self._question.zones[zone].sources[lamp]
                found.setdefault(source.line, []).append(source.number)
            rows += [
                RunFixtures(f"/zones/{zone}/fixtures/{line}", numbers[0], numbers[-1])
                for line, numbers in found.items()
            ]
        return rows

    def compared(self) -> list[ComparedPlan]:
        """Every plan, alone on the supply."""
        return [self._plan(tried) for tried in self._divided.tried]

    def _plan(self, tried: TriedPlan) -> ComparedPlan:
        plan, trial = tried.plan, tried.trial
        passes = trial is not None and trial.passes
        priced = self._request.stock is not UNSET and all(
            cable.price is not UNSET for cable in given(self._request.stock) or ()
        )
        return ComparedPlan(
            pointer=f"/zones/{tried.zone}",
            runs=len(plan.runs),
            hubs=plan.hubs,
            largest_load=volt_amperes(plan.largest_va),
            cable=length_in(plan.cable_m, self._unit),
            outcome=_outcome(tried),
            taken=plan == self._divided.plans[tried.zone],
            price=money(Decimal(repr(trial.cost))) if trial is not None and passes and priced else UNSET,
            metal=ShownMetal(float(f"{trial.cost:.6g}"), "mm2.m")
            if trial is not None and passes and not priced
            else UNSET,
        )


def _outcome(tried: TriedPlan) -> str:
    if tried.trial is not None:
        return "passes" if tried.trial.passes else "fails"
    return "dearer" if tried.dearer else "untried"
