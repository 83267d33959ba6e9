"""A quote: each alternative is cut and joined, solved as it is laid, and added up to a bill."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Final, NamedTuple

from service.circuit.estimate import Estimate, estimate_of
from service.circuit.job import Graph, Job, JobPart, JoinedCable, LaidStretch, RunSpec
from service.circuit.work import OPERATIONS_OF_WORK, charge, count
from service.findings.finding import FAULT, NOTE, WARNING, Amount, FindingFacts, FindingKind
from service.studies.gauge_recommendation.buying import JOINT_IN_RUN, PIECE_LONGER_THAN_ANY_SPOOL
from service.studies.quote.billing import (
    AddedUp,
    Entry,
    add_up,
    entries_of,
    numbers_of,
    quantity_of,
    sundries_of,
)
from service.studies.quote.cables import CableCuts, cut, first_cut_work, most_joints, pieces_by_row
from service.studies.quote.connectors import Conductors, Meeting
from service.studies.quote.cut_list import (
    MICROMETRES,
    WORK_OF_A_CUT_LIST,
    JointTerms,
    PerJoint,
    micrometres,
)
from service.studies.quote.job import ANYWHERE, AlternativeJob, Goods, PartJob, QuoteJob
from service.studies.quote.joining import Joiner, MetJoint
from service.studies.quote.ledger import Bill, LineAsked, difference, printed_quantity, unit_price
from service.studies.quote.pieces import AT_RUN, Stretch
from service.studies.voltage_drop.study import DropAnswer, voltage_drop, voltage_drop_work

MOST_FOR_CUTS: Final = 40_000
"""Work that all searches for cut lists of one quote may take together."""

OPERATIONS_OF_A_PIECE, OPERATIONS_OF_A_LINE, OPERATIONS_OF_A_JOINT = 400, 600, 600
"""Operations of laying and telling a piece or a splice, of a line of a bill, of a joint within a run."""

ENDS: Final = 2
"""Of cable at a joint within it."""

LARGE_SHARE: Final = Fraction(1, 4)
"""Of a spool: an off-cut beyond this is told. [-]"""


class PartAnswer(NamedTuple):
    """One supply solved as it is laid; `unjoined` is the same without joints within runs, if any.

    `laid` is all cable of the wiring with what is laid beside its route. [m]
    """

    drop: DropAnswer
    unjoined: DropAnswer | None
    laid: Fraction


class PartFinding(NamedTuple):
    """A finding, and the part whose wiring its subject is in; None: it is about the alternative."""

    part: int | None
    found: FindingFacts


class JointPlace(NamedTuple):
    """A joint within a piece: of which cable and piece, which of those alike, and in which stretch.

    A lead has no stretch.
    """

    cuts: int
    piece: int
    copy: int
    stretch: Stretch | None
    met: MetJoint


class BillAnswer(NamedTuple):
    """One alternative: what is laid, cut, joined and solved, its lines and what they add up to."""

    alternative: AlternativeJob
    goods: Goods
    parts: tuple[PartAnswer, ...]
    cuts: tuple[CableCuts, ...]
    joiner: Joiner
    in_runs: tuple[JointPlace, ...]
    ohm_of: dict[int, float]
    entries: tuple[Entry, ...]
    added: AddedUp
    findings: tuple[PartFinding, ...]

    @property
    def quotable(self) -> bool:
        """Whether no fault forbids a total."""
        return not any(each.found.severity == FAULT for each in self.findings)


def quote_work(job: QuoteJob) -> Estimate:
    """Of every part solved as it is laid, and of first cut lists; the search for better ones may stop."""
    first = optional = 0
    cuts = 0
    for alternative in job.alternatives:
        joined = _may_be_joined(job.goods, alternative)
        twice = 2 if joined else 1
        for part in alternative.parts:
            more = {}
            if joined:
                cables = [stretch.cable.number for stretch, _ in part.laying.stretches]
                more = {place: (MANY_JOINTS,) * number for place, number in enumerate(cables)}
            drop = voltage_drop_work(as_laid(part.job, part.laying.stretches, more))
            first += twice * drop.first
            optional += twice * (drop.most - drop.first)
            first += work_of_telling_parts(part)
        for row, pieces in pieces_by_row(alternative).items():
            cuts += 1
            cable = job.goods.cables[row]
            first += first_cut_work(cable, pieces, job.terms)
            if alternative.joints == ANYWHERE:
                optional += work_of_joints(most_joints(cable, pieces))
        first += work_of_lines(job.goods, alternative)
    return estimate_of(first, optional + cuts * share_of_cuts(cuts))


MANY_JOINTS: Final = JoinedCable(0.0, 1_000.0)
"""So much resistance [ohm] in a cable that nothing is carried for certain: its joints are not known yet."""


def share_of_cuts(cuts: int) -> int:
    """Work that the search for each of so many cut lists may take."""
    return min(WORK_OF_A_CUT_LIST, MOST_FOR_CUTS // max(1, cuts))


def work_of_telling_parts(part: PartJob) -> int:
    """Work of laying the pieces and joints of a part, and of telling them."""
    told = len(part.laying.stretches) + len(part.laying.pieces) + len(part.laying.splices)
    return 1 + told * OPERATIONS_OF_A_PIECE // OPERATIONS_OF_WORK


def work_of_lines(goods: Goods, alternative: AlternativeJob) -> int:
    """Work of the lines that a bill may have."""
    rows = sum(len(each) for each in goods) + sum(len(part.fixtures) for part in alternative.parts)
    return 1 + rows * OPERATIONS_OF_A_LINE // OPERATIONS_OF_WORK


def work_of_joints(joints: int) -> int:
    """Work of so many joints within runs: placed, solved with, told."""
    return joints * OPERATIONS_OF_A_JOINT // OPERATIONS_OF_WORK


def _may_be_joined(goods: Goods, alternative: AlternativeJob) -> bool:
    """Whether joints within runs may have a resistance."""
    return alternative.joints == ANYWHERE and any(each.ohm for each in goods.connectors)


def as_laid(
    job: Job,
    stretches: Iterable[tuple[Stretch, Fraction]],
    joined: Mapping[int, tuple[JoinedCable, ...]],
) -> Job:
    """A job with what is laid along its routes.

    Parameters
    ----------
    job : Job
    stretches : iterable of (Stretch, Fraction)
        With what is laid of each. [m]
    joined : mapping of int to tuple of JoinedCable
        The cables of a stretch that have joints, by its place.
    """
    laid: dict[str, list[LaidStretch]] = {}
    for place, (stretch, length) in enumerate(stretches):
        laid.setdefault(stretch.pointer, []).append(
            LaidStretch(float(stretch.from_m), float(stretch.to_m), float(length), joined.get(place, ()))
        )
    if isinstance(job.wiring, Graph):
        spans = tuple(
            span
            if (found := laid.get(span.subject.pointer)) is None
            else span._replace(length_m=found[0].laid_m, joined=found[0].joined)
            for span in job.wiring.spans
        )
        return job._replace(wiring=job.wiring._replace(spans=spans))
    return job._replace(wiring=tuple(_run_as_laid(run, laid) for run in job.wiring))


def _run_as_laid(run: RunSpec, laid: Mapping[str, list[LaidStretch]]) -> RunSpec:
    leg = run.return_leg
    if leg is not None and (back := laid.get(leg.subject.pointer)) is not None:
        leg = leg._replace(length_m=back[0].laid_m, joined=back[0].joined)
    return run._replace(
        laid=tuple(laid.get(run.subject.pointer, ())),
        return_leg=leg,
        branches=tuple(_run_as_laid(branch, laid) for branch in run.branches),
    )


def quote(job: QuoteJob) -> tuple[BillAnswer, ...]:
    """Quote every alternative.

    Raises
    ------
    JobTooLargeError, WiringContradictoryError
        A part that cannot be laid.
    WorkOverLimitError
        It would take more work than one request may ask for.
    """
    cuts = sum(len(pieces_by_row(alternative)) for alternative in job.alternatives)
    share = share_of_cuts(cuts)
    return tuple(_billed(job, alternative, share) for alternative in job.alternatives)


def _billed(job: QuoteJob, alternative: AlternativeJob, share: int) -> BillAnswer:
    """Lay, cut, join, solve and add up one alternative."""
    for part in alternative.parts:
        _pay(work_of_telling_parts(part))
    _pay(work_of_lines(job.goods, alternative))
    joiner = Joiner(job.goods.connectors, job.terms)
    joiner.join((place, each) for place, part in enumerate(alternative.parts) for each in part.laying.splices)
    cuts = tuple(
        cut(
            row,
            job.goods.cables[row],
            pieces,
            job.terms,
            joints=_joint_terms(job, alternative, row, joiner) if alternative.joints == ANYWHERE else None,
            keep_from=alternative.keep_from,
            work=share,
        )
        for row, pieces in pieces_by_row(alternative).items()
    )
    _pay(work_of_joints(sum(len(each.plan.joints) for each in cuts if each.plan is not None)))
    in_runs = tuple(_joints_within(cuts))
    for each in in_runs:
        joiner.join_in_run(job.goods.cables[cuts[each.cuts].row].conductor, (each.met,))
    ohm_of = {place: _ohm_of_joint(job.goods, each.row, joiner) for place, each in enumerate(cuts)}
    parts = tuple(
        _solved(job, part, [each for each in in_runs if each.met.part == place], ohm_of)
        for place, part in enumerate(alternative.parts)
    )
    entries = tuple(entries_of(job.goods, alternative, cuts, joiner, len(in_runs)))
    added = add_up(job, entries)
    answer = BillAnswer(alternative, job.goods, parts, cuts, joiner, in_runs, ohm_of, entries, added, ())
    return answer._replace(findings=tuple(_findings(job, answer)))


def _ohm_of_joint(goods: Goods, row: int, joiner: Joiner) -> float:
    """Resistance that a joint within a cable has, both conductors. [ohm]"""
    connector = joiner.connector_for(_split(goods, row))
    return 0.0 if connector is None else goods.connectors[connector].ohm


def _split(goods: Goods, row: int) -> Conductors:
    """What meets at one pole of a joint within a cable."""
    return {Meeting(goods.cables[row].conductor): ENDS}


def _pay(work: int) -> None:
    """Charge what is done in proportion, and count it.

    Raises
    ------
    WorkOverLimitError
        The request has spent what it may.
    """
    charge(work)
    count(work * OPERATIONS_OF_WORK)


def _joint_terms(job: QuoteJob, alternative: AlternativeJob, row: int, joiner: Joiner) -> JointTerms:
    """What one joint more within a cable adds to the bill: its connector, and whatever is for each joint."""
    goods, numbers = job.goods, numbers_of(alternative, 0)
    lines = []
    connector = joiner.connector_for(_split(goods, row))
    if connector is not None:
        priced = joiner.price_of(connector)
        others = Decimal(joiner.used().get(connector, 0))
        lines.append(PerJoint(priced.unit_price, Decimal(priced.number), priced.base_quantity, others))
    for labour in goods.labour:
        if labour.rate.per == AT_RUN:
            others = labour.rate.each * numbers.run_joints
            lines.append(PerJoint(labour.good.amount, labour.rate.each, others=others))
    for place, sundry in enumerate(goods.sundries):
        if sundry.rate.per == "joint":
            good = sundry.good
            asked = LineAsked("sundries", Decimal(1), good.amount, good.base_quantity, good.tax)
            counted = sundries_of(goods, place, alternative, numbers)
            others = printed_quantity(quantity_of(counted))
            lines.append(PerJoint(unit_price(asked, job.terms), sundry.rate.each, good.base_quantity, others))
    return JointTerms(tuple(lines), micrometres(ENDS * job.takes.at_joint, up=True))


def _joints_within(cuts: Sequence[CableCuts]) -> Iterator[JointPlace]:
    """Every joint within a piece, and where it lies."""
    for place, cable_cuts in enumerate(cuts):
        if cable_cuts.plan is None:
            continue
        for joint in cable_cuts.plan.joints:
            part, piece = cable_cuts.pieces[joint.piece]
            along = cable_cuts.plan.made_up(joint.at)
            stretch, spot = piece.at(along) if piece.stretches else (None, piece.start)
            yield JointPlace(place, joint.piece, joint.copy, stretch, MetJoint(part, spot, piece.pointer))


def _solved(
    job: QuoteJob, part: PartJob, joints: Sequence[JointPlace], ohm_of: Mapping[int, float]
) -> PartAnswer:
    """A part solved as it is laid, with joints within its runs and without; `ohm_of` is each cable's."""
    stretches = part.laying.stretches
    unjoined = voltage_drop(as_laid(part.job, stretches, {}))
    if not joints:
        return PartAnswer(unjoined, None, part.laying.laid)
    joined = _joined_cables(job, part, joints, ohm_of)
    drop = unjoined
    if any(any(cable) for cables in joined.values() for cable in cables):
        drop = voltage_drop(as_laid(part.job, stretches, joined))
    longer = [each.stretch.cable.number for each in joints if each.stretch is not None]
    extra = sum((ENDS * job.takes.at_joint / number for number in longer), start=Fraction(0))
    return PartAnswer(drop, unjoined, part.laying.laid + extra)


def _joined_cables(
    job: QuoteJob, part: PartJob, joints: Sequence[JointPlace], ohm_of: Mapping[int, float]
) -> dict[int, tuple[JoinedCable, ...]]:
    """The cables with joints in them of each stretch, by its place."""
    place_of = {
        (stretch.pointer, stretch.from_m): place for place, (stretch, _) in enumerate(part.laying.stretches)
    }
    numbers: Counter[tuple[int, int, int]] = Counter()
    for joint in joints:
        if joint.stretch is not None:
            place = place_of[joint.stretch.pointer, joint.stretch.from_m]
            numbers[place, joint.cuts, joint.copy] += 1
    found: dict[int, tuple[JoinedCable, ...]] = {}
    for (place, cuts, _), number in numbers.items():
        cable = JoinedCable(float(number * ENDS * job.takes.at_joint), number * ohm_of[cuts])
        found[place] = (*found.get(place, ()), cable)
    return found


SLACK_IN_DROP: Final = FindingKind(
    "slack-in-drop",
    (NOTE,),
    "The drop is that of what is laid: {measured} of cable along {limit} of route. What is allowed at a"
    " fixture lies on each side of it, also where the cable passes uncut.",
    "Allowances lengthen the cable, and the drop is solved with them.",
)


LEAD_NOT_STATED: Final = FindingKind(
    "lead-not-stated",
    (WARNING,),
    "{where} has no lead, so it is not known what its joint joins, and no connector is quoted for it. Give"
    " it a `lead`, which `runs` and `spans` take.",
    "A fixture without a lead has no conductor to connect: no connector is chosen for its joint.",
)


JOINT_WITHOUT_CONNECTOR: Final = FindingKind(
    "joint-without-connector",
    (WARNING,),
    "No connector of the catalogue is listed for exactly {conductors}; joints without one: {joints}. Add the"
    " combination to a row, if its maker lists it.",
    "Conductors meet for which no row of the catalogue lists a connector; the nearest is never taken.",
)


CUT_NOT_PROVEN: Final = FindingKind(
    "cut-not-proven",
    (NOTE,),
    'The cut list of "{name}" may not be the cheapest: it adds {price} to the bill, and none adds less than'
    " {least}.",
    "The work of one request ended before the cut list of a cable was proven the cheapest.",
)


PRICE_MISSING: Final = FindingKind(
    "price-missing",
    (FAULT,),
    'The row "{name}" has no price: its line has no amount, and the bill no total.',
    "A row that is needed has no price; the line is listed, and the total is withheld.",
)


PRICES_MIXED_BASIS: Final = FindingKind(
    "prices-mixed-basis",
    (NOTE,),
    "Prices of goods are stated with tax, and rates of labour without.",
    "Goods are priced gross, and labour always net.",
)


GROSS_NOT_MET: Final = FindingKind(
    "gross-not-met",
    (NOTE,),
    "The prices as they are stated come to {stated}, and the bill, which rounds them net, to {total}.",
    "Gross prices were rounded net and taxed again, so that the total differs from their sum.",
)


OFFCUT_LARGE: Final = FindingKind(
    "offcut-large",
    (NOTE,),
    'Of a spool of "{name}" with {limit} is left {measured}.',
    "More than a quarter of a spool is left over.",
)


AMOUNT_BELOW_ZERO: Final = FindingKind(
    "amount-below-zero",
    (WARNING,),
    "Below zero: {names}.",
    "Allowances or what is prepaid exceed what is billed.",
)


ADJUSTMENT_WITHOUT_LINE: Final = FindingKind(
    "adjustment-without-line",
    (WARNING,),
    'The row "{name}" is on no line of this bill, so its allowance or charge is left out.',
    "An allowance or a charge is of a row that the bill has no line of.",
)


def _findings(job: QuoteJob, answer: BillAnswer) -> Iterator[PartFinding]:
    """Everything that is to be said of one alternative."""
    for place, (part, solved) in enumerate(zip(answer.alternative.parts, answer.parts, strict=True)):
        for found in (*part.told, *solved.drop.findings, *_slack(part, solved), *_bare(part)):
            yield PartFinding(place, found)
    if job.connectors_quoted:
        yield from _unconnected(answer)
    yield from _of_cables(job, answer)
    yield from _within_runs(answer)
    yield from (PartFinding(None, found) for found in _of_money(job, answer))


def _slack(part: PartJob, solved: PartAnswer) -> Iterator[FindingFacts]:
    if solved.laid != part.laying.route:
        yield SLACK_IN_DROP.found(
            JobPart("/wiring"),
            "own-calculation",
            Amount(float(solved.laid), "m", 1),
            Amount(float(part.laying.route), "m"),
        )


def _bare(part: PartJob) -> Iterator[FindingFacts]:
    for pointer in dict.fromkeys(line for splice in part.laying.splices for line in splice.bare):
        yield LEAD_NOT_STATED.found(JobPart(pointer), "caller")


def _unconnected(answer: BillAnswer) -> Iterator[PartFinding]:
    for group in answer.joiner.groups:
        if group.connector is None and not group.bare:
            first = group.joints[0]
            told = JOINT_WITHOUT_CONNECTOR.found(
                JobPart(first.pointer),
                "caller",
                parameters=(
                    ("conductors", conductors_text(group.conductors)),
                    ("joints", str(len(group.joints))),
                ),
            )
            yield PartFinding(first.part, told)


def conductors_text(conductors: Conductors) -> str:
    """What meets at one pole, in words."""
    *others, last = (
        f"{number} x {met.conductor}{' passing uncut' if met.uncut else ''}"
        for met, number in conductors.items()
    )
    return f"{', '.join(others)} and {last}" if others else last


def _of_cables(job: QuoteJob, answer: BillAnswer) -> Iterator[PartFinding]:
    """Pieces that no spool holds, cut lists that are not proven, and what is left over."""
    for cable_cuts in answer.cuts:
        cable, plan = job.goods.cables[cable_cuts.row], cable_cuts.plan
        if plan is None:
            continue
        name = (("name", cable.good.name),)
        longest = max(spool.length for spool in cable.spools)
        for (part, piece), uncut in zip(cable_cuts.pieces, plan.uncut, strict=True):
            if uncut:
                too_long = Amount(float(piece.laid), "m", 1), Amount(float(longest), "m")
                found = PIECE_LONGER_THAN_ANY_SPOOL.found(JobPart(piece.pointer), "caller", *too_long, name)
                yield PartFinding(part, found)
        subject = JobPart(answer.alternative.pointer)
        if not plan.proven and plan.net is not None and plan.at_least is not None:
            costs = (*name, ("price", str(plan.net)), ("least", str(plan.at_least)))
            yield PartFinding(None, CUT_NOT_PROVEN.found(subject, "own-calculation", parameters=costs))
        left = [
            (Fraction(row.off_cut, MICROMETRES), cable.spools[row.spool].length)
            for row in plan.rows
            if not row.on_hand
        ]
        large = [(off_cut, spool) for off_cut, spool in left if off_cut > LARGE_SHARE * spool]
        if large:
            off_cut, spool = max(large)
            amounts = Amount(float(off_cut), "m"), Amount(float(spool), "m")
            yield PartFinding(None, OFFCUT_LARGE.found(subject, "own-calculation", *amounts, name))


def _within_runs(answer: BillAnswer) -> Iterator[PartFinding]:
    """Each piece that is joined, and what that takes from the weakest lamp of its part."""
    counts = Counter(
        (joint.cuts, joint.met.part, joint.met.pointer, joint.stretch is None) for joint in answer.in_runs
    )
    for (cuts, part, pointer, in_lead), number in counts.items():
        effect = NO_OHMS
        if answer.ohm_of[cuts] and in_lead:
            effect = IN_LEAD
        elif answer.ohm_of[cuts]:
            solved = answer.parts[part]
            with_v, without_v = (lowest_v(each) for each in (solved.drop, solved.unjoined))
            effect = NOT_CARRIED
            if with_v is not None and without_v is not None:
                effect = (
                    f"With their resistance the weakest lamp has {with_v:.3f} V, without {without_v:.3f} V"
                )
        told = JOINT_IN_RUN.found(
            JobPart(pointer), "own-calculation", parameters=(("joints", str(number)), ("effect", effect))
        )
        yield PartFinding(part, told)


NO_OHMS: Final = "No resistance is stated for their connector, so none is in this answer"


IN_LEAD: Final = "The resistance of joints within a lead is not in this answer"


NOT_CARRIED: Final = "With their resistance the wiring does not carry its load, or does not without either"


def lowest_v(answer: DropAnswer | None) -> float | None:
    """The lowest voltage of a lamp in the stated state; None where there is none. [V]"""
    if answer is None or answer.reading is None:
        return None
    return min(answer.reading.volts.far_v, default=None)


def _of_money(job: QuoteJob, answer: BillAnswer) -> Iterator[FindingFacts]:
    bill, subject = answer.added.bill, JobPart(answer.alternative.pointer)
    missing = dict.fromkeys(answer.entries[place].good for place in bill.missing)
    for good in missing:
        yield PRICE_MISSING.found(JobPart(good.pointer, good.id), "caller", parameters=(("name", good.name),))
    if job.terms.prices_are == "gross" and any(entry.line_class == "labour" for entry in answer.entries):
        yield PRICES_MIXED_BASIS.found(JobPart("/money/prices_are"), "caller")
    if bill.beside_gross and bill.total is not None:
        texts = (("stated", str(difference(bill.total, bill.beside_gross))), ("total", str(bill.total)))
        yield GROSS_NOT_MET.found(subject, "own-calculation", parameters=texts)
    below = list(_below_zero(bill))
    if below:
        yield AMOUNT_BELOW_ZERO.found(subject, "caller", parameters=(("names", ", ".join(below)),))
    for named in answer.added.without_line:
        parameters = (("name", named.row or ""),)
        yield ADJUSTMENT_WITHOUT_LINE.found(subject, "caller", parameters=parameters)


def _below_zero(bill: Bill) -> Iterator[str]:
    """What of a bill is less than nothing, beside lines, which show it themselves."""
    for taxed in bill.taxes:
        if taxed.taxable < 0:
            yield f'what is taxable under "{taxed.tax.code}" ({taxed.taxable})'
    if bill.total is not None and bill.total < 0:
        yield f"the total ({bill.total})"
    if bill.payable is not None and bill.payable < 0 and bill.prepaid:
        yield f"what is left to pay ({bill.payable})"
