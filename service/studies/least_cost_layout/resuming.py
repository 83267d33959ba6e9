"""A layout and what proves a bound as a certificate, and back; whoever sends one is not believed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import suppress
from math import inf
from typing import Final

from msgspec import UNSET, UnsetType, convert, to_builtins

from service.intake.pointer import MOST_ERRORS
from service.problems import ErrorKind, Mistake, ProblemKind, UnansweredError
from service.studies.least_cost_layout.certificate import (
    AnsweredCertificate,
    AnsweredRun,
    AnsweredSpan,
    AnsweredSupply,
    ProvenBranchRow,
    ProvenCaseRow,
)
from service.studies.least_cost_layout.certifying import CaseProof, ProvenBranch
from service.studies.least_cost_layout.composing import LayoutQuestion
from service.studies.least_cost_layout.design import CableTree, Fit, Terminal
from service.studies.least_cost_layout.drafts import DesignRun, Draft, Group, PlacedBox, SiteDesign, Tree
from service.studies.least_cost_layout.programme import RowName
from service.studies.least_cost_layout.refining import Case
from service.studies.least_cost_layout.request import MOST_WHOLE, LayoutCertificate
from service.studies.least_cost_layout.site import (
    CHAIN,
    EQUAL_HUB,
    HUB,
    PER_RUN,
    Site,
    Step,
    Ways,
    neighbours,
    walk,
)
from service.studies.least_cost_layout.study import Previous
from service.units import inside
from service.wire.optional import given
from service.wire.quantities import ShownLength

PREVIOUS_INVALID: Final = ProblemKind(
    "previous-invalid",
    422,
    "The earlier answer is not one about this site",
    "`previous` names what the request does not have, or its runs do not hang together.",
    "Send the `certificate` of an answer about the same places, routes, fixtures and stock; or leave it out.",
    detail="{places} of `previous` cannot be as described; `errors` lists {which}.",
)


PREVIOUS_UNKNOWN: Final = ErrorKind(
    "previous-unknown",
    "A place in a list is beyond its end, or what stands there may not be used.",
    "The request has no {0} number {1}, counted from 0. Send the certificate of the same site.",
)


PREVIOUS_APART: Final = ErrorKind(
    "previous-apart",
    "A run does not hang together.",
    "{0} Send the certificate of the same site as it was answered.",
)


def certificate_of(
    question: LayoutQuestion, design: SiteDesign | None, proofs: Sequence[CaseProof]
) -> AnsweredCertificate:
    """A design and what proves a bound, by places in the lists of a request."""
    names: dict[RowName, int] = {}
    cases = []
    for proof in proofs:
        branches = []
        for branch in proof.branches:
            flat = list[int]()
            for name, whole in branch.multipliers:
                # Any multiplier proves something, a smaller one no more.
                flat += [names.setdefault(name, len(names)), max(-MOST_WHOLE, min(whole, MOST_WHOLE))]
            branches.append(
                ProvenBranchRow(
                    dug=sorted(branch.dug),
                    undug=sorted(branch.undug),
                    empty=branch.nothing,
                    multipliers=flat,
                )
            )
        mix = proof.case.mix
        cases.append(
            ProvenCaseRow(
                mounting_points=list(proof.case.mounts),
                branches=branches,
                transformers=UNSET if mix is None else list(mix),
            )
        )
    supplies = [] if design is None else list(_supplies(question, design))
    return AnsweredCertificate(supplies, [_text_of(name) for name in names], cases)


def _supplies(question: LayoutQuestion, design: SiteDesign) -> Iterator[AnsweredSupply]:
    for index, box in enumerate(design.boxes):
        taps = question.taps_v[box.offer]
        runs = [
            AnsweredRun(
                taps.index(run.fit.tap_v),
                run.circuit,
                [_span(question, run, point) for point in range(1, len(run.tree.parents))],
            )
            for run in design.runs
            if run.box == index
        ]
        yield AnsweredSupply(box.mount, box.offer, runs)


def _span(question: LayoutQuestion, run: DesignRun, point: int) -> AnsweredSpan:
    tree, site = run.tree, question.site
    walked_m = sum(site.routes[each].length_m for each in tree.routes[point])
    own_m = tree.lengths_m[point]
    pointer = question.candidates[run.fit.cables[point]].subject.pointer
    return AnsweredSpan(
        after=tree.parents[point],
        routes=list(tree.routes[point]),
        stock=int(pointer.rpartition("/")[2]),
        fixtures=list(tree.lamps[point]),
        length=UNSET if abs(own_m - walked_m) < SHORTEST_M else ShownLength(own_m, "m"),
    )


SHORTEST_M: Final = 1e-9
"""A span that is longer than its routes by no more is as long as they are. [m]"""


def _text_of(name: RowName) -> str:
    """The name of a row as one text: its parts with blanks between, and a set of places with commas."""
    kind, *rest = name
    texts = (str(each) if isinstance(each, int | float) else ",".join(map(str, each)) + "," for each in rest)
    return " ".join([str(kind), *texts])


def _name_of(text: str) -> RowName:
    """The name of a row from its text; of what is none the kind alone."""
    kind, *rest = text.split(" ")
    parts: list[object] = [kind]
    try:
        for each in rest:
            if each.endswith(","):
                parts.append(tuple(int(place) for place in each[:-1].split(",")))
            elif each.isdecimal():
                parts.append(int(each))
            else:
                parts.append(float(each))
    except ValueError:
        return (kind,)
    return tuple(parts)


def previous_of(certificate: LayoutCertificate, question: LayoutQuestion) -> Previous:
    """What a certificate says of a site.

    Raises
    ------
    UnansweredError
        It names what the site does not have, or its runs do not hang together.
    """
    # JSON writes a whole number as 3 or as 3.0.
    whole = convert(to_builtins(certificate), AnsweredCertificate, strict=False)
    reading = _Reading(whole, question)
    design: SiteDesign | None = None
    proofs: tuple[CaseProof, ...] = ()
    with suppress(_EnoughMistakesError):
        design = reading.design()
        proofs = reading.proofs()
    if reading.mistakes:
        raise UnansweredError(
            PREVIOUS_INVALID, f"{len(reading.mistakes)} mistakes in the certificate", reading.mistakes
        )
    if design is None:
        return Previous(None, None, proofs)
    return Previous(
        design if _keeps_rules(question.site, design) else None, _draft(question.site, design), proofs
    )


class _EnoughMistakesError(Exception):
    """There are more mistakes than are told: a certificate may be megabytes of them."""


class _Reading:
    """Reads a certificate against a site, and lists what does not fit, until there is more than is told."""

    def __init__(self, certificate: AnsweredCertificate, question: LayoutQuestion) -> None:
        self._certificate, self._question, self._site = certificate, question, question.site
        self.mistakes: list[Mistake] = []
        self._cables = {each.subject.pointer: at for at, each in enumerate(question.candidates)}
        self._fed: list[int] = []

    def _known(self, pointer: str, number: int, size: int, what: str) -> bool:
        if number >= size:
            self._mistaken(PREVIOUS_UNKNOWN, pointer, what, str(number))
        return number < size

    def _apart(self, pointer: str, words: str) -> None:
        self._mistaken(PREVIOUS_APART, pointer, words)

    def _mistaken(self, kind: ErrorKind, pointer: str, *words: str) -> None:
        if len(self.mistakes) > MOST_ERRORS:
            raise _EnoughMistakesError
        self.mistakes.append(Mistake(kind.code, pointer, words))

    def design(self) -> SiteDesign | None:
        """The layout, solved by nobody yet; None where there is none, or it does not fit."""
        boxes, runs = list[PlacedBox](), list[DesignRun]()
        for number, supply in enumerate(self._certificate.supplies):
            at = f"/previous/supplies/{number}"
            mounts, offers = len(self._site.mounts), len(self._site.boxes)
            if self._known(f"{at}/mounting_point", supply.mounting_point, mounts, "mounting point") and (
                self._known(f"{at}/transformer", supply.transformer, offers, "transformer")
            ):
                boxes.append(PlacedBox(supply.mounting_point, supply.transformer))
                runs += [
                    run
                    for place, each in enumerate(supply.runs)
                    if (run := self._run(f"{at}/runs/{place}", each, len(boxes) - 1, boxes[-1])) is not None
                ]
        if not self._certificate.supplies:
            return None
        for mount, place in enumerate(self._site.mounts):
            if sum(box.mount == mount for box in boxes) > place.boxes_at_most:
                self._apart(
                    "/previous/supplies", f"More transformers are at mounting point {mount} than may be."
                )
        if not self.mistakes:
            for lamp in range(len(self._site.lamps)):
                if (fed := self._fed.count(lamp)) != 1:
                    on = f"stands {fed} times on the runs" if fed else "is on no run"
                    self._apart("/previous/supplies", f"Fixture number {lamp}, counted from 0, {on}.")
        if self.mistakes:
            return None
        routes = sorted({each for run in runs for ways in run.tree.routes for each in ways})
        return SiteDesign(tuple(boxes), tuple(runs), tuple(routes), inf)

    def _run(self, at: str, run: AnsweredRun, box: int, placed: PlacedBox) -> DesignRun | None:
        offer, taps_v = self._site.boxes[placed.offer], self._question.taps_v[placed.offer]
        known = [
            self._known(f"{at}/tap_place", run.tap_place, len(taps_v), "tap"),
            self._known(f"{at}/circuit", run.circuit, len(offer.limits_a), "circuit"),
        ]
        places, lengths_m = [self._site.mounts[placed.mount].place], [0.0]
        for number, span in enumerate(run.spans, start=1):
            laid = self._laid(f"{at}/spans/{number - 1}", span, places)
            if laid is None:
                return None
            places.append(laid[0])
            lengths_m.append(laid[1])
            self._fed += span.fixtures
        fed = tuple(sorted(lamp for span in run.spans for lamp in span.fixtures))
        if not fed:
            self._apart(at, "No fixture is on the run.")
        elif len(run.spans) > SPANS_OF_A_LAMP * len(fed):
            self._apart(at, "The run has more spans than two for each of its fixtures.")
            return None
        if not fed or not all(known):
            return None
        cables = [self._cables[f"/stock/{span.stock}"] for span in run.spans]
        tree = CableTree(
            (-1, *(span.after for span in run.spans)),
            tuple(lengths_m),
            ((), *(tuple(span.routes) for span in run.spans)),
            ((), *(tuple(span.fixtures) for span in run.spans)),
            tuple(places),
        )
        terminal = Terminal(taps_v[run.tap_place], 0.0, 0.0, 0.0, 0.0, None, None, None)
        fit = Fit(taps_v[run.tap_place], (cables[0], *cables), 0.0, 0.0, 0.0)
        return DesignRun(box, run.circuit, fed, tree, terminal, fit)

    def _laid(self, at: str, span: AnsweredSpan, places: Sequence[int]) -> tuple[int, float] | None:
        """Where a span ends, and how long it is [m]; None where it does not fit."""
        if not self._fits(at, span, len(places)):
            return None
        site, end = self._site, self._end(places[span.after], span.routes)
        walked_m = sum(site.routes[each].length_m for each in span.routes)
        length_m = (
            walked_m if isinstance(span.length, UnsetType) else inside(span.length.value, span.length.unit)
        )
        if end is None:
            self._apart(f"{at}/routes", "One route does not begin where the one before it ends.")
        elif any(site.lamps[each].place != end for each in span.fixtures):
            self._apart(f"{at}/fixtures", "A fixture does not stand where the span ends.")
        elif length_m < walked_m:
            self._apart(f"{at}/length", "The span is shorter than its routes.")
        else:
            return end, length_m
        return None

    def _fits(self, pointer: str, span: AnsweredSpan, number: int) -> bool:
        site = self._site
        known = [
            self._known(f"{pointer}/routes/{at}", each, len(site.routes), "route")
            for at, each in enumerate(span.routes)
        ]
        known += [
            self._known(f"{pointer}/fixtures/{at}", each, len(site.lamps), "fixture")
            for at, each in enumerate(span.fixtures)
        ]
        if span.after >= number:
            self._apart(f"{pointer}/after", "No span before this one has that number.")
            known.append(False)
        if f"/stock/{span.stock}" not in self._cables:
            self._mistaken(PREVIOUS_UNKNOWN, f"{pointer}/stock", "cable that may be laid", str(span.stock))
            known.append(False)
        return all(known)

    def _end(self, place: int, routes: Sequence[int]) -> int | None:
        """Where routes lead from a place; None where they do not hang together."""
        for each in routes:
            ends = self._site.routes[each].start, self._site.routes[each].end
            if place not in ends:
                return None
            place = ends[1] if ends[0] == place else ends[0]
        return place

    def proofs(self) -> tuple[CaseProof, ...]:
        """What proves a bound, with nothing said of whether it does."""
        site, names = self._site, [_name_of(text) for text in self._certificate.rows]
        found = []
        for number, case in enumerate(self._certificate.cases):
            at = f"/previous/cases/{number}"
            boxes = given(case.transformers)
            known = [
                self._known(f"{at}/mounting_points/{place}", each, len(site.mounts), "mounting point")
                for place, each in enumerate(case.mounting_points)
            ]
            known += [
                self._known(f"{at}/transformers/{place}", each, len(site.boxes), "transformer")
                for place, each in enumerate(boxes or ())
            ]
            branches = [
                branch
                for place, each in enumerate(case.branches)
                if (branch := self._branch(f"{at}/branches/{place}", each, names)) is not None
            ]
            if all(known):
                mounts = tuple(sorted(set(case.mounting_points)))
                found.append(
                    CaseProof(Case(mounts, None if boxes is None else tuple(boxes)), tuple(branches))
                )
        return tuple(found)

    def _branch(self, at: str, branch: ProvenBranchRow, names: Sequence[RowName]) -> ProvenBranch | None:
        routes, flat = len(self._site.routes), branch.multipliers
        # There may be a million of them: no pointer is written to what is right.
        known = [
            self._known(f"{at}/{member}/{place}", each, routes, "route")
            for member, own in (("dug", branch.dug), ("undug", branch.undug))
            if max(own, default=0) >= routes
            for place, each in enumerate(own)
        ]
        if len(flat) % 2 or any(not 0 <= each < len(names) for each in flat[::2]):
            self._apart(f"{at}/multipliers", "The multipliers are not in pairs with places of `rows`.")
            return None
        if not all(known):
            return None
        pairs = zip(flat[::2], flat[1::2], strict=True)
        return ProvenBranch(
            frozenset(branch.dug),
            frozenset(branch.undug),
            branch.empty,
            tuple((names[row], whole) for row, whole in pairs),
        )


SPANS_OF_A_LAMP: Final = 2
"""One to a lamp, and one to where the cable to it parts: no run that is answered has more."""


def _keeps_rules(site: Site, design: SiteDesign) -> bool:
    """Whether the runs of a design part as those of a site may, in as many sizes."""
    rules = site.rules
    for run in design.runs:
        tree = run.tree
        if rules.branching == CHAIN and tree.parents != tuple(range(-1, len(tree.parents) - 1)):
            return False
        if rules.branching in {HUB, EQUAL_HUB} and set(tree.parents[2:]) - {1}:
            return False
        if tree.parents.count(0) > 1 or (rules.gauges == PER_RUN and len(set(run.fit.cables)) > 1):
            return False
    return True


def _draft(site: Site, design: SiteDesign) -> Draft:
    """A design as what a search starts from: the trees of its routes, and the lamps of its runs."""
    beside, trees = neighbours(len(site.positions), site.routes), dict[int, Tree]()
    for run in design.runs:
        mount = design.boxes[run.box].mount
        tree = trees.setdefault(mount, {})
        root = site.mounts[mount].place
        for point in range(1, len(run.tree.parents)):
            place = run.tree.places[run.tree.parents[point]]
            for route in run.tree.routes[point]:
                ends = site.routes[route].start, site.routes[route].end
                other = ends[1] if ends[0] == place else ends[0]
                if other != root and other not in tree:
                    tree[other] = place, route
                place = other
    for mount, tree in trees.items():
        steps: list[Step | None] = [None] * len(site.positions)
        ways = Ways([inf] * len(site.positions), steps)
        walk(beside, ways, [site.mounts[mount].place, *tree], lambda route: site.routes[route].length_m)
        trees[mount] = {
            place: step for place, step in enumerate(ways.steps) if step is not None and place not in tree
        } | tree
    groups = tuple(Group(run.box, run.lamps) for run in design.runs)
    return Draft(design.boxes, trees, groups, design)
