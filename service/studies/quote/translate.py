"""A quote's answer into its reply: names for places, money as text, one list of all findings."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from itertools import count
from string import ascii_uppercase
from typing import Final, TypedDict

from msgspec import UNSET, UnsetType
from msgspec.structs import replace

from service.circuit.job import JobPart
from service.circuit.limits import over_rating
from service.estimation.translate import capital
from service.findings.assumptions import AssumptionKind
from service.findings.finding import FAULT, GRAVEST_FIRST, WARNING, FindingFacts
from service.findings.rows import closing, finding_row
from service.findings.summary import (
    FAILS,
    VERDICT_WORDS,
    WITH_WARNINGS,
    grouped,
    shown_of,
    verdict_of,
)
from service.findings.summary import told as told_groups
from service.studies.gauge_recommendation.translate import CUT_IN_ONE_PIECE
from service.studies.quote.billing import KINDS, AddedUp, Counted, Entry
from service.studies.quote.cables import CableCuts
from service.studies.quote.codes import unit_code
from service.studies.quote.cut_list import MICROMETRES, CutPart
from service.studies.quote.job import HOUR, NamedAdjustment
from service.studies.quote.joining import JointGroup
from service.studies.quote.ledger import Adjusted, BillLine, TaxedAt, difference
from service.studies.quote.pieces import AT_FIXTURE, AT_RUN, Spot
from service.studies.quote.reading import ReadQuote
from service.studies.quote.reply import (
    BillAdjustment,
    BillTax,
    CableCutList,
    ComparedAlternative,
    MetConductor,
    QuoteBill,
    QuotedCut,
    QuotedFixture,
    QuotedJoint,
    QuotedPart,
    QuotedSpool,
    QuoteReply,
)
from service.studies.quote.reply import BillLine as LineRow
from service.studies.quote.request import QuoteRequest, QuoteTerms
from service.studies.quote.study import BillAnswer, PartAnswer
from service.studies.voltage_drop.study import DropAnswer
from service.translate.naming import PlaceNames
from service.translate.rounding import DECIMALS, rounded
from service.translate.rows import TOWARDS_FAILING, length_in, volts, watts
from service.wire.optional import given
from service.wire.quantities import ShownApparentPower, ShownLength, ShownVoltage
from service.wire.reply import Finding, Subject
from service.wire.summary import FindingGroup, Summary

QUOTED, NOT_QUOTABLE = "quoted", "not-quotable"

MOST_POINTERS = 200
"""Places that one line or one kind of joint names."""

NO_SLACK: Final = AssumptionKind(
    "no-slack",
    "No allowances are stated: cable is cut as long as its route.",
)

GROUND_NOT_STATED: Final = AssumptionKind(
    "ground-not-stated",
    "Route for which no ground is stated lies in the first of the list.",
)

CABLES_NOT_QUOTED: Final = AssumptionKind(
    "cables-not-quoted",
    "The catalogue has no cables: none is in the bill.",
)

SUPPLIES_NOT_QUOTED: Final = AssumptionKind(
    "supplies-not-quoted",
    "The catalogue has no supplies: none is in the bill.",
)

FIXTURES_NOT_QUOTED: Final = AssumptionKind(
    "fixtures-not-quoted",
    "The catalogue has no fixtures: none is in the bill.",
)

JOINTS_NOT_QUOTED: Final = AssumptionKind(
    "joints-not-quoted",
    "The catalogue has no connectors: joints are counted, and none is in the bill.",
)

CROSSINGS_NOT_QUOTED: Final = AssumptionKind(
    "crossings-not-quoted",
    "Nothing is counted per crossing: the crossings are not in the bill.",
)

UPLIFT_NOT_STATED: Final = AssumptionKind(
    "uplift-not-stated",
    "Goods whose class has no uplift are sold at what they cost.",
)


def reply_of(
    request: QuoteRequest, read: ReadQuote, answers: Sequence[BillAnswer], sha256: str
) -> QuoteReply:
    """The reply to a request."""
    told = [_Told(answer, read.unit) for answer in answers]
    findings = _once(row for each in told for row in each.findings)
    accepted = read.job.accepted
    bills = [
        _BillRows(request, answer, each).bill(request.alternatives[place].id, accepted)
        for place, (answer, each) in enumerate(zip(answers, told, strict=True))
    ]
    quoted = all(bill.status == QUOTED for bill in bills)
    return QuoteReply(
        summary=_summary(request, bills, told, accepted),
        status=QUOTED if quoted else NOT_QUOTABLE,
        currency=request.money.currency,
        bills=bills,
        comparison=_comparison(answers, bills),
        findings=sorted(findings, key=lambda row: GRAVEST_FIRST[row.severity]),
        **_validity(given(request.terms)),
        **closing(
            _assumptions(request, read, answers),
            [source for answer in answers for part in answer.parts for source in part.drop.sources],
            sha256=sha256,
            caller_id=request.id,
        ),
    )


def _once(rows: Iterable[Finding]) -> list[Finding]:
    """Each finding once, though several alternatives show it."""
    seen: dict[tuple[str, str, int | UnsetType, str], Finding] = {}
    for row in rows:
        seen.setdefault((row.code, row.subject.pointer, row.subject.number, row.message), row)
    return list(seen.values())


def _assumptions(
    request: QuoteRequest, read: ReadQuote, answers: Sequence[BillAnswer]
) -> list[AssumptionKind]:
    catalogue, cutting = request.catalogue, request.cutting
    stated = [given(each.cutting) or given(cutting) for each in request.alternatives]
    in_one_piece = any(each is None or each.joints is UNSET for each in stated)
    in_spools = any(cuts.plan is not None for answer in answers for cuts in answer.cuts)
    held = {
        NO_SLACK: request.allowances is UNSET,
        CUT_IN_ONE_PIECE: in_one_piece and in_spools,
        GROUND_NOT_STATED: read.ground_left_open,
        CABLES_NOT_QUOTED: catalogue.cables is UNSET,
        SUPPLIES_NOT_QUOTED: catalogue.supplies is UNSET,
        FIXTURES_NOT_QUOTED: catalogue.fixtures is UNSET,
        JOINTS_NOT_QUOTED: catalogue.joints is UNSET,
        CROSSINGS_NOT_QUOTED: bool(given(request.crossings)) and not _counts_crossings(request),
        UPLIFT_NOT_STATED: request.money.prices_are == "cost" and _sold_at_cost(request, answers),
    }
    solved = [kind for answer in answers for part in answer.parts for kind in part.drop.assumptions]
    return [*dict.fromkeys(solved), *(kind for kind, holds in held.items() if holds)]


def _counts_crossings(request: QuoteRequest) -> bool:
    """Whether a sundry or labour is for each crossing."""
    rows = *(given(request.catalogue.sundries) or ()), *(given(request.labour) or ())
    return any(row.per == "crossing" for row in rows)


def _sold_at_cost(request: QuoteRequest, answers: Sequence[BillAnswer]) -> bool:
    """Whether a bill has goods, prices at cost, of a class without an uplift."""
    put_on = {each.goods for each in given(request.money.uplift) or ()}
    return any(
        entry.line_class not in put_on and not entry.asked.always_net
        for answer in answers
        for entry in answer.entries
    )


class _Validity(TypedDict):
    """How long a quote stands."""

    valid_days: int | UnsetType
    valid_until: str | UnsetType


def _validity(terms: QuoteTerms | None) -> _Validity:
    """So many days, and until when, where it is said when it is issued."""
    if terms is None or isinstance(terms.valid_days, UnsetType):
        return {"valid_days": UNSET, "valid_until": UNSET}
    days, issued = int(terms.valid_days), given(terms.issued_on)
    until = None if issued is None else date.fromisoformat(issued) + timedelta(days=days)
    return {"valid_days": days, "valid_until": UNSET if until is None else until.isoformat()}


class _Told:
    """The findings of one alternative, in words; those of a part named by its own wiring."""

    def __init__(self, answer: BillAnswer, unit: str) -> None:
        self._answer = answer
        self.naming = [PlaceNames(part.drop.layout, unit) for part in answer.parts]
        self.findings = list(self._rows())

    def _rows(self) -> Iterator[Finding]:
        for part, found in self._answer.findings:
            row = finding_row(found, self.naming[part or 0])
            yield row if part is None else replace(row, subject=self._placed(row.subject, part))

    def _placed(self, subject: Subject, part: int) -> Subject:
        return replace(subject, pointer=self._answer.alternative.parts[part].pointer + subject.pointer)

    def facts(self) -> list[FindingFacts]:
        """The findings of the alternative and of all its parts."""
        return [found for _, found in self._answer.findings]

    def of_part(self, part: int) -> list[FindingFacts]:
        """The findings of one part."""
        return [found for own, found in self._answer.findings if own == part]

    def groups(self) -> list[FindingGroup]:
        """Findings of one code said once, part by part."""
        groups = []
        for part in (None, *range(len(self.naming))):
            found = [each for own, each in self._answer.findings if own == part]
            for group in grouped(found, self.naming[part or 0]):
                prefix = "" if part is None else self._answer.alternative.parts[part].pointer
                groups.append(replace(group, pointers=[prefix + pointer for pointer in group.pointers]))
        return groups


MOST_GROUPED = 20
"""Places that are listed of one group."""


def _merged(groups: Iterable[FindingGroup]) -> list[FindingGroup]:
    """Groups of several parts and alternatives: of one code and severity one, in the words of the first."""
    merged: dict[tuple[str, str], list[FindingGroup]] = {}
    for group in groups:
        known = merged.setdefault((group.code, group.severity), [])
        # What is about a row of the catalogue is told once, though several alternatives show it.
        if not {place for each in known for place in each.pointers} >= set(group.pointers):
            known.append(group)
    return sorted(map(_together, merged.values()), key=lambda group: GRAVEST_FIRST[group.severity])


def _together(groups: Sequence[FindingGroup]) -> FindingGroup:
    first, elsewhere = groups[0], sum(group.count for group in groups[1:])
    if not elsewhere:
        return first
    pointers = dict.fromkeys(place for group in groups for place in group.pointers)
    return replace(
        first,
        count=first.count + elsewhere,
        message=f"{first.message} ({elsewhere} more elsewhere.)",
        pointers=list(pointers)[:MOST_GROUPED],
    )


def _summary(
    request: QuoteRequest, bills: Sequence[QuoteBill], told: Sequence[_Told], accepted: frozenset[str]
) -> Summary:
    """What each alternative comes to; of one that is not quotable, why."""
    groups = _merged(group for each in told for group in each.groups())
    verdict = verdict_of([found for each in told for found in each.facts()], accepted)
    currency = request.money.currency
    texts = []
    for bill in bills:
        called = "" if len(bills) == 1 else f"{bill.name or bill.alternative}: "
        if isinstance(bill.total, UnsetType):
            texts.append(f"{called}not quotable")
        else:
            texts.append(f"{called}{bill.total} {currency}")
    text = f"{'; '.join(texts)}."
    if len(bills) == 1:
        text = capital(text) if isinstance(bills[0].total, UnsetType) else f"Total {text}"
    severity = {FAILS: FAULT, WITH_WARNINGS: WARNING}.get(verdict, "")
    grave = [group for group in groups if group.severity == severity and group.code not in accepted]
    said = [told_groups(grave, severity)] if grave else []
    return Summary(" ".join([text, VERDICT_WORDS[verdict], *said]), groups, verdict)


def _comparison(answers: Sequence[BillAnswer], bills: Sequence[QuoteBill]) -> list[ComparedAlternative]:
    """The alternatives side by side."""
    totals = [answer.added.bill.total if answer.quotable else None for answer in answers]
    least = min((total for total in totals if total is not None), default=None)
    rows = []
    for answer, bill, total in zip(answers, bills, totals, strict=True):
        shown = bill.electrical
        carried = all(part.carried for part in shown)
        weakest = [each.weakest.voltage for each in shown if not isinstance(each.weakest, UnsetType)]
        spare = [each.spare for each in shown if not isinstance(each.spare, UnsetType)]
        rows.append(
            ComparedAlternative(
                alternative=bill.alternative,
                status=bill.status,
                name=bill.name,
                total=bill.total,
                beside_cheapest=UNSET if total is None or least is None else str(difference(total, least)),
                weakest=min(weakest, key=lambda each: each.value) if weakest and carried else UNSET,
                spare=min(spare, key=lambda each: each.value) if len(spare) == len(shown) else UNSET,
                lost=watts(sum(map(_lost_w, answer.parts))) if carried else UNSET,
            )
        )
    return rows


def _lost_w(part: PartAnswer) -> float:
    """Heat in cable and winding. [W]"""
    reading = part.drop.reading
    return 0.0 if reading is None else reading.cable_loss_w + reading.winding_loss_w


class _BillRows:
    """One alternative in the rows of its bill."""

    def __init__(self, request: QuoteRequest, answer: BillAnswer, told: _Told) -> None:
        self._request, self._answer, self._told = request, answer, told
        self._unit = told.naming[0].length_unit

    def bill(self, alternative: str, accepted: frozenset[str]) -> QuoteBill:
        """All of it."""
        answer, added = self._answer, self._answer.added
        bill, quotable = added.bill, self._answer.quotable
        place = [each.id for each in self._request.alternatives].index(alternative)
        prepaid = given(self._request.money.prepaid)
        return QuoteBill(
            alternative=alternative,
            pointer=answer.alternative.pointer,
            status=QUOTED if quotable else NOT_QUOTABLE,
            verdict=verdict_of(self._told.facts(), accepted),
            lines=list(self._lines(added)),
            adjustments=[
                _adjustment(named, done) for named, done in zip(added.of_bill, bill.adjustments, strict=True)
            ],
            taxes=list(map(_tax, bill.taxes)),
            cut_list=[self._cut_list(each) for each in answer.cuts],
            joints=[self._joint(group) for group in answer.joiner.groups],
            electrical=[self._part(place, part, accepted) for place, part in enumerate(answer.parts)],
            name=self._request.alternatives[place].name,
            line_total=_text(bill.line_total),
            net=_text(bill.net),
            tax=_text(bill.tax),
            total=_text(bill.total) if quotable else UNSET,
            prepaid=UNSET if prepaid is None else str(bill.prepaid),
            payable=_text(bill.payable) if quotable and prepaid is not None else UNSET,
        )

    def _lines(self, added: AddedUp) -> Iterator[LineRow]:
        for number, (entry, line, own) in enumerate(
            zip(self._answer.entries, added.bill.lines, added.of_lines, strict=True), start=1
        ):
            yield LineRow(
                line=number,
                kind=KINDS[entry.line_class],
                item=entry.good.id,
                name=entry.good.name,
                quantity=f"{entry.asked.quantity:f}",
                unit_code=unit_code(entry.unit),
                base_quantity=f"{entry.good.base_quantity:f}",
                tax=entry.good.tax,
                pointers=list(entry.pointers[:MOST_POINTERS]),
                unit_price=_text(line.unit_price),
                adjustments=self._line_adjustments(own, line),
                net=_text(line.net),
                why=self._why(entry) or UNSET,
                ground=UNSET if entry.ground is None else entry.ground,
                spool=UNSET if entry.spool is None else self._length(entry.spool),
                gtin=UNSET if entry.good.gtin is None else entry.good.gtin,
            )

    @staticmethod
    def _line_adjustments(own: Sequence[NamedAdjustment], line: BillLine) -> list[BillAdjustment] | UnsetType:
        rows = [_adjustment(named, done) for named, done in zip(own, line.adjustments, strict=True)]
        return rows or UNSET

    def _why(self, entry: Entry) -> str:
        """How a quantity comes about, where it is not one for one."""
        if entry.cuts is not None:
            cuts = self._answer.cuts[entry.cuts]
            pieces = sum(each.piece.number for each in cuts.pieces)
            laid = f"{self._told_length(cuts.laid)} laid in {pieces} piece{'s' * (pieces != 1)}"
            return (
                laid if entry.spool is None else f"spool of {self._told_length(entry.spool)}; {laid} in all"
            )
        unit = "h" if entry.unit == HOUR else ""
        return capital("; ".join(self._counted(each, unit) for each in entry.counted))

    def _counted(self, counted: Counted, unit: str) -> str:
        each = f"{counted.each.normalize():f}{f' {unit}' if unit else ''}"
        if counted.base is not None:
            what = f"{_number(counted.number / self._unit_m)} {self._unit} of {OF_LENGTH[counted.per]}"
            return f"{each} for each {self._told_length(counted.base)}, {what}"
        one, several = PER_WORDS[counted.per]
        number = int(counted.number)
        return (
            f"{each} for each of {number} {one if number == 1 else several}" if counted.per != "job" else each
        )

    @property
    def _unit_m(self) -> Fraction:
        return METRE if self._unit == "m" else FOOT

    def _length(self, length: Fraction) -> ShownLength:
        return length_in(float(length), self._unit)

    def _told_length(self, length: Fraction) -> str:
        return f"{_number(length / self._unit_m)} {self._unit}"

    def _cut_list(self, cuts: CableCuts) -> CableCutList:
        cable = self._answer.goods.cables[cuts.row]
        plan, marks = cuts.plan, _marks()
        marked: dict[tuple[int, int | None], str] = {}

        def mark(part: CutPart) -> str:
            if part.copy is None:
                return next(marks)
            key = part.piece, part.copy
            if key not in marked:
                marked[key] = next(marks)
            return marked[key]

        joints: dict[tuple[int, int | None], list[int]] = {}
        for joint in () if plan is None else plan.joints:
            joints.setdefault((joint.piece, joint.copy), []).append(joint.at)

        def ends(part: CutPart) -> tuple[Spot, Spot] | None:
            """Where a part lies that is joined with others: from joint to joint."""
            if part.copy is None or plan is None:
                return None
            _, piece = cuts.pieces[part.piece]
            at = joints.get((part.piece, part.copy), []) if piece.stretches else []
            place = bisect_right(at, part.begins)
            start, end = piece.start, piece.end
            if place > 0:
                _, start = piece.at(plan.made_up(at[place - 1]))
            if place < len(at):
                _, end = piece.at(plan.made_up(at[place]))
            return start, end

        return CableCutList(
            item=cable.good.id,
            name=cable.good.name,
            conductor=cable.conductor,
            pieces=sum(each.piece.number for each in cuts.pieces),
            laid=self._length(cuts.laid),
            route=self._length(cuts.route),
            spools=[
                QuotedSpool(
                    length=self._length(
                        cable.on_hand[row.spool][0] if row.on_hand else cable.spools[row.spool].length
                    ),
                    count=row.number,
                    on_hand=row.on_hand,
                    cuts=[
                        self._cut(
                            cuts,
                            part.piece,
                            Fraction(part.length, MICROMETRES),
                            mark(part),
                            ends(part),
                        )
                        for part in row.cuts
                    ],
                    off_cut=self._length(Fraction(row.off_cut, MICROMETRES)),
                    kept=self._is_kept(row.off_cut),
                )
                for row in cuts.rows
            ],
            lengths=[
                self._cut(cuts, place, each.piece.laid, next(marks))
                for place, (each, number) in enumerate(zip(cuts.pieces, cuts.by_length, strict=True))
                for _ in range(number)
            ],
            joints=0 if plan is None else len(plan.joints),
            proven=UNSET if plan is None else plan.proven,
            net=UNSET if plan is None else _text(plan.net),
            at_least=UNSET if plan is None or plan.proven else _text(plan.at_least),
        )

    def _is_kept(self, off_cut: int) -> bool:
        keep_from = self._answer.alternative.keep_from
        return off_cut > 0 and Fraction(off_cut, MICROMETRES) >= keep_from

    def _cut(
        self,
        cuts: CableCuts,
        place: int,
        length: Fraction,
        mark: str,
        joined: tuple[Spot, Spot] | None = None,
    ) -> QuotedCut:
        """A whole piece, or the part of one that is `joined` from here to there."""
        part, piece = cuts.pieces[place]
        start, end = (piece.start, piece.end) if joined is None else joined
        return QuotedCut(
            pointer=self._answer.alternative.parts[part].pointer + piece.pointer,
            start=self._spot(part, start),
            end=self._spot(part, end),
            length=self._length(length),
            mark=mark,
            joined=joined is not None,
        )

    def _spot(self, part: int, spot: Spot) -> str:
        """A place in words; of several parts which."""
        naming = self._told.naming[part]
        if spot.name:
            text = spot.name
        elif spot.lamp:
            text = f"lamp of {naming.within(JobPart(spot.pointer))}"
        else:
            run = naming.within(JobPart(spot.pointer.removesuffix("/return_leg")))
            back = "the return leg of " if spot.pointer.endswith("/return_leg") else ""
            at = f"{_number(spot.at / self._unit_m)} {self._unit}"
            text = f"{back}{run} at {at}"
        return text if len(self._told.naming) == 1 else f"{text}, part {part + 1}"

    def _joint(self, group: JointGroup) -> QuotedJoint:
        parts = self._answer.alternative.parts
        pointers = dict.fromkeys(parts[met.part].pointer + met.pointer for met in group.joints)
        connector = group.connector
        return QuotedJoint(
            kind=group.kind,
            conductors=[
                MetConductor(met.conductor, number, met.uncut) for met, number in group.conductors.items()
            ],
            poles=group.poles,
            count=len(group.joints),
            places=[self._spot(met.part, met.spot) for met in group.joints[:MOST_POINTERS]],
            pointers=list(pointers)[:MOST_POINTERS],
            item=UNSET if connector is None else self._answer.goods.connectors[connector].good.id,
            connectors=UNSET if connector is None else group.each * len(group.joints),
        )

    def _part(self, place: int, part: PartAnswer, accepted: frozenset[str]) -> QuotedPart:
        naming, reading = self._told.naming[place], part.drop.reading
        pointer = self._answer.alternative.parts[place].pointer
        job_id = self._answer.alternative.parts[place].job.subject.id
        verdict = FAILS if reading is None else verdict_of(self._told.of_part(place), accepted)
        row = QuotedPart(
            pointer=pointer,
            verdict=verdict,
            carried=reading is not None,
            id=UNSET if job_id is None else job_id,
        )
        if reading is None:
            return row
        shown = shown_of(reading, part.drop.envelope)
        weakest: QuotedFixture | UnsetType = UNSET
        if shown.lamps is not None:
            lamp = shown.lamps[0]
            weakest = QuotedFixture(
                pointer + lamp.subject.pointer,
                naming.fixture_at(lamp.subject),
                volts(lamp.voltage_v, lamp.towards),
                UNSET if lamp.subject.id is None else lamp.subject.id,
                UNSET if lamp.subject.number is None else lamp.subject.number,
            )
        supply = shown.supply
        ratio = None if supply is None else supply.used_ratio
        return replace(
            row,
            weakest=weakest,
            weakest_with_joints=UNSET if part.unjoined is None else _lowest(part.drop),
            weakest_without_joints=_lowest(part.unjoined),
            loading_ratio=UNSET if ratio is None else rounded(ratio, DECIMALS["1"], int(over_rating(ratio))),
            spare=UNSET
            if supply is None or ratio is None or supply.rating_va is None
            else ShownApparentPower(rounded(supply.rating_va - supply.used_va, DECIMALS["VA"], -1), "VA"),
            cable_loss=watts(reading.cable_loss_w),
            winding_loss=watts(reading.winding_loss_w),
        )


METRE, FOOT = Fraction(1), Fraction(381, 1250)


OF_LENGTH: Final = {"length": "route", "crossing": "crossings"}


PER_WORDS: Final = {
    "job": ("job", "jobs"),
    "supply": ("supply", "supplies"),
    "run": ("run", "runs"),
    "fixture": ("fixture", "fixtures"),
    "joint": ("joint", "joints"),
    AT_FIXTURE: ("joint at fixtures", "joints at fixtures"),
    AT_RUN: ("joint in runs", "joints in runs"),
    "crossing": ("crossing", "crossings"),
}
"""What is counted, in words: one, and several."""


def _lowest(drop: DropAnswer | None) -> ShownVoltage | UnsetType:
    """The lowest voltage of a lamp in the stated state, where there is one."""
    if drop is None or drop.reading is None or not drop.reading.volts.far_v:
        return UNSET
    columns = drop.reading.volts
    lowest = columns.far_v.index(min(columns.far_v))
    return volts(columns.far_v[lowest], min(0, TOWARDS_FAILING[columns.verdict[lowest]]))


def _marks() -> Iterator[str]:
    """A, B … Z, AA, AB …"""
    for number in count(1):
        mark, left = "", number
        while left:
            left, place = divmod(left - 1, len(ascii_uppercase))
            mark = ascii_uppercase[place] + mark
        yield mark


def _number(value: Fraction) -> str:
    """A number in words: to 3 decimals, trailing zeros dropped."""
    return f"{float(value):.3f}".rstrip("0").rstrip(".")


def _text(amount: Decimal | None) -> str | UnsetType:
    return UNSET if amount is None else f"{amount:f}"


def _tax(taxed: TaxedAt) -> BillTax:
    tax = taxed.tax
    return BillTax(tax.code, f"{tax.percent:f}", f"{taxed.taxable:f}", f"{taxed.amount:f}", tax.name or UNSET)


def _adjustment(named: NamedAdjustment, done: Adjusted) -> BillAdjustment:
    adjustment = done.adjustment
    return BillAdjustment(
        adjustment.kind,
        _text(done.amount),
        UNSET if named.name is None else named.name,
        UNSET if adjustment.percent is None else f"{adjustment.percent:f}",
        _text(done.base),
        UNSET if adjustment.tax is None else adjustment.tax,
    )
