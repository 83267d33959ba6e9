"""What an earlier bound was proven by, and that proven again without an engine.

Multipliers may be anything: in exact fractions they prove what they prove, and wrong ones prove less. What is
taken from outside is held to what makes a row one that every layout keeps: a cut goes round a lamp, and no
multiplier of a row that is only bounded from below is negative. Branches that leave something out prove
nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from decimal import ROUND_FLOOR, Decimal
from fractions import Fraction
from typing import Final, NamedTuple

from service.studies.least_cost_layout.bound import CENT, GUARD, Bounding, BoundTerms, Part
from service.studies.least_cost_layout.design import EffortSpentError, Meter
from service.studies.least_cost_layout.programme import SHORTEST_BITS, Bounds, RowName, proven, refutes
from service.studies.least_cost_layout.refining import Case, beside, setting_of
from service.studies.least_cost_layout.relaxation import Relaxation
from service.studies.least_cost_layout.relaxing import NOTHING_PASSES, Relaxed
from service.studies.least_cost_layout.site import Site


class ProvenBranch(NamedTuple):
    """A branch by the routes that are dug in it, and that are not, and the multipliers that prove it.

    These are counted in parts of one, :data:`SHORTEST_BITS` of them. `nothing`: they prove that it is empty.
    """

    dug: frozenset[int]
    undug: frozenset[int]
    nothing: bool
    multipliers: tuple[tuple[RowName, int], ...]


class CaseProof(NamedTuple):
    """What proves a bound of the layouts of one case: branches that leave none of them out."""

    case: Case
    branches: tuple[ProvenBranch, ...]

    @property
    def size(self) -> int:
        """How many multipliers there are."""
        return sum(len(branch.multipliers) for branch in self.branches)


def proof_of_case(case: Case, relaxed: Relaxed) -> CaseProof:
    """What proves the value of a relaxation."""
    fine = relaxed.family.fine
    rows, routes = fine.programme.rows, {column: route for route, column in enumerate(fine.dug)}
    return CaseProof(
        case,
        tuple(
            ProvenBranch(
                frozenset(routes[column] for column in leaf.bounds.one),
                frozenset(routes[column] for column in leaf.bounds.zero),
                leaf.value == NOTHING_PASSES,
                tuple(
                    (rows[index].name, int(each * (1 << SHORTEST_BITS)))
                    for index, each in sorted(leaf.multipliers.items())
                ),
            )
            for leaf in (*relaxed.leaves, *relaxed.refuted)
        ),
    )


class ProvenAgain(NamedTuple):
    """Proofs with what they prove of their cases. [currency]"""

    proof: CaseProof
    value: Fraction


def proven_again(site: Site, proofs: Sequence[CaseProof], work: int) -> list[ProvenAgain]:
    """What proofs prove of a site, those first that come first, as far as the work for it reaches."""
    found = list[ProvenAgain]()
    if not proofs:
        return found
    meter = Meter(work)
    with suppress(EffortSpentError):
        again = _Again(site, meter)
        found.extend(ProvenAgain(proof, again.value(proof)) for proof in proofs)
    return found


class _Again:
    """The programme of a site, made only to prove in it."""

    def __init__(self, site: Site, meter: Meter) -> None:
        self._site, self._meter = site, meter
        meter.spend(MADE * len(site.routes) * len(site.lamps))
        widest = setting_of(site, Case(tuple(range(len(site.mounts))), None))
        self._relaxation = Relaxation(site, widest, [[lamp] for lamp in range(len(site.lamps))])
        self._lit = {lamp.place for lamp in site.lamps}

    def value(self, proof: CaseProof) -> Fraction:
        """No layout of its case pays less for what a relaxation counts; nothing where that is not proven."""
        branches = [branch for branch in proof.branches if branch.dug.isdisjoint(branch.undug)]
        if not self._leave_none_out([(branch.dug, branch.undug) for branch in branches]):
            return Fraction(0)
        return min(self._value(proof.case, branch) for branch in branches)

    def _value(self, case: Case, branch: ProvenBranch) -> Fraction:
        relaxation = self._relaxation
        programme, dug = relaxation.programme, relaxation.dug
        self._meter.spend(
            LOOKED_UP * len(branch.multipliers) + PROVEN * (len(programme.costs) + len(programme.rows))
        )
        multipliers = dict[int, Fraction]()
        for name, whole in branch.multipliers:
            index = self._row(name)
            if index is not None and (whole > 0 or programme.rows[index].equal):
                multipliers[index] = Fraction(whole, 1 << SHORTEST_BITS)
        bounds = Bounds(
            frozenset(dug[route] for route in branch.undug), frozenset(dug[route] for route in branch.dug)
        )
        standing = relaxation.standing(setting_of(self._site, case))
        if branch.nothing and refutes(programme, multipliers, bounds, standing):
            return NOTHING_PASSES
        return max(Fraction(0), proven(programme, multipliers, bounds, standing))

    def _row(self, name: RowName) -> int | None:
        """Where a row is that every layout keeps, by its name; None for what is no such row."""
        kind, *rest = name
        if kind == "entered":
            [inside] = rest if len(rest) == 1 and not isinstance(rest[0], int | float) else [()]
            if self._lit.isdisjoint(inside) or not set(inside) <= set(range(len(self._site.positions))):
                return None
            name = kind, tuple(sorted(set(inside)))
        elif kind == "tangent":
            if len(rest) != len(TANGENT) or not isinstance(rest[2], float) or not 0 < rest[2] < STEEPEST:
                return None
        elif any(not isinstance(each, int) for each in rest):
            return None
        if name not in self._relaxation.programme.places:
            self._meter.spend(CUT * len(self._site.routes) if kind == "entered" else ROW)
        try:
            return self._relaxation.index_of(name)
        except (KeyError, IndexError, TypeError):
            return None

    def _leave_none_out(self, branches: Sequence[tuple[frozenset[int], frozenset[int]]]) -> bool:
        """Whether whatever is dug belongs to some branch: by one route after another, dug or not."""
        self._meter.spend(HELD * sum(1 + len(dug) + len(undug) for dug, undug in branches))
        if any(not dug and not undug for dug, undug in branches):
            return True
        if not branches:
            return False
        common = frozenset.intersection(*(dug | undug for dug, undug in branches))
        for route in sorted(common)[:1]:
            sides = (
                [(dug - {route}, undug) for dug, undug in branches if route in dug],
                [(dug, undug - {route}) for dug, undug in branches if route in undug],
            )
            return all(sides) and all(self._leave_none_out(side) for side in sides)
        return False


TANGENT: Final = ("group", "route", "at")
"""What the name of a tangent says after its kind."""


STEEPEST: Final = 1e9
"""Of a tangent."""


MADE, ROW, CUT, LOOKED_UP, PROVEN, HELD = 60, 100, 8, 20, 8, 2
"""Operations: of a programme for each route and lamp; of a row more, a cut for each route; of a multiplier;
of a proof for each column and row; of each route that branches are held against each other by."""


def amounts_of(bounding: Bounding, case: Case, value: Fraction) -> Iterator[tuple[int, Decimal]]:
    """What a value of a case proves of its parts, by their index. [currency]"""
    counted = Decimal(value.numerator) / Decimal(value.denominator) * (1 - GUARD)
    for index, part in enumerate(bounding.parts):
        if case.has(part):
            yield index, (part.boxes + counted + beside(bounding.site, part)).quantize(CENT, ROUND_FLOOR)


def give(bounding: Bounding, again: Sequence[ProvenAgain]) -> None:
    """Give the parts of a bound what is proven of them."""
    for each in again:
        for index, amount in amounts_of(bounding, each.proof.case, each.value):
            terms = bounding.terms[index]
            if amount > terms.amount:
                bounding.terms[index] = terms._replace(copper=terms.copper + amount - terms.amount)


class Most(NamedTuple):
    """How large earlier proofs may be that are sent: their multipliers, cases, and branches of each."""

    multipliers: int
    cases: int
    branches: int


class Certified(NamedTuple):
    """Proofs, and the bound that they prove beside the closed form. [currency]"""

    proofs: tuple[CaseProof, ...]
    amount: Decimal


def certified(
    bounding: Bounding,
    closed: Mapping[Part, BoundTerms],
    proven_of: Sequence[ProvenAgain],
    cost: Decimal,
    most: Most,
) -> Certified:
    """The proofs that are needed for a bound, the most needed first, up to a size.

    Parameters
    ----------
    bounding : Bounding
    closed : mapping of Part to BoundTerms
        What the closed form proves.
    proven_of : sequence of ProvenAgain
        All that is proven.
    cost : Decimal
        No more than this need be proven of any part. [currency]
    most : Most
        That there may be of it.
    """
    proven_of = [each for each in proven_of if len(each.proof.branches) <= most.branches]
    amounts = [dict(amounts_of(bounding, each.proof.case, each.value)) for each in proven_of]
    best = [min(closed[part].amount, cost) for part in bounding.parts]
    kept, size = list[CaseProof](), 0
    while best:
        weakest = min(range(len(best)), key=lambda each: (best[each], each))
        gains = [
            (min(own[weakest], cost), -at)
            for at, own in enumerate(amounts)
            if own.get(weakest, Decimal(0)) > best[weakest] < cost
        ]
        if not gains:
            break
        _, at = max(gains)
        size += proven_of[-at].proof.size
        if size > most.multipliers or len(kept) == most.cases:
            break
        kept.append(proven_of[-at].proof)
        for index, amount in amounts[-at].items():
            best[index] = max(best[index], min(amount, cost))
    return Certified(tuple(kept), min(best, default=Decimal(0)))
