"""Least-cost layout: a request into its job, and what was found into a reply."""

from __future__ import annotations

import re
from collections.abc import Sequence
from decimal import ROUND_FLOOR, Decimal
from typing import Final, TypedDict

from msgspec import UNSET, UnsetType
from msgspec.structs import replace

from service.circuit.estimate import drop_work, size_of
from service.circuit.job import JobPart
from service.circuit.work import work_of
from service.findings.assumptions import AssumptionKind
from service.findings.finding import FAULT, FindingFacts
from service.findings.rows import Closing, closing
from service.findings.summary import (
    FAILS,
    finding_rows,
    grouped,
    shown_of,
    verdict_of,
)
from service.intake.words import listed
from service.studies.gauge_recommendation.buying import (
    MICROMETRES,
    PIECE_LONGER_THAN_ANY_SPOOL,
    LaidPiece,
    TooLong,
)
from service.studies.gauge_recommendation.candidates import Candidate
from service.studies.gauge_recommendation.reply import CutPiece, PurchaseLine, SpoolCount, SpoolCuts
from service.studies.gauge_recommendation.translate import cable_name, in_cents, money
from service.studies.least_cost_layout.bound import BoundTerms, within_percent
from service.studies.least_cost_layout.certificate import AnsweredCertificate
from service.studies.least_cost_layout.certifying import Most
from service.studies.least_cost_layout.composing import (
    SupplyBody,
    accepted_of,
    bodies_of,
    job_of_fixtures,
    question_of,
    trial_site,
)
from service.studies.least_cost_layout.drafts import SiteDesign
from service.studies.least_cost_layout.engine import RELAXATION, available
from service.studies.least_cost_layout.pricing import BoughtCable, DesignCosts, costs_of
from service.studies.least_cost_layout.quoting import quote_alternative, unnamed
from service.studies.least_cost_layout.reply import (
    BoundShares,
    ComparedLayout,
    CostBound,
    CostGap,
    JointCount,
    LaidOut,
    LaidRun,
    LaidSpanRow,
    LaidSupply,
    LaidTrench,
    LayoutCosts,
    LayoutHelp,
    LeastCostLayoutReply,
    NoLayoutFound,
    NoLayoutPasses,
    PreviousAnswer,
    SiteLayout,
    UnreachedFixture,
)
from service.studies.least_cost_layout.request import (
    MOST_BRANCHES,
    MOST_CASES,
    MOST_MULTIPLIERS,
    USUAL_EFFORT,
    LeastCostLayoutRequest,
)
from service.studies.least_cost_layout.resuming import certificate_of, previous_of
from service.studies.least_cost_layout.site import distances_m
from service.studies.least_cost_layout.study import (
    ComparedWay,
    JudgedLayout,
    Judging,
    LayoutJob,
    LayoutResult,
)
from service.studies.voltage_drop.study import DropAnswer, voltage_drop
from service.translate.job import described_job
from service.translate.naming import PlaceNames
from service.translate.rounding import DECIMALS, rounded
from service.translate.rows import length_in, volt_amperes, volts
from service.translate.shared import with_shared
from service.wire.optional import given
from service.wire.reply import Finding, Subject
from service.wire.summary import FindingGroup, Summary

LENGTHS_AS_DRAWN: Final = AssumptionKind(
    "lengths-as-drawn",
    "Cable is as long as the routes it lies in: nothing is added for slack, for rises or for making up ends.",
)


ROUTES_STRAIGHT: Final = AssumptionKind(
    "routes-straight",
    "Routes without a length are as long as the straight line between their places.",
)


LEFT_OUT: Final = (
    "sizes-between-cables",
    "window-tops",
    "circuits",
    "losses",
    "tees-and-splices",
    "whole-spools",
)
"""What raises the cost of layouts and is not in the closed form."""


LEFT_OUT_OF_RELAXATION: Final = tuple("splices" if each == "tees-and-splices" else each for each in LEFT_OUT)
"""And what is not in a relaxation, which counts tees."""


class GoingOn(TypedDict):
    """Members of a reply for going on, as keyword arguments."""

    certificate: AnsweredCertificate
    certified_bound: str | UnsetType
    previous: PreviousAnswer | UnsetType


class LayoutTask:
    """The question of a request, its job, and how designs of it are judged.

    Parameters
    ----------
    request : LeastCostLayoutRequest
    """

    def __init__(self, request: LeastCostLayoutRequest) -> None:
        self.request = request
        self.question = question_of(request, USUAL_EFFORT)
        drawn = job_of_fixtures(request)
        size = size_of(drawn)
        more = POINTS_OF_A_LAMP * len(self.question.site.lamps)
        whole = size._replace(points=size.points + more, effort=size.effort + more)
        self.job = LayoutJob(
            self.question.site,
            self.question.effort,
            2 * drop_work(drawn, whole) + 2 * work_of(whole.effort),
            accepted_of(request),
            None if isinstance(request.previous, UnsetType) else previous_of(request.previous, self.question),
            Most(MOST_MULTIPLIERS, MOST_CASES, MOST_BRANCHES) if request.certify is True else None,
            trial_site(request, self.question.site, drawn),
        )

    @property
    def joined(self) -> bool:
        """Whether pieces of cable may be joined."""
        cutting = given(self.request.cutting)
        return cutting is not None and cutting.joints == "anywhere"

    @property
    def judging(self) -> Judging:
        """How a design is solved and priced."""
        return Judging(self._solved, lambda design: self.costs(design).total)

    def costs(self, design: SiteDesign) -> DesignCosts:
        """What a design costs."""
        return costs_of(self.question.site, self.question.candidates, design, joined=self.joined)

    def bodies(self, design: SiteDesign) -> list[SupplyBody]:
        """A body for voltage-drop for each box of a design."""
        return bodies_of(self.request, self.question, design)

    def _solved(self, design: SiteDesign) -> list[DropAnswer]:
        found = []
        for body in self.bodies(design):
            answer = voltage_drop(described_job(with_shared(body.request)))
            found.append(answer._replace(findings=[*answer.findings, *self._too_long(design, body)]))
        return found

    def _too_long(self, design: SiteDesign, body: SupplyBody) -> list[FindingFacts]:
        """Each span that the longest spool of its cable does not hold."""
        found = []
        for number, (span, placed) in enumerate(zip(body.laid, body.spans, strict=True)):
            tree, fit = design.runs[placed.run].tree, design.runs[placed.run].fit
            candidate = self.question.candidates[fit.cables[placed.point]]
            piece = LaidPiece(f"/wiring/spans/{number}", 0, 0, tree.lengths_m[placed.point], 1)
            if candidate.spools and not self.joined and (long := TooLong(piece, candidate)).does_not_fit:
                where = f"The cable from {span.start} to {span.end}"
                found.append(long.finding(where, candidate.subject.id or cable_name(candidate)))
        return found


POINTS_OF_A_LAMP: Final = 3
"""Points that a lamp and the parting of the cable to it may need."""


def reply_of(task: LayoutTask, result: LayoutResult, sha256: str) -> LeastCostLayoutReply:
    """The reply to a request."""
    rows = _Rows(task, result, sha256)
    if result.proof.proven or result.refuted:
        return rows.none_passes()
    return rows.none_found() if result.layout is None else rows.laid_out(result.layout)


class _Rows:
    """What was found, as the reply tells it."""

    def __init__(self, task: LayoutTask, result: LayoutResult, sha256: str) -> None:
        self._task, self._result, self._sha256 = task, result, sha256
        self._request, self._question = task.request, task.question
        self._site, self._unit = task.question.site, task.question.unit

    def laid_out(self, layout: JudgedLayout) -> LaidOut:
        bodies, costs = self._task.bodies(layout.design), self._task.costs(layout.design)
        findings, groups, verdict = self._told(layout, bodies)
        gap = within_percent(costs.total, self._result.bound.amount)
        return LaidOut(
            summary=Summary(self._laid_text(layout, costs, gap), groups, verdict),
            method=self._method,
            work=self._result.spent,
            judged_conditions=self._question.conditions,
            currency=self._request.currency,
            layout=SiteLayout(
                [self._supply(layout, body) for body in bodies],
                self._trenches(layout.design, costs),
                [JointCount(each.kind, each.number, money(each.price)) for each in costs.joints],
            ),
            costs=LayoutCosts(
                transformers=money(costs.boxes),
                mounting_points=money(costs.mounting),
                cable=money(costs.cable),
                trenches=money(costs.trench),
                joints=money(costs.joint),
                total=money(costs.total),
            ),
            purchase=[self._purchase(bought, bodies) for bought in costs.cables],
            bound=CostGap(
                amount=money(self._result.bound.amount, ROUND_FLOOR),
                shares=_shares(self._result.bound),
                left_out=self._left_out,
                within_percent=float(gap),
            ),
            compared=[self._compared(way) for way in self._result.compared],
            **self._going_on(layout),
            quote_lacks=unnamed(self._request),
            quote_alternative=quote_alternative(self._request, bodies),
            findings=findings,
            **self._closing(layout.answers),
        )

    def _going_on(self, layout: JudgedLayout | None) -> GoingOn:
        """What another request goes on from, and what came of that which this one did."""
        found = self._result.certified
        design = None if layout is None else layout.design
        certificate = certificate_of(self._question, design, () if found is None else found.proofs)
        bound = UNSET if found is None else money(found.amount, ROUND_FLOOR)
        return GoingOn(certificate=certificate, certified_bound=bound, previous=self._before())

    def _before(self) -> PreviousAnswer | UnsetType:
        """What came of the answer that this one goes on from."""
        before, sent = self._result.previous, given(self._request.previous)
        if before is None or sent is None:
            return UNSET
        broken = () if before.layout is None else before.layout.broken
        passes = before.layout is not None and not broken
        # What cannot be cut has no price.
        uncut = any(found.kind is PIECE_LONGER_THAN_ANY_SPOOL for found in broken)
        return PreviousAnswer(
            ("passes" if passes else "breaks-limits") if sent.supplies else "none",
            money(before.bound, ROUND_FLOOR),
            UNSET if before.layout is None or uncut else money(before.layout.cost),
        )

    @property
    def _left_out(self) -> list[str]:
        return list(LEFT_OUT_OF_RELAXATION if self._result.relaxed else LEFT_OUT)

    @property
    def _method(self) -> str:
        return RELAXATION if self._result.relaxed else CLOSED_FORM

    def none_passes(self) -> NoLayoutPasses:
        proof, text = self._result.proof, self._impossible_text()
        if not self._result.helps:
            text = f"{text} No one change that was tried is enough."
        return NoLayoutPasses(
            summary=Summary(text, [], FAILS),
            method=self._method,
            work=self._result.spent,
            judged_conditions=self._question.conditions,
            currency=self._request.currency,
            unreached=[
                UnreachedFixture(
                    self._site.lamps[each.lamp].subject.pointer,
                    length_in(each.distance_m, self._unit),
                    length_in(each.reach_m, self._unit),
                    self._nearest_mount(each.lamp),
                    _id(self._site.lamps[each.lamp].subject),
                )
                for each in proof.lamps
            ],
            helps=self._helps(),
            connected=volt_amperes(proof.needed_va),
            carried=UNSET if proof.most_va is None else volt_amperes(proof.most_va),
            **self._closing(()),
        )

    def _nearest_mount(self, lamp: int) -> str:
        """The mounting point from which the way to a fixture is shortest."""
        site, place = self._site, self._site.lamps[lamp].place
        nearest = min(range(len(site.mounts)), key=lambda each: (distances_m(site, [each])[place], each))
        return site.mounts[nearest].subject.pointer

    def none_found(self) -> NoLayoutFound:
        nearest = self._result.nearest
        findings, groups = list[Finding](), list[FindingGroup]()
        text = "No layout was found that passes; there may be one."
        if nearest is not None:
            findings, groups, _ = self._told(nearest, self._task.bodies(nearest.design))
            worst = next((group.message for group in groups if group.severity == FAULT), None)
            worst = worst or (groups[0].message if groups else None)
            text = f"{text} Of the best one that was tried: {worst}" if worst else text
        return NoLayoutFound(
            summary=Summary(text, groups, FAILS),
            method=self._method,
            work=self._result.spent,
            judged_conditions=self._question.conditions,
            currency=self._request.currency,
            helps=self._helps(),
            bound=CostBound(
                money(self._result.bound.amount, ROUND_FLOOR), _shares(self._result.bound), self._left_out
            ),
            findings=findings,
            **self._going_on(None),
            **self._closing(() if nearest is None else nearest.answers),
        )

    def _closing(self, answers: Sequence[DropAnswer]) -> Closing:
        assumed = [kind for answer in answers for kind in answer.assumptions]
        if any(route.length is UNSET for route in self._request.routes):
            assumed.append(ROUTES_STRAIGHT)
        if not available() and not self._result.proof.proven:
            assumed.append(BOUND_CLOSED_FORM)
        return closing(
            [*dict.fromkeys(assumed), LENGTHS_AS_DRAWN],
            [source for answer in answers for source in answer.sources],
            sha256=self._sha256,
            caller_id=self._request.id,
        )

    def _laid_text(self, layout: JudgedLayout, costs: DesignCosts, gap: Decimal) -> str:
        design, currency = layout.design, given(self._request.currency)
        boxes = [self._request.transformers[box.offer].id for box in design.boxes]
        mounts = [self._question.names[self._site.mounts[box.mount].place] for box in design.boxes]
        placed = listed([f'"{box}" at {at}' for box, at in zip(boxes, mounts, strict=True)], "and")
        runs = f"{len(design.runs)} run{'s' if len(design.runs) > 1 else ''}"
        total = f"{money(costs.total)} {currency or ''}".rstrip()
        return (
            f"{len(self._site.lamps)} fixture{'s' if len(self._site.lamps) > 1 else ''} on {runs} from"
            f" {placed}: {total}. No layout that passes costs less than"
            f" {money(self._result.bound.amount, ROUND_FLOOR)}; this one is within {gap} % of the cheapest."
        )

    def _impossible_text(self) -> str:
        proof = self._result.proof
        if proof.most_va is not None:
            return (
                f"No layout passes: the fixtures draw {proof.needed_va:.0f} VA at least, and all transformers"
                f" that may be mounted carry {proof.most_va:.0f} VA at low mains."
            )
        if not proof.lamps:
            names = self._question.names
            mounts = listed([names[mount.place] for mount in self._site.mounts], "and")
            fed = f"all {len(self._site.lamps)} fixtures" if len(self._site.lamps) > 1 else "the fixture"
            return (
                f"No layout passes: whichever transformers are mounted at {mounts}, they do not carry {fed},"
                " whatever the routes and runs, with one cable to each fixture. Cable and windings take so"
                " much that a fixture gets too little voltage or a transformer carries too much."
            )
        worst = max(proof.lamps, key=lambda each: each.distance_m - each.reach_m)
        name = self._fixture_name(worst.lamp)
        far, reach = self._in_words(worst.distance_m), self._in_words(worst.reach_m)
        others = len(proof.lamps) - 1
        also = f" and {others} more" if others else ""
        return (
            f"No layout passes: {name}{also} cannot get enough voltage. It is {far} from the nearest"
            f" mounting point by the routes; one cable, the best of the stock, reaches {reach}."
        )

    def _in_words(self, length_m: float) -> str:
        return f"{length_in(length_m, self._unit).value:.1f} {self._unit}"

    def _fixture_name(self, lamp: int) -> str:
        own = self._request.fixtures[lamp]
        return given(own.name) or f"the fixture at {own.place}"

    def _helps(self) -> list[LayoutHelp]:
        """What helps, as far as that was tried."""
        return [HELPS[code] for code in self._result.helps]

    def _told(
        self, layout: JudgedLayout, bodies: Sequence[SupplyBody]
    ) -> tuple[list[Finding], list[FindingGroup], str]:
        """The findings of every box with pointers into the request, once each and kind by kind."""
        rows, groups, all_found = list[Finding](), list[FindingGroup](), []
        for body, answer in zip(bodies, layout.answers, strict=True):
            naming = PlaceNames(answer.layout, self._unit)
            all_found += answer.findings
            rows += [
                replace(row, subject=self._subject(row.subject, body, layout.design))
                for row in finding_rows(answer.findings, naming)
            ]
            groups += [
                replace(
                    group,
                    pointers=list(
                        dict.fromkeys(self._pointer(each, body, layout.design) for each in group.pointers)
                    ),
                )
                for group in grouped(answer.findings, naming)
            ]
        order = {"fault": 0, "warning": 1, "note": 2}
        rows.sort(key=lambda row: order[row.severity])
        groups.sort(key=lambda group: order[group.severity])
        return rows, groups, verdict_of(all_found, self._task.job.accepted)

    def _subject(self, subject: Subject, body: SupplyBody, design: SiteDesign) -> Subject:
        pointer = self._pointer(subject.pointer, body, design)
        kept = pointer.startswith("/fixtures/")
        return Subject(
            pointer,
            subject.id if kept else UNSET,
            UNSET if subject.number is UNSET or kept else subject.number,
        )

    def _pointer(self, pointer: str, body: SupplyBody, design: SiteDesign) -> str:
        """Where a place of a body stands in the request."""
        found = PLACES.match(pointer)
        if found is None:
            box = design.boxes[body.box].offer
            return f"/transformers/{box}" if pointer.startswith("/supply") else ""
        kind, number = found[1], int(found[2])
        if kind == "fixtures":
            return f"/fixtures/{body.lamps[number]}"
        placed = body.spans[number]
        return f"/routes/{design.runs[placed.run].tree.routes[placed.point][-1]}"

    def _supply(self, layout: JudgedLayout, body: SupplyBody) -> LaidSupply:
        design, answer = layout.design, layout.answers[body.box]
        box = design.boxes[body.box]
        shown = shown_of(answer.reading, answer.envelope)
        lamps, supply = shown.lamps, shown.supply
        assert lamps is not None and supply is not None  # noqa: S101, PT018  # what is answered was solved
        return LaidSupply(
            name=f"transformer {body.box + 1}",
            mounting_point=f"/mounting_points/{box.mount}",
            transformer=f"/transformers/{box.offer}",
            transformer_id=self._request.transformers[box.offer].id,
            lowest=volts(lamps[0].voltage_v, lamps[0].towards),
            highest=volts(lamps[1].voltage_v, lamps[1].towards),
            loading_ratio=rounded(supply.used_ratio or 0.0, DECIMALS["1"]),
            runs=[self._run(body, index, layout.design) for index in body.runs],
            request=body.request,
        )

    def _run(self, body: SupplyBody, index: int, design: SiteDesign) -> LaidRun:
        run, own = design.runs[index], list[LaidSpanRow]()
        for place, placed in enumerate(body.spans):
            if placed.run != index:
                continue
            candidate = self._question.candidates[run.fit.cables[placed.point]]
            own.append(
                LaidSpanRow(
                    start=body.laid[place].start,
                    end=body.laid[place].end,
                    length=length_in(run.tree.lengths_m[placed.point], self._unit),
                    conductor=cable_name(candidate),
                    routes=[f"/routes/{route}" for route in run.tree.routes[placed.point]],
                    stock_id=_id(candidate.subject),
                )
            )
        circuits = given(self._request.transformers[design.boxes[run.box].offer].circuits) or []
        return LaidRun(
            name=f"run {index + 1}",
            tap=volts(run.fit.tap_v),
            load=volt_amperes(abs(sum((self._site.lamps[lamp].least_va for lamp in run.lamps), start=0j))),
            cable=length_in(sum(run.tree.lengths_m), self._unit),
            fixtures=[self._site.lamps[lamp].subject.pointer for lamp in run.lamps],
            spans=own,
            circuit=circuits[run.circuit].name if circuits else UNSET,
        )

    def _trenches(self, design: SiteDesign, costs: DesignCosts) -> list[LaidTrench]:
        cables: dict[int, int] = {}
        for run in design.runs:
            for routes in run.tree.routes:
                for route in routes:
                    cables[route] = cables.get(route, 0) + 1
        names = self._question.names
        return [
            LaidTrench(
                pointer=f"/routes/{route}",
                start=names[self._site.routes[route].start],
                end=names[self._site.routes[route].end],
                length=length_in(self._site.routes[route].length_m, self._unit),
                cables=cables[route],
                price=money(price),
                id=_id(self._site.routes[route].subject),
            )
            for route, price in costs.trenches
        ]

    def _purchase(self, bought: BoughtCable, bodies: Sequence[SupplyBody]) -> PurchaseLine:
        candidate, plan = self._question.candidates[bought.cable], bought.plan
        line = PurchaseLine(
            conductor=cable_name(candidate),
            quantity=length_in(bought.length_m, self._unit),
            stock_id=_id(candidate.subject),
            line_total=money(bought.price),
        )
        if plan is None:
            return line
        counts = [
            sum(row.number for row in plan.spools if row.spool == place)
            for place in range(len(candidate.spools))
        ]
        ends = _ends(bodies)
        return replace(
            line,
            spools=[
                SpoolCount(length_in(spool.length_m, self._unit), number)
                for spool, number in zip(candidate.spools, counts, strict=True)
                if number
            ],
            cut_list=[
                SpoolCuts(
                    length=length_in(candidate.spools[row.spool].length_m, self._unit),
                    count=row.number,
                    pieces=[
                        self._cut(candidate, bought, cut.piece, cut.length / MICROMETRES, ends)
                        for cut in row.cuts
                    ],
                    off_cut=length_in(row.off_cut / MICROMETRES, self._unit),
                )
                for row in plan.spools
            ],
            joints=plan.joints,
            proven=plan.proven,
        )

    def _cut(
        self,
        candidate: Candidate,
        bought: BoughtCable,
        piece: int,
        length_m: float,
        ends: dict[tuple[int, int], tuple[str, str]],
    ) -> CutPiece:
        own = bought.pieces[piece]
        start, end = ends[own.run, own.point]
        return CutPiece(
            pointer=candidate.subject.pointer,
            start=start,
            end=end,
            length=length_in(length_m, self._unit),
            joined=own.length_m - length_m > 1.0 / MICROMETRES,
        )

    def _compared(self, way: ComparedWay) -> ComparedLayout:
        if way.layout is None:
            return ComparedLayout(way.way, "none-found", 0)
        return ComparedLayout(way.way, "passes", len(way.layout.design.runs), str(in_cents(way.layout.cost)))


HELPS: Final = {
    code: LayoutHelp(code, message)
    for code, message in (
        ("nearer-mounting-point", "Add a mounting point nearer to these fixtures."),
        ("thicker-cable", "Offer thicker cable."),
        ("higher-tap", "Offer a transformer with a higher tap, up to 15 V."),
        ("24-volt-fixtures", "Use 24 V fixtures and transformers: a quarter of the copper does."),
        ("lower-tap", "Offer a transformer with a lower tap, or fixtures that stand more volts."),
        ("more-volt-amperes", "Offer a larger transformer, or allow more of them at a mounting point."),
        ("more-circuits", "Offer a transformer with more circuits, or larger ones."),
        ("smaller-device", "Offer a transformer with smaller overcurrent devices, or thicker cable."),
        ("more-effort", "Allow the search more work with `effort`."),
    )
}
"""What may help, by its code."""


CLOSED_FORM: Final = "closed-form"
"""What a bound is proven by without the engine."""


BOUND_CLOSED_FORM: Final = AssumptionKind(
    "bound-closed-form",
    "The bound is a formula. With the packages of the extra `layout`, which are not installed here, it would"
    " be higher.",
)


PLACES: Final = re.compile(r"/wiring/(fixtures|spans)/([0-9]+)")


def _id(subject: JobPart) -> str | UnsetType:
    return UNSET if subject.id is None else subject.id


def _ends(bodies: Sequence[SupplyBody]) -> dict[tuple[int, int], tuple[str, str]]:
    """What the ends of each span are called, by its run and its point."""
    return {
        (placed.run, placed.point): (span.start, span.end)
        for body in bodies
        for span, placed in zip(body.laid, body.spans, strict=True)
    }


def _shares(bound: BoundTerms) -> BoundShares:
    return BoundShares(
        transformers=money(bound.boxes, ROUND_FLOOR),
        routes=money(bound.routes, ROUND_FLOOR),
        copper=money(bound.copper, ROUND_FLOOR),
        joints=money(bound.joints, ROUND_FLOOR),
    )
