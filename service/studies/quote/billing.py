"""The lines of a bill: what is counted, in which quantity, and the bill that they add up to."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Final, NamedTuple

from service.studies.quote.cables import CableCuts
from service.studies.quote.job import (
    HOUR,
    PIECE,
    REEL,
    AlternativeJob,
    CountedLine,
    Good,
    Goods,
    NamedAdjustment,
    PartJob,
    QuoteJob,
    Rate,
)
from service.studies.quote.joining import Joiner, JointGroup
from service.studies.quote.ledger import Bill, LineAsked, LineClass, bill_of, printed_quantity
from service.studies.quote.pieces import AT_FIXTURE, AT_RUN

KINDS: Final[dict[LineClass, str]] = {
    "supplies": "supply",
    "cables": "cable",
    "fixtures": "fixture",
    "lamps": "lamp",
    "joints": "joint",
    "sundries": "sundry",
    "labour": "labour",
}
"""What a line of each class of goods is called."""


class Counted(NamedTuple):
    """Why a quantity is what it is: so much for each of so many, of a length for each `base` of it. [m]"""

    per: str
    number: Fraction
    each: Decimal = Decimal(1)
    base: Fraction | None = None


class Entry(NamedTuple):
    """One line: of which row, how many in which unit, for what; `spool` is the length of a reel. [m]"""

    line_class: LineClass
    good: Good
    asked: LineAsked
    unit: str
    pointers: tuple[str, ...]
    counted: tuple[Counted, ...] = ()
    spool: Fraction | None = None
    cuts: int | None = None
    ground: str | None = None


class Numbers(NamedTuple):
    """What is counted of one alternative; lengths are of route. [m]"""

    supplies: int
    runs: int
    fixtures: int
    fixture_joints: int
    run_joints: int
    route: Fraction
    crossings: int
    crossed: Fraction

    def of(self, rate: Rate) -> Counted:
        """How much there is of what a rate is for."""
        numbers = {
            "job": Fraction(1),
            "supply": Fraction(self.supplies),
            "run": Fraction(self.runs),
            "fixture": Fraction(self.fixtures),
            "joint": Fraction(self.fixture_joints + self.run_joints),
            AT_FIXTURE: Fraction(self.fixture_joints),
            AT_RUN: Fraction(self.run_joints),
            "length": self.route,
            "crossing": Fraction(self.crossings) if rate.base is None else self.crossed,
        }
        return Counted(rate.per, numbers[rate.per], rate.each, rate.base)


def quantity_of(counted: Iterable[Counted]) -> Fraction:
    """What it comes to together."""
    return sum(
        (Fraction(each.each) * each.number / (1 if each.base is None else each.base) for each in counted),
        start=Fraction(0),
    )


def numbers_of(alternative: AlternativeJob, in_runs: int) -> Numbers:
    """What there is to count; `in_runs` are joints within pieces."""
    splices = [splice.kind for part in alternative.parts for splice in part.laying.splices]
    return Numbers(
        supplies=len(alternative.parts),
        runs=sum(part.laying.feeders for part in alternative.parts),
        fixtures=sum(part.heads for part in alternative.parts),
        fixture_joints=splices.count(AT_FIXTURE),
        run_joints=splices.count(AT_RUN) + in_runs,
        route=sum((part.laying.route for part in alternative.parts), start=Fraction(0)),
        crossings=len(alternative.crossings),
        crossed=sum((each.length for each in alternative.crossings), start=Fraction(0)),
    )


def sundries_of(goods: Goods, row: int, alternative: AlternativeJob, numbers: Numbers) -> list[Counted]:
    """What a row of sundries is needed for."""
    sundry = goods.sundries[row]
    counted = numbers.of(sundry.rate)
    if sundry.rate.per == "crossing":
        own = [each.length for each in alternative.crossings if each.sundry in {None, row}]
        number = Fraction(len(own)) if sundry.rate.base is None else sum(own, start=Fraction(0))
        counted = counted._replace(number=number)
    of_ground = [
        Counted("length", route, rate.each, rate.base)
        for ground, route in zip(goods.grounds, alternative.grounds, strict=True)
        for place, rate in ground.sundries
        if place == row
    ]
    return [each for each in (counted, *of_ground) if each.number and each.each]


def entries_of(
    goods: Goods, alternative: AlternativeJob, cuts: Sequence[CableCuts], joiner: Joiner, in_runs: int
) -> list[Entry]:
    """The lines of one alternative, class by class, each in the order of the catalogue."""
    numbers = numbers_of(alternative, in_runs)
    parts = alternative.parts
    found = [
        *_by_piece("supplies", goods.supplies, [line for part in parts for line in part.supplies]),
        *_cables(goods, cuts, parts),
        *_by_piece("fixtures", goods.fixtures, [line for part in parts for line in part.fixtures]),
        *_by_piece("lamps", goods.lamps, [line for part in parts for line in part.lamps]),
        *_connectors(goods, joiner, parts),
    ]
    for row, sundry in enumerate(goods.sundries):
        counted = sundries_of(goods, row, alternative, numbers)
        found.append(_counted("sundries", sundry.good, PIECE, alternative.pointer, counted))
    found.extend(
        _counted("labour", labour.good, HOUR, alternative.pointer, [numbers.of(labour.rate)])
        for labour in goods.labour
    )
    for ground, route in zip(goods.grounds, alternative.grounds, strict=True):
        if ground.hours is not None:
            hours = [Counted("length", route, ground.hours.each, ground.hours.base)]
            entry = _counted("labour", ground.good, HOUR, alternative.pointer, hours)
            found.append(entry._replace(ground=ground.good.name))
    return [entry for entry in found if entry.asked.quantity]


def _asked(line_class: LineClass, good: Good, quantity: Decimal) -> LineAsked:
    labour = line_class == "labour"
    return LineAsked(line_class, quantity, good.amount, good.base_quantity, good.tax, always_net=labour)


def _by_piece(line_class: LineClass, goods: Sequence[Good], lines: Sequence[CountedLine]) -> Iterator[Entry]:
    """A line for each row that is used, of all parts together."""
    of_row: dict[int, list[CountedLine]] = {}
    for line in lines:
        of_row.setdefault(line.row, []).append(line)
    for row, used in sorted(of_row.items()):
        number = Decimal(sum(line.number for line in used))
        pointers = tuple(line.pointer for line in used)
        yield Entry(line_class, goods[row], _asked(line_class, goods[row], number), PIECE, pointers)


def _cables(goods: Goods, cuts: Sequence[CableCuts], parts: Sequence[PartJob]) -> Iterator[Entry]:
    """A line for each cable, of one in spools a line for each length of them."""
    for place, cable_cuts in enumerate(cuts):
        cable = goods.cables[cable_cuts.row]
        pointers = _once(parts[each.part].pointer + each.piece.pointer for each in cable_cuts.pieces)
        if cable_cuts.plan is None:
            length = cable_cuts.bought_by_length / cable.unit_m
            asked = _asked("cables", cable.good, printed_quantity(length, up=True))
            yield Entry("cables", cable.good, asked, cable.unit, pointers, cuts=place)
            continue
        for spool, number in zip(cable.spools, cable_cuts.plan.bought, strict=True):
            good = cable.good._replace(amount=spool.amount)
            asked = _asked("cables", good, Decimal(number))
            yield Entry("cables", good, asked, REEL, pointers, spool=spool.length, cuts=place)


def _connectors(goods: Goods, joiner: Joiner, parts: Sequence[PartJob]) -> Iterator[Entry]:
    """A line for each connector, for joints at fixtures, in the wiring and within pieces together."""
    of_row: dict[int, list[JointGroup]] = {}
    for group in joiner.groups:
        if group.connector is not None:
            of_row.setdefault(group.connector, []).append(group)
    for row, groups in sorted(of_row.items()):
        good = goods.connectors[row].good
        joints: Counter[tuple[str, int]] = Counter()
        for group in groups:
            joints[group.kind, group.each] += len(group.joints)
        counted = tuple(
            Counted(kind, Fraction(number), Decimal(each)) for (kind, each), number in joints.items()
        )
        number = Decimal(int(quantity_of(counted)))
        pointers = _once(parts[met.part].pointer + met.pointer for group in groups for met in group.joints)
        yield Entry("joints", good, _asked("joints", good, number), PIECE, pointers, counted)


def _once(pointers: Iterable[str]) -> tuple[str, ...]:
    """Each of them once, in their order."""
    return tuple(dict.fromkeys(pointers))


def _counted(line_class: LineClass, good: Good, unit: str, pointer: str, counted: Sequence[Counted]) -> Entry:
    """A line for what is counted, hours or pieces."""
    asked = _asked(line_class, good, printed_quantity(quantity_of(counted)))
    return Entry(line_class, good, asked, unit, (pointer,), tuple(counted))


class AddedUp(NamedTuple):
    """A bill, with the adjustments of each line and of the whole in their order, and those without a line."""

    bill: Bill
    of_lines: tuple[tuple[NamedAdjustment, ...], ...]
    of_bill: tuple[NamedAdjustment, ...]
    without_line: tuple[NamedAdjustment, ...]


def add_up(job: QuoteJob, entries: Sequence[Entry]) -> AddedUp:
    """Add the lines of one alternative up.

    A percentage of a row that has several lines is of each of them; an amount is of the first.
    """
    places: dict[str, list[int]] = {}
    for place, entry in enumerate(entries):
        places.setdefault(entry.good.id, []).append(place)
    of_lines: list[list[NamedAdjustment]] = [[] for _ in entries]
    without = []
    for named in job.adjustments:
        if named.row is None:
            continue
        own = places.get(named.row, [])
        if not own:
            without.append(named)
        for place in own if named.adjustment.percent is not None else own[:1]:
            of_lines[place].append(named)
    of_bill = [named for named in job.adjustments if named.row is None]
    adjustments = (
        *(each.adjustment._replace(line=place) for place, own in enumerate(of_lines) for each in own),
        *(each.adjustment for each in of_bill),
    )
    bill = bill_of([entry.asked for entry in entries], job.terms._replace(adjustments=adjustments))
    return AddedUp(bill, tuple(map(tuple, of_lines)), tuple(of_bill), tuple(without))
