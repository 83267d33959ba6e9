"""What is bought of each cable of a choice: by length, or in spools, with what is cut from each.

In one piece lies a run, a branch or a spur as far as it has one cable, a return leg, a span of a graph.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Final, NamedTuple

from service.circuit.job import Graph, Job, JobPart, RunSpec
from service.circuit.layout import LaidSpan
from service.circuit.work import Budget, WorkOverLimitError
from service.findings.finding import FAULT, NOTE, Amount, FindingFacts, FindingKind, Limited
from service.findings.violation import Violation
from service.purchase.cutting import CutPlan, Piece, SpoolKind, cut_joined, cut_whole, work_of_first_cut
from service.studies.gauge_recommendation.assessment import Assessor, Choice, Slot
from service.studies.gauge_recommendation.candidates import Candidate

MICROMETRES = 1_000_000
"""In a metre: lengths are cut in whole ones, which every foot and every inch is."""

COINS = 1_000_000
"""In one of the currency: amounts have no more than six decimals."""

WORK_OF_A_PRICE, WORK_OF_A_PURCHASE = 1_500, 6_000
"""Work that one cut list may take: in a search among cables, which asks for many, and of what is bought."""

PIECE_LONGER_THAN_ANY_SPOOL: Final = FindingKind(
    "piece-longer-than-any-spool",
    (FAULT,),
    '{where} is {measured} in one piece, and the longest spool of "{name}" is {limit}. Allow joints with'
    ' `cutting.joints` "anywhere", or offer a longer spool.',
    "A piece of cable is longer than every spool on offer, and no joints are allowed in it.",
    limited=Limited("length of a spool", "length"),
)


JOINT_IN_RUN: Final = FindingKind(
    "joint-in-run",
    (NOTE,),
    "{where} is joined from several spools, joints in it: {joints}. {effect}, and each"
    " must be sealed for the ground that it lies in.",
    "A piece of cable is joined along its way: spools that hold it whole cost more or are not offered.",
)


NOT_SOLVED: Final = "Their resistance is not in this answer"
"""What is said of joints in a choice of cables, which is solved without them."""


class LaidPiece(NamedTuple):
    """Cable that lies in one piece between two points [m], so many side by side; where it is asked for."""

    cable_at: str
    start: int
    end: int
    length_m: float
    number: int

    @property
    def subject(self) -> JobPart:
        """The piece as findings name it."""
        return JobPart(self.cable_at)


class Purchase(NamedTuple):
    """What to buy of one candidate: length [m], price [currency]; in spools, the pieces and the cut list."""

    candidate: Candidate
    length_m: float
    price: Decimal | None
    pieces: tuple[LaidPiece, ...] = ()
    plan: CutPlan | None = None

    @property
    def at_least(self) -> Decimal | None:
        """No spools for these pieces cost less. [currency]"""
        if self.plan is None or self.plan.at_least is None:
            return self.price
        return Decimal(self.plan.at_least) / COINS


class _Stretch(NamedTuple):
    """Spans in a row that are chosen together; `further` where the stretch before it may go on in it."""

    slot: int
    piece: LaidPiece
    further: bool


def _stretches(spans: Sequence[LaidSpan], slots: Sequence[Slot]) -> list[_Stretch]:
    """The open spans, in the order in which they lie."""
    slot_of = {index: slot for slot, each in enumerate(slots) for index in each.spans}
    stretches: list[_Stretch] = []
    previous: LaidSpan | None = None
    for index, span in enumerate(spans):
        if index not in slot_of:
            continue
        number = 1 if span.cable is None else span.cable.spec.in_parallel
        slot, piece = slot_of[index], LaidPiece(span.cable_at, span.start, span.end, span.length_m, number)
        last = stretches[-1] if stretches else None
        further = (
            previous is not None
            and last is not None
            and (previous.subject, previous.end, last.piece.number) == (span.subject, span.start, number)
        )
        if further and last is not None and last.slot == slot:
            stretches[-1] = last._replace(piece=_prolonged(last.piece, piece))
        else:
            stretches.append(_Stretch(slot, piece, further))
        previous = span
    return stretches


def _prolonged(piece: LaidPiece, by: LaidPiece) -> LaidPiece:
    return piece._replace(end=by.end, length_m=piece.length_m + by.length_m)


class TooLong(NamedTuple):
    """A piece that no spool of a candidate holds."""

    piece: LaidPiece
    candidate: Candidate

    @property
    def longest_m(self) -> float:
        """The longest spool of the candidate. [m]"""
        return max(spool.length_m for spool in self.candidate.spools)

    @property
    def does_not_fit(self) -> bool:
        """Whether the piece is really longer than that."""
        return _micrometres(self.piece.length_m) > _micrometres(self.longest_m)

    def violation(self) -> Violation:
        """The limit that it breaks."""
        piece = self.piece
        return Violation(PIECE_LONGER_THAN_ANY_SPOOL, piece.subject, piece.length_m, self.longest_m, "m")

    def finding(self, where: str, name: str) -> FindingFacts:
        """What is said of it; `where` is the piece in words, `name` the cable."""
        return PIECE_LONGER_THAN_ANY_SPOOL.found(
            self.piece.subject,
            "caller",
            Amount(self.piece.length_m, "m", 1),
            Amount(self.longest_m, "m"),
            (("where", where), ("name", name)),
        )


def joint_findings(purchase: Purchase, where: Sequence[str]) -> list[FindingFacts]:
    """A finding for each piece that is joined; `where` are all pieces in words."""
    if purchase.plan is None or not purchase.plan.joints:
        return []
    parts = [0] * len(purchase.pieces)
    for row in purchase.plan.spools:
        for cut in row.cuts:
            parts[cut.piece] += row.number
    return [
        JOINT_IN_RUN.found(
            piece.subject,
            "own-calculation",
            parameters=(("where", words), ("joints", str(count - piece.number)), ("effect", NOT_SOLVED)),
        )
        for piece, words, count in zip(purchase.pieces, where, parts, strict=True)
        if count > piece.number
    ]


def first_cut_work(job: Job, candidates: Sequence[Candidate], points: int) -> int:
    """Work of a first cut list of the candidate with the most spools, for as many points at most."""
    offers = max((len(each.spools) for each in candidates), default=0)
    return work_of_first_cut(points * _most_in_parallel(job), offers) if offers else 0


def _most_in_parallel(job: Job) -> int:
    """Cables side by side, where there are most."""
    if isinstance(job.wiring, Graph):
        return max((span.cable.in_parallel for span in job.wiring.spans), default=1)
    return max(map(_most_of_run, job.wiring), default=1)


def _most_of_run(run: RunSpec) -> int:
    cables = [run.cable, *(change.cable for change in run.changes)]
    own = max(cable.in_parallel for cable in cables)
    return max([own, *map(_most_of_run, run.branches)])


class Buyer:
    """Buys the cable of choices; asked for the same once more, it remembers.

    Parameters
    ----------
    assessor : Assessor
        Of the choices, with its slots; prices spend its budget.
    joints : bool
        Whether pieces may be joined from several spools.
    """

    def __init__(self, assessor: Assessor, *, joints: bool) -> None:
        self._assessor, self._joints = assessor, joints
        self._stretches = _stretches(assessor.layout_spans, assessor.slots)
        self._plans: dict[tuple[int, tuple[Piece, ...]], tuple[int, CutPlan]] = {}
        self._longest_m = [
            0.0 if not each.spools or joints else max(spool.length_m for spool in each.spools)
            for each in assessor.candidates
        ]
        self._longest_of = [0.0] * len(assessor.slots)
        for stretch in self._stretches:
            self._longest_of[stretch.slot] = max(self._longest_of[stretch.slot], stretch.piece.length_m)
        self.in_spools = any(each.spools for each in assessor.candidates)
        """Whether what a choice costs depends on how its pieces are cut."""
        self.proven = True
        """Whether no cut list that was asked for could be cheaper."""

    def can_hold(self, slot: int, index: int) -> bool:
        """Whether the spools of a candidate hold every piece of a slot, if nothing around it is the same."""
        return not self._is_too_long(self._longest_of[slot], index)

    def can_begin(self, chosen: Choice) -> bool:
        """Whether the spools hold every piece of the first slots."""
        if not any(self._longest_m):
            return True
        begun = [stretch for stretch in self._stretches if stretch.slot < len(chosen)]
        return not any(
            self._is_too_long(piece.length_m, index)
            for index, pieces in _pieces(begun, chosen).items()
            for piece in pieces
        )

    def too_long(self, choice: Choice) -> TooLong | None:
        """The piece of a choice that is longest beyond every spool of its cable, if there is one."""
        if not any(self._longest_m[index] for index in set(choice)):
            return None
        found = [
            TooLong(piece, self._assessor.candidates[index])
            for index, pieces in _pieces(self._stretches, choice).items()
            for piece in pieces
            if self._is_too_long(piece.length_m, index)
        ]
        return max(found, key=lambda each: each.piece.length_m - each.longest_m, default=None)

    def settled(self, choice: Choice, budget: Budget) -> list[Purchase]:
        """What to buy for a choice, once it is chosen: cut lists that may not be the best are sought again.

        Raises
        ------
        WorkOverLimitError
            The budget is spent, and for some cable there is no cut list yet.
        """
        return self._bought(choice, budget, WORK_OF_A_PURCHASE)

    def _bought(self, choice: Choice, budget: Budget, work: int) -> list[Purchase]:
        """What to buy for a choice that spools can hold, in the order of the stock.

        Raises
        ------
        WorkOverLimitError
            The budget is spent.
        """
        lengths: dict[int, float] = {}
        for slot, index in zip(self._assessor.slots, choice, strict=True):
            lengths[index] = lengths.get(index, 0.0) + slot.length_m
        in_spools = any(self._assessor.candidates[index].spools for index in lengths)
        pieces = _pieces(self._stretches, choice) if in_spools else {}
        return [
            self._line(index, lengths[index], pieces.get(index, ()), budget, work)
            for index in sorted(lengths)
        ]

    def price(self, choice: Choice) -> Decimal | None:
        """Price of a choice of cables that all have one; None where spools cannot hold it. [currency]

        Raises
        ------
        WorkOverLimitError
            The budget is spent.
        """
        if self.too_long(choice) is not None:
            return None
        lines = self._bought(choice, self._assessor.budget, WORK_OF_A_PRICE)
        return sum((line.price or Decimal(0) for line in lines), start=Decimal(0))

    def _line(
        self, index: int, length_m: float, pieces: Sequence[LaidPiece], budget: Budget, work: int
    ) -> Purchase:
        candidate = self._assessor.candidates[index]
        if not candidate.spools:
            price = None if candidate.price_per_m is None else candidate.price_of(length_m)
            return Purchase(candidate, length_m, price)
        plan = self._plan(index, pieces, budget, work)
        price = None if plan.price is None else Decimal(plan.price) / COINS
        return Purchase(candidate, length_m, price, tuple(pieces), plan)

    def _plan(self, index: int, pieces: Sequence[LaidPiece], budget: Budget, work: int) -> CutPlan:
        """The best cut list so far; one that may be beaten is sought again where more may be spent on it."""
        wanted = tuple(Piece(_micrometres(piece.length_m), piece.number) for piece in pieces)
        worked, known = self._plans.get((index, wanted), (0, None))
        if known is not None and (known.proven or worked >= work):
            return known
        spools = [
            SpoolKind(_micrometres(spool.length_m), int(spool.price * COINS))
            for spool in self._assessor.candidates[index].spools
        ]
        cut = cut_joined if self._joints else cut_whole
        try:
            plan = cut(wanted, spools, work=work, budget=budget)
        except WorkOverLimitError:
            if known is None:
                raise
            return known
        if known is not None and (known.price or 0) < (plan.price or 0):
            plan = known
        self._plans[index, wanted] = work, plan
        self.proven &= plan.proven
        return plan

    def _is_too_long(self, length_m: float, index: int) -> bool:
        longest_m = self._longest_m[index]
        return longest_m > 0.0 and _micrometres(length_m) > _micrometres(longest_m)


def _pieces(stretches: Sequence[_Stretch], choice: Choice) -> dict[int, list[LaidPiece]]:
    """The pieces of each candidate that a choice takes, or the first slots of one."""
    pieces: dict[int, list[LaidPiece]] = {}
    previous: int | None = None
    for stretch in stretches:
        index = choice[stretch.slot]
        own = pieces.setdefault(index, [])
        if stretch.further and index == previous:
            own[-1] = _prolonged(own[-1], stretch.piece)
        else:
            own.append(stretch.piece)
        previous = index
    return pieces


def _micrometres(length_m: float) -> int:
    return round(length_m * MICROMETRES)
