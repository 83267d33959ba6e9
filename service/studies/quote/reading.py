"""A quote as it came into the job that it asks, or every mistake in it at once."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import suppress
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Final, NamedTuple

from msgspec import UNSET, UnsetType

from service import tables
from service.circuit.graph import mistakes_in
from service.circuit.job import (
    Graph,
    Job,
    JobPart,
    JobTooLargeError,
    WiringContradictoryError,
    refuse_too_large,
)
from service.circuit.layout import points_of
from service.circuit.runs import count_loops, count_points
from service.findings.finding import FAULT, NOTE, FindingFacts, FindingKind
from service.problems import ErrorKind, Mistake
from service.studies.quote import refusals
from service.studies.quote.codes import is_gtin, minor_unit
from service.studies.quote.connectors import Meeting, conductors_of
from service.studies.quote.cut_list import micrometres
from service.studies.quote.job import (
    AT_FIXTURES,
    MOST_POINTS,
    NOWHERE,
    AlternativeJob,
    CableGood,
    ConnectorGood,
    CountedLine,
    CrossingJob,
    Good,
    Goods,
    Ground,
    Labour,
    NamedAdjustment,
    PartJob,
    QuoteJob,
    Rate,
    SpoolOffer,
    SundryGood,
)
from service.studies.quote.ledger import Adjustment, LineClass, Tax, Terms, Uplift
from service.studies.quote.pieces import (
    Route,
    RouteCable,
    RouteChange,
    RouteGraph,
    RouteLead,
    RouteLeg,
    RouteLine,
    RouteSpan,
    Takes,
    laying_of,
)
from service.studies.quote.refusals import QuoteInvalidError
from service.studies.quote.request import (
    MOST_LENGTHS,
    PERCENT_DECIMALS,
    Catalogue,
    CatalogueCable,
    CatalogueGoods,
    CatalogueJoint,
    QuoteAlternative,
    QuoteCutting,
    QuoteRequest,
)
from service.studies.voltage_drop.request import VoltageDropRequest
from service.translate.job import described_job, length_unit
from service.translate.shared import cable_of, with_shared
from service.translate.wiring import amount
from service.units import exact_inside
from service.wire.cable import Cable, ListedCable, ListedConductor, MeasuredCable, MeasuredConductor
from service.wire.fixture import FixtureLine, PointFixture
from service.wire.optional import given
from service.wire.quantities import Length
from service.wire.stock import PricePerLength, PricePerSpool
from service.wire.wiring import Branch, EvenWiring, Run, SpansWiring, Spur, TotalsWiring

ITEM_NOT_NAMED: Final = FindingKind(
    "item-not-named",
    (FAULT,),
    "{where} names no `item`, and the catalogue has {names} for it. Name the row as which it is bought.",
    "Something is bought, and neither does it name its row nor does one row alone fit.",
)

ITEM_DIFFERS: Final = FindingKind(
    "item-differs",
    (FAULT,),
    '{where} is {conductor}, and "{name}" of the catalogue is {of}. Name the row of what is laid.',
    "The row that a cable names has another conductor than the one that was solved.",
)

ITEM_NOT_COMPARED: Final = FindingKind(
    "item-not-compared",
    (NOTE,),
    'The resistance of {where} was measured, so whether it is "{name}" is not compared.',
    "A cable known by its measured resistance names a row, whose conductor cannot be held against it.",
)

WHOLE_PRICE: Final = 100
"""Per cent: a margin of all of the price would leave nothing for the cost."""

MEASURED: Final = "measured conductor"
"""What a conductor is called of which only the resistance is known; no connector is listed for it."""

_PLACE: Final = re.compile(r"/alternatives/(0|[1-9][0-9]*)/parts/(0|[1-9][0-9]*)(/wiring(?:/.*)?)")


class ReadQuote(NamedTuple):
    """The job of a request, the unit of lengths in its reply, and whether some ground is left open."""

    job: QuoteJob
    unit: str
    ground_left_open: bool


def read_quote(request: QuoteRequest) -> ReadQuote:
    """What a request asks.

    Raises
    ------
    QuoteInvalidError
        With every mistake in it.
    """
    return _Reader(request).read()


class AskedQuote(NamedTuple):
    """A request, how many points its parts have, and what it asks, where that is read already.

    Exact lengths of many places take a while, so that a large quote is read where it is answered.
    """

    request: QuoteRequest
    points: int
    read: ReadQuote | None


READ_AT_ONCE: Final = 150
"""Points up to which a quote is read before it is known who answers it."""


def asked_quote(request: QuoteRequest) -> AskedQuote:
    """A request, read where it is small.

    Raises
    ------
    QuoteInvalidError
        With every mistake in a small one.
    JobTooLargeError
        A part, or all of them together, have more points than one request may.
    """
    points = 0
    for place, alternative in enumerate(request.alternatives):
        for index, part in enumerate(alternative.parts):
            if not isinstance(part.wiring, TotalsWiring):
                # What is wrong with it is told when it is read.
                with suppress(WiringContradictoryError):
                    points += _points(
                        described_job(with_shared(part)), f"/alternatives/{place}/parts/{index}"
                    )
    if points > MOST_POINTS:
        raise JobTooLargeError("points", points, MOST_POINTS, "/alternatives")
    return AskedQuote(request, points, read_quote(request) if points <= READ_AT_ONCE else None)


def _points(job: Job, pointer: str) -> int:
    """How many points a part has.

    Raises
    ------
    JobTooLargeError
        More than one request may.
    """
    if isinstance(job.wiring, Graph):
        names = {name for span in job.wiring.spans for name in (span.start, span.end)}
        points = len(names) + sum(points_of(each.line) for each in job.wiring.fixtures)
        loops = max(0, len(job.wiring.spans) - len(names) + 1)
    else:
        points = sum(map(count_points, job.wiring))
        loops = sum(map(count_loops, job.wiring))
    try:
        refuse_too_large(points=points, loops=loops)
    except JobTooLargeError as error:
        raise JobTooLargeError(error.what, error.count, error.limit, f"{pointer}/wiring") from None
    return points


def exact(length: Length) -> Fraction:
    """A length as it was written. [m]"""
    return exact_inside(length.value, length.unit)


def decimal_of(number: float) -> Decimal:
    """A number as it was written."""
    return Decimal(repr(number)) if number % 1 else Decimal(int(number))


def conductor_name(conductor: str, material: str | UnsetType) -> str:
    """What a conductor is called: its size, and its material where that is not copper."""
    return conductor if material in {UNSET, "copper"} else f"{conductor} {material}"


def _triple(conductor: ListedCable | ListedConductor | CatalogueCable) -> tuple[str, str, str]:
    """Size, material and stranding, as they are taken where they are left out."""
    return (
        conductor.conductor,
        given(conductor.material) or "copper",
        given(conductor.stranding) or "stranded",
    )


def _pole(conductor: Cable | ListedConductor | MeasuredConductor) -> str:
    if isinstance(conductor, MeasuredCable | MeasuredConductor):
        return MEASURED
    return conductor_name(conductor.conductor, conductor.material)


class _Reader:
    def __init__(self, request: QuoteRequest) -> None:
        self._request, self._catalogue = request, request.catalogue
        self._mistakes: dict[Mistake, None] = {}
        self._taxes = {
            tax.code: Tax(tax.code, decimal_of(tax.percent), given(tax.name) or "")
            for tax in request.money.taxes
        }
        self._rows = {
            name: self._ids(name) for name in ("cables", "supplies", "fixtures", "lamps", "sundries")
        }
        self._unit = "m"

    def _ids(self, name: str) -> dict[str, int] | None:
        """The place of each row of one class by its id; None where the class is left out."""
        rows = getattr(self._catalogue, name)
        return (
            None
            if isinstance(rows, UnsetType)
            else {row.id: place for place, row in reversed(list(enumerate(rows)))}
        )

    def _wrong(self, kind: ErrorKind, pointer: str, *names: str, known: Sequence[str] | None = None) -> None:
        self._mistakes.setdefault(Mistake(kind.code, pointer, names, None if known is None else tuple(known)))

    def read(self) -> ReadQuote:
        """The job, or all mistakes."""
        request = self._request
        parts = tuple(
            tuple(
                self._shared(part, f"/alternatives/{place}/parts/{index}")
                for index, part in enumerate(alternative.parts)
            )
            for place, alternative in enumerate(request.alternatives)
        )
        self._unit = self._length_unit(parts)
        goods, terms = self._goods(), self._terms()
        takes = self._takes()
        adjustments = self._adjustments(goods)
        self._check_date()
        jobs = [
            self._alternative(alternative, place, parts[place], takes)
            for place, alternative in enumerate(request.alternatives)
        ]
        grounds, left_open = self._grounds(jobs, goods)
        crossings = self._crossings(jobs)
        self._check_lengths(jobs)
        if self._mistakes:
            raise QuoteInvalidError(list(self._mistakes))
        alternatives = tuple(
            job._replace(grounds=ground, crossings=tuple(own))
            for job, ground, own in zip(jobs, grounds, crossings, strict=True)
        )
        accepted = frozenset(given(request.accept) or ())
        quoted = self._catalogue.joints is not UNSET
        job = QuoteJob(alternatives, goods, takes, terms, tuple(adjustments), accepted, quoted)
        return ReadQuote(job, self._unit, left_open)

    # What is asked of the wiring.

    def _shared(self, part: VoltageDropRequest, pointer: str) -> VoltageDropRequest | None:
        """A part with what its wiring states once for all; None where it cannot be read."""
        if isinstance(part.wiring, TotalsWiring):
            self._wrong(refusals.TOTALS_NOT_QUOTED, f"{pointer}/wiring/form")
            return None
        try:
            return with_shared(part)
        except WiringContradictoryError as error:
            self._take(error.mistakes, pointer)
            return None

    def _take(self, mistakes: Iterable[Mistake], pointer: str) -> None:
        """Mistakes of a part, which stand in it."""
        for mistake in mistakes:
            known = None if mistake.known is None else tuple(mistake.known)
            self._mistakes.setdefault(mistake._replace(pointer=pointer + mistake.pointer, known=known))

    def _length_unit(self, parts: Sequence[Sequence[VoltageDropRequest | None]]) -> str:
        """The unit of lengths in the reply: as stated, else that of the first part."""
        if not isinstance(self._request.units, UnsetType):
            return "m" if self._request.units == "metric" else "ft"
        return next((length_unit(part) for own in parts for part in own if part is not None), "m")

    def _alternative(
        self,
        alternative: QuoteAlternative,
        place: int,
        parts: Sequence[VoltageDropRequest | None],
        takes: Takes,
    ) -> AlternativeJob:
        pointer = f"/alternatives/{place}"
        ids = [each.id for each in self._request.alternatives]
        if ids.index(alternative.id) != place:
            self._wrong(refusals.DUPLICATE_ALTERNATIVE, f"{pointer}/id", alternative.id)
        cutting = given(alternative.cutting) or given(self._request.cutting) or QuoteCutting()
        joints = given(cutting.joints) or NOWHERE
        read = [
            self._part(part, alternative.parts[index], f"{pointer}/parts/{index}", takes, joints)
            for index, part in enumerate(parts)
        ]
        keep_from = given(cutting.keep_from)
        return AlternativeJob(
            pointer,
            tuple(each for each in read if each is not None),
            joints,
            Fraction(0) if keep_from is None else exact(keep_from),
            (),
            (),
        )

    def _part(
        self,
        part: VoltageDropRequest | None,
        stated: VoltageDropRequest,
        pointer: str,
        takes: Takes,
        joints: str,
    ) -> PartJob | None:
        if part is None:
            return None
        job = described_job(part)
        if isinstance(job.wiring, Graph) and (mistakes := mistakes_in(job.wiring, job.supply.rated_v)):
            self._take(mistakes, pointer)
            return None
        items = _ItemReader(self._catalogue, self._rows, part, stated, pointer, self._wrong)
        laying = laying_of(items.wiring(), takes, cut_at_joints=joints == AT_FIXTURES)
        return PartJob(
            pointer,
            job,
            laying,
            tuple(items.supplies),
            tuple(items.fixtures),
            tuple(items.lamps),
            items.heads,
            tuple(items.told),
        )

    def _takes(self) -> Takes:
        allowances = given(self._request.allowances)
        if allowances is None:
            return Takes()
        lengths = (allowances.at_fixture, allowances.at_supply, allowances.at_joint)
        slack = Fraction(decimal_of(given(allowances.slack_percent) or 0.0)) / 100
        return Takes(
            slack, *(Fraction(0) if isinstance(each, UnsetType) else exact(each) for each in lengths)
        )

    # What is bought.

    def _goods(self) -> Goods:
        catalogue, request = self._catalogue, self._request
        sundries = [
            SundryGood(
                self._good(row, f"/catalogue/sundries/{place}"),
                self._rate(row.quantity, row.per, row.base, f"/catalogue/sundries/{place}"),
            )
            for place, row in enumerate(given(catalogue.sundries) or ())
        ]
        goods = Goods(
            cables=tuple(
                self._cable(row, f"/catalogue/cables/{place}")
                for place, row in enumerate(given(catalogue.cables) or ())
            ),
            supplies=self._plain("supplies"),
            fixtures=self._plain("fixtures"),
            lamps=self._plain("lamps"),
            connectors=tuple(
                self._connector(row, f"/catalogue/joints/{place}")
                for place, row in enumerate(given(catalogue.joints) or ())
            ),
            sundries=tuple(sundries),
            labour=tuple(
                Labour(
                    self._work(row.id, given(row.name), row.rate, row.tax, f"/labour/{place}"),
                    self._rate(row.hours, row.per, row.base, f"/labour/{place}"),
                )
                for place, row in enumerate(given(request.labour) or ())
            ),
            grounds=tuple(self._ground(place) for place in range(len(given(request.ground) or ()))),
        )
        self._check_ids(goods)
        return goods

    def _check_ids(self, goods: Goods) -> None:
        seen: set[str] = set()
        for good in _rows_of(goods):
            if good.id in seen:
                self._wrong(refusals.DUPLICATE_ROW, f"{good.pointer}/id", good.id)
            seen.add(good.id)

    def _plain(self, name: str) -> tuple[Good, ...]:
        rows: Sequence[CatalogueGoods] = given(getattr(self._catalogue, name)) or ()
        return tuple(self._good(row, f"/catalogue/{name}/{place}") for place, row in enumerate(rows))

    def _good(self, row: CatalogueGoods, pointer: str) -> Good:
        self._check_row(row.tax, row.gtin, pointer)
        price = given(row.price)
        base = Decimal(1)
        if price is not None and not isinstance(price.base_quantity, UnsetType):
            base = Decimal(price.base_quantity)
            if not base:
                self._wrong(refusals.BASE_QUANTITY_ZERO, f"{pointer}/price/base_quantity")
                base = Decimal(1)
        cost = None if price is None else Decimal(price.amount)
        return Good(pointer, row.id, given(row.name) or row.id, cost, base, row.tax, given(row.gtin))

    def _check_row(self, tax: str, gtin: str | UnsetType, pointer: str) -> None:
        self._check_tax(tax, f"{pointer}/tax")
        if not isinstance(gtin, UnsetType) and not is_gtin(gtin):
            self._wrong(refusals.WRONG_CHECK_DIGIT, f"{pointer}/gtin", gtin)

    def _check_tax(self, tax: str, pointer: str) -> None:
        if tax not in self._taxes:
            self._wrong(refusals.UNKNOWN_TAX, pointer, tax, known=list(self._taxes))

    def _cable(self, row: CatalogueCable, pointer: str) -> CableGood:
        self._check_row(row.tax, row.gtin, pointer)
        price = row.price
        cost = Decimal(price.amount) if isinstance(price, PricePerLength) else None
        good = Good(pointer, row.id, given(row.name) or row.id, cost, Decimal(1), row.tax, given(row.gtin))
        unit = price.per if isinstance(price, PricePerLength) else self._unit
        spools = price.spools if isinstance(price, PricePerSpool) else ()
        return CableGood(
            good,
            conductor_name(row.conductor, row.material),
            unit,
            exact_inside(1.0, unit),
            tuple(SpoolOffer(exact(spool.length), Decimal(spool.amount)) for spool in spools),
            tuple((exact(each.length), int(each.count)) for each in given(row.on_hand) or ()),
        )

    def _connector(self, row: CatalogueJoint, pointer: str) -> ConnectorGood:
        poles = int(row.poles)
        ohm = 0.0 if isinstance(row.resistance, UnsetType) else amount(row.resistance)
        accepts = tuple(
            conductors_of(
                (
                    Meeting(conductor_name(each.conductor, each.material), uncut=each.uncut is True),
                    int(each.count),
                )
                for each in combination.conductors
            )
            for combination in row.accepts
        )
        return ConnectorGood(self._good(row, pointer), poles, accepts, ohm * (2 if poles == 1 else 1))

    def _work(self, own: str, name: str | None, rate: str, tax: str, pointer: str) -> Good:
        """A row of hours: what one costs."""
        self._check_tax(tax, f"{pointer}/tax")
        return Good(pointer, own, name or own, Decimal(rate), Decimal(1), tax)

    def _rate(self, each: str, per: str, base: Length | UnsetType, pointer: str) -> Rate:
        length = None if isinstance(base, UnsetType) else exact(base)
        if per not in {"length", "crossing"} and length is not None:
            self._wrong(refusals.BASE_UNUSED, f"{pointer}/base", per)
        elif length == 0 or (per == "length" and length is None):
            self._wrong(refusals.BASE_MISSING, f"{pointer}/base")
            length = Fraction(1)
        return Rate(Decimal(each), per, length)

    def _ground(self, place: int) -> Ground:
        row, pointer = (given(self._request.ground) or [])[place], f"/ground/{place}"
        name = given(row.name) or row.id
        labour = given(row.labour)
        if labour is None:
            good, hours = Good(pointer, row.id, name, None, Decimal(1), ""), None
        else:
            good = self._work(row.id, name, labour.rate, labour.tax, f"{pointer}/labour")._replace(
                pointer=pointer
            )
            hours = self._rate(labour.hours, "length", labour.base, f"{pointer}/labour")
        sundries = []
        for index, each in enumerate(given(row.sundries) or ()):
            at = f"{pointer}/sundries/{index}"
            found = self._item(each.item, "sundries", f"{at}/item")
            rate = self._rate(each.quantity, "length", each.base, at)
            if found is not None:
                sundries.append((found, rate))
        return Ground(good, hours, tuple(sundries))

    def _item(self, item: str, name: str, pointer: str) -> int | None:
        """The place of a row by its id; one that there is not is a mistake."""
        rows = self._rows[name] or {}
        if item not in rows:
            self._wrong(refusals.UNKNOWN_ITEM, pointer, item, name, known=list(rows))
        return rows.get(item)

    # What is charged.

    def _terms(self) -> Terms:
        money = self._request.money
        codes = [tax.code for tax in money.taxes]
        for place, (code, tax) in enumerate(zip(codes, money.taxes, strict=True)):
            self._check_percent(decimal_of(tax.percent), f"/money/taxes/{place}/percent")
            if codes.index(code) != place:
                self._wrong(refusals.DUPLICATE_TAX, f"/money/taxes/{place}/code", code)
        uplifts: dict[LineClass, Uplift] = {}
        for place, uplift in enumerate(given(money.uplift) or ()):
            pointer = f"/money/uplift/{place}"
            if uplift.goods in uplifts:
                self._wrong(refusals.DUPLICATE_UPLIFT, f"{pointer}/class", uplift.goods)
            if uplift.kind == "margin" and uplift.percent >= WHOLE_PRICE:
                self._wrong(refusals.MARGIN_TOO_LARGE, f"{pointer}/percent")
            uplifts[uplift.goods] = Uplift(uplift.kind, decimal_of(uplift.percent))
        if money.prices_are != "cost" and not isinstance(money.uplift, UnsetType):
            self._wrong(refusals.UPLIFT_WITHOUT_COST, "/money/uplift", money.prices_are)
        decimals = given(money.unit_price_decimals)
        return Terms(
            minor_unit=self._minor_unit(),
            taxes=self._taxes,
            prices_are=money.prices_are,
            uplifts=uplifts,
            unit_price_decimals=None if decimals is None else int(decimals),
            tax_rounding=given(money.tax_rounding) or "per-rate",
            prepaid=Decimal(given(money.prepaid) or "0"),
        )

    def _check_percent(self, percent: Decimal, pointer: str) -> None:
        """A percentage that is printed has few decimals."""
        decimals = len(f"{percent:f}".partition(".")[2])
        if decimals > PERCENT_DECIMALS:
            self._wrong(refusals.PERCENT_TOO_FINE, pointer, f"{percent}", str(decimals))

    def _minor_unit(self) -> int:
        currency = self._request.money.currency
        try:
            decimals = minor_unit(currency)
        except tables.NotListedError:
            decimals = None
        if decimals is None:
            self._wrong(refusals.UNKNOWN_CURRENCY, "/money/currency", currency)
        return decimals or 0

    def _adjustments(self, goods: Goods) -> list[NamedAdjustment]:
        ids = [good.id for good in _rows_of(goods)]
        found = []
        for place, each in enumerate(given(self._request.money.adjustments) or ()):
            pointer = f"/money/adjustments/{place}"
            if (each.amount is UNSET) == (each.percent is UNSET):
                self._wrong(refusals.ADJUSTMENT_UNCLEAR, pointer)
            line, tax = given(each.line), given(each.tax)
            if line is not None and line not in ids:
                self._wrong(refusals.UNKNOWN_LINE, f"{pointer}/line", line, known=ids)
            if line is None and tax is None:
                self._wrong(refusals.ADJUSTMENT_TAX, pointer, "send `tax`")
            elif line is not None and tax is not None:
                self._wrong(refusals.ADJUSTMENT_TAX, f"{pointer}/tax", "leave `tax` out")
            elif tax is not None:
                self._check_tax(tax, f"{pointer}/tax")
            fixed = given(each.amount)
            percent = None if isinstance(each.percent, UnsetType) else decimal_of(each.percent)
            if percent is not None:
                self._check_percent(percent, f"{pointer}/percent")
            adjustment = Adjustment(
                each.kind,
                None if fixed is None else Decimal(fixed),
                percent,
                tax=tax,
            )
            found.append(NamedAdjustment(adjustment, pointer, line, given(each.name)))
        return found

    def _check_date(self) -> None:
        terms = given(self._request.terms)
        if terms is not None and not isinstance(terms.issued_on, UnsetType):
            try:
                date.fromisoformat(terms.issued_on)
            except ValueError:
                self._wrong(refusals.NOT_A_DATE, "/terms/issued_on", terms.issued_on)

    # Where it lies.

    def _laid_at(self, pointer: str, jobs: Sequence[AlternativeJob]) -> tuple[int, Fraction] | None:
        """The alternative of a place, and how long its route is [m]; None where that is not known."""
        place = _PLACE.fullmatch(pointer)
        if place is not None:
            alternative, part, local = int(place[1]), int(place[2]), place[3]
            stated = self._request.alternatives
            if alternative < len(stated) and part < len(stated[alternative].parts):
                at = f"/alternatives/{alternative}/parts/{part}"
                read = next((each for each in jobs[alternative].parts if each.pointer == at), None)
                if read is None:
                    return None  # What is wrong with the part is told already.
                if local in read.laying.routes:
                    return alternative, read.laying.routes[local]
        self._wrong(refusals.UNKNOWN_PLACE, self._at, pointer)
        return None

    _at = ""

    def _grounds(
        self, jobs: Sequence[AlternativeJob], goods: Goods
    ) -> tuple[list[tuple[Fraction, ...]], bool]:
        """How much route of each alternative lies in which ground [m], and whether that is left open."""
        ids = [ground.good.id for ground in goods.grounds]
        lying = [[Fraction(0)] * len(ids) for _ in jobs]
        known: dict[str, list[tuple[Fraction, Fraction, str]]] = {}
        for index, place in enumerate(given(self._request.places) or ()):
            pointer = f"/places/{index}"
            if place.ground not in ids:
                self._wrong(refusals.UNKNOWN_GROUND, f"{pointer}/ground", place.ground, known=ids)
            self._at = f"{pointer}/pointer"
            laid, start, end = self._laid_at(place.pointer, jobs), exact(place.start), exact(place.end)
            if laid is None:
                continue
            if not start <= end <= laid[1]:
                self._wrong(refusals.OUTSIDE_ROUTE, pointer, *map(self._told, (start, end, laid[1])))
            for first, last, other in known.get(place.pointer, ()):
                if start < last and first < end:
                    self._wrong(refusals.GROUND_TWICE, pointer, other)
            known.setdefault(place.pointer, []).append((start, end, pointer))
            if place.ground in ids:
                lying[laid[0]][ids.index(place.ground)] += end - start
        left_open = False
        for job, own in zip(jobs, lying, strict=True):
            route = sum((part.laying.route for part in job.parts), start=Fraction(0))
            rest = route - sum(own)
            if ids and rest > 0:
                left_open = True
                own[0] += rest
        return [tuple(own) for own in lying], left_open

    def _crossings(self, jobs: Sequence[AlternativeJob]) -> list[list[CrossingJob]]:
        found: list[list[CrossingJob]] = [[] for _ in jobs]
        for index, crossing in enumerate(given(self._request.crossings) or ()):
            pointer = f"/crossings/{index}"
            self._at = f"{pointer}/pointer"
            laid, start, length = (
                self._laid_at(crossing.pointer, jobs),
                exact(crossing.at),
                exact(crossing.length),
            )
            row = None
            if not isinstance(crossing.item, UnsetType):
                row = self._item(crossing.item, "sundries", f"{pointer}/item")
                if (
                    row is not None
                    and (per := (given(self._catalogue.sundries) or [])[row].per) != "crossing"
                ):
                    self._wrong(refusals.NOT_PER_CROSSING, f"{pointer}/item", crossing.item, per)
            if laid is None:
                continue
            if start + length > laid[1]:
                self._wrong(
                    refusals.OUTSIDE_ROUTE, pointer, *map(self._told, (start, start + length, laid[1]))
                )
            found[laid[0]].append(CrossingJob(length, row))
        return found

    def _told(self, length: Fraction) -> str:
        """A length [m] in the unit of the reply."""
        return f"{float(length / exact_inside(1.0, self._unit)):.6g} {self._unit}"

    def _check_lengths(self, jobs: Sequence[AlternativeJob]) -> None:
        for job in jobs:
            lengths: dict[int, set[int]] = {}
            for part in job.parts:
                for piece in part.laying.pieces:
                    if piece.cable.row is not None:
                        lengths.setdefault(piece.cable.row, set()).add(micrometres(piece.laid, up=True))
            for row, own in sorted(lengths.items()):
                if len(own) > MOST_LENGTHS:
                    cable = (given(self._catalogue.cables) or [])[row]
                    counts = cable.id, str(len(own)), str(MOST_LENGTHS)
                    self._wrong(refusals.TOO_MANY_LENGTHS, job.pointer, *counts)


def _rows_of(goods: Goods) -> Iterator[Good]:
    """Every row that has an id."""
    for rows in (goods.cables, goods.connectors, goods.sundries, goods.labour, goods.grounds):
        for row in rows:
            yield row.good
    for plain in (goods.supplies, goods.fixtures, goods.lamps):
        yield from plain


class _ItemReader:
    """Reads the wiring of one part: its routes, exact, and as what each thing of it is bought."""

    def __init__(  # noqa: PLR0913, PLR0917  # what a part is read with, one caller
        self,
        catalogue: Catalogue,
        rows: dict[str, dict[str, int] | None],
        part: VoltageDropRequest,
        stated: VoltageDropRequest,
        pointer: str,
        wrong: Callable[..., None],
    ) -> None:
        self._cables = list(given(catalogue.cables) or ())
        self._by_triple: dict[tuple[str, str, str], list[int]] = {}
        for place, row in enumerate(self._cables):
            self._by_triple.setdefault(_triple(row), []).append(place)
        self._rows, self._part, self._stated, self._pointer, self._wrong = rows, part, stated, pointer, wrong
        self.supplies: list[CountedLine] = []
        self.fixtures: list[CountedLine] = []
        self.lamps: list[CountedLine] = []
        self.told: list[FindingFacts] = []
        self.heads = 0
        self._count("supplies", self.supplies, part.supply.item, "/supply", "/supply/item", 1)

    def wiring(self) -> tuple[Route, ...] | RouteGraph:
        """The wiring in exact lengths."""
        wiring = self._part.wiring
        if isinstance(wiring, EvenWiring):
            return (self._even(wiring),)
        if isinstance(wiring, SpansWiring):
            spans = tuple(
                RouteSpan(
                    f"/wiring/spans/{place}",
                    self._cable_at(cable_of(span), f"/wiring/spans/{place}"),
                    span.start,
                    span.end,
                    exact(span.length),
                    self._cable(cable_of(span), self._cable_at(cable_of(span), f"/wiring/spans/{place}")),
                )
                for place, span in enumerate(wiring.spans)
            )
            lines = tuple(
                (self._line(line, f"/wiring/fixtures/{place}"), line.point)
                for place, line in enumerate(wiring.fixtures)
            )
            return RouteGraph(spans, lines)
        assert not isinstance(wiring, TotalsWiring)  # noqa: S101  # no part with totals is read so far
        return tuple(self._run(run, f"/wiring/runs/{place}") for place, run in enumerate(wiring.runs))

    def _even(self, wiring: EvenWiring) -> Route:
        count, length = int(wiring.count), exact(wiring.length)
        first = length / count if isinstance(wiring.first_at, UnsetType) else exact(wiring.first_at)
        first = min(first, length) if count > 1 else length
        spacing = (length - first) / (count - 1) if count > 1 else None
        self._fixture(wiring.item, wiring.lamp, "/wiring", count)
        line = RouteLine("/wiring", first, count, spacing, None)
        cable = self._cable(wiring.cable, "/wiring/cable")
        return Route("/wiring", "/wiring/cable", Fraction(0), cable, (line,))

    def _run(self, run: Run | Branch | Spur, pointer: str) -> Route:
        branches: Sequence[Branch | Spur] = ()
        kind = "branches"
        if isinstance(run, Run):
            branches = given(run.branches) or ()
        elif isinstance(run, Branch):
            branches, kind = given(run.spurs) or (), "spurs"
        own_at = self._cable_at(cable_of(run), pointer)
        cable = self._cable(cable_of(run), own_at)
        changes = tuple(
            RouteChange(
                f"{pointer}/cable_changes/{place}/cable",
                exact(change.at),
                self._cable(change.cable, f"{pointer}/cable_changes/{place}/cable"),
            )
            for place, change in enumerate(given(run.cable_changes) or ())
        )
        leg = None
        if not isinstance(run.return_leg, UnsetType):
            own, at, cable_at, back = run.return_leg.cable, f"{pointer}/return_leg", own_at, cable
            if not isinstance(own, UnsetType):
                cable_at = f"{at}/cable"
                back = self._cable(own, cable_at)
            leg = RouteLeg(at, cable_at, exact(run.return_leg.length), back)
        return Route(
            pointer,
            own_at,
            Fraction(0) if isinstance(run, Run) else exact(run.at),
            cable,
            tuple(self._line(line, f"{pointer}/fixtures/{place}") for place, line in enumerate(run.fixtures)),
            changes,
            Fraction(0) if isinstance(run.tail, UnsetType) else exact(run.tail),
            leg,
            tuple(self._run(branch, f"{pointer}/{kind}/{place}") for place, branch in enumerate(branches)),
        )

    def _line(self, line: FixtureLine | PointFixture, pointer: str) -> RouteLine:
        pieces = 1 if isinstance(line.count, UnsetType) else int(line.count)
        self._fixture(line.item, line.lamp, pointer, pieces, line)
        lead = None
        if not isinstance(line.lead, UnsetType):
            item = given(line.lead.item) or given(line.lead.cable.item)
            is_bought = item is not None and self._rows["cables"] is not None
            at = self._lead_at(line, pointer)
            item_at = f"{at}/cable/item" if isinstance(line.lead.item, UnsetType) else f"{at}/item"
            cable = (
                self._cable(line.lead.cable, f"{at}/cable", item, item_at)
                if is_bought
                else self._unbought(line.lead.cable)
            )
            lead = RouteLead(cable, exact(line.lead.length) if is_bought else None)
        spacing = None
        if isinstance(line, FixtureLine) and not isinstance(line.spacing, UnsetType):
            spacing = exact(line.spacing)
        at_m = exact(line.at) if isinstance(line, FixtureLine) else Fraction(0)
        return RouteLine(pointer, at_m, pieces, spacing, lead)

    def _fixture(
        self,
        item: str | UnsetType,
        lamp: str | UnsetType,
        pointer: str,
        pieces: int,
        line: FixtureLine | PointFixture | None = None,
    ) -> None:
        self.heads += pieces
        at = self._stated_at(line, "item", item, pointer)
        self._count("fixtures", self.fixtures, item, pointer, at, pieces)
        if not isinstance(lamp, UnsetType):
            row = self._row("lamps", lamp, self._stated_at(line, "lamp", lamp, pointer))
            if row is not None:
                self.lamps.append(CountedLine(row, self._pointer + pointer, pieces))

    def _stated_at(
        self, line: FixtureLine | PointFixture | None, member: str, value: str | UnsetType, pointer: str
    ) -> str:
        """Where an item of a fixture stands: at its type, where that gives it."""
        types = getattr(self._part.wiring, "fixture_types", UNSET)
        if line is not None and not isinstance(line.type, UnsetType):
            for place, each in enumerate(given(types) or ()):
                if each.id == line.type and getattr(each, member) == value and value is not UNSET:
                    return f"/wiring/fixture_types/{place}/{member}"
        return f"{pointer}/{member}"

    def _count(  # noqa: PLR0913, PLR0917  # what is counted, and where it stands
        self, name: str, lines: list[CountedLine], item: str | UnsetType, pointer: str, at: str, pieces: int
    ) -> None:
        """Count what is bought by the piece, where its class is quoted."""
        rows = self._rows[name]
        if rows is None:
            return
        if isinstance(item, UnsetType):
            self._unnamed(pointer, f"{len(rows)} {name if len(rows) != 1 else ONE[name]}")
            return
        row = self._row(name, item, at)
        if row is not None:
            lines.append(CountedLine(row, self._pointer + pointer, pieces))

    def _unnamed(self, pointer: str, names: str) -> None:
        self.told.append(ITEM_NOT_NAMED.found(JobPart(pointer), "caller", parameters=(("names", names),)))

    def _row(self, name: str, item: str, at: str) -> int | None:
        rows = self._rows[name] or {}
        if item not in rows:
            self._wrong(refusals.UNKNOWN_ITEM, self._pointer + at, item, name, known=list(rows))
        return rows.get(item)

    def _unbought(self, cable: Cable) -> RouteCable:
        number = 1 if isinstance(cable.cables_in_parallel, UnsetType) else int(cable.cables_in_parallel)
        first, other = _pole(cable), cable.other_conductor
        return RouteCable(None, (first, first if isinstance(other, UnsetType) else _pole(other)), number)

    def _lead_at(self, line: FixtureLine | PointFixture, pointer: str) -> str:
        """Where the lead of a fixture stands: at its type, where that gives it."""
        types = given(getattr(self._part.wiring, "fixture_types", UNSET)) or ()
        for place, each in enumerate(types):
            if each.id == line.type and each.lead is line.lead:
                return f"/wiring/fixture_types/{place}/lead"
        return f"{pointer}/lead"

    def _cable(
        self, cable: Cable, pointer: str, item: str | None = None, item_at: str | None = None
    ) -> RouteCable:
        """A cable with its row of the catalogue, and what there is to be told of that."""
        if self._rows["cables"] is None:
            return self._unbought(cable)
        item = item or given(cable.item)
        route = self._unbought(cable)
        if item is None:
            fitting: list[int] = []
            if isinstance(cable, ListedCable) and isinstance(cable.other_conductor, UnsetType):
                fitting = self._by_triple.get(_triple(cable), [])
            if len(fitting) == 1:
                return route._replace(row=fitting[0])
            self._unnamed(
                pointer,
                f"{len(fitting) or 'no'} {'cables' if len(fitting) > 1 else 'cable'} of {_both(route)}",
            )
            return route
        own_at = f"{pointer}/item" if pointer.endswith("/cable") else "/wiring/cable/item"
        row = self._row("cables", item, item_at or own_at)
        if row is None:
            return route
        sold = self._cables[row]
        subject = JobPart(pointer)
        if isinstance(cable, MeasuredCable):
            self.told.append(ITEM_NOT_COMPARED.found(subject, "caller", parameters=(("name", item),)))
        elif not isinstance(cable.other_conductor, UnsetType) or _triple(cable) != _triple(sold):
            told = ("conductor", _in_full(cable)), ("name", item), ("of", _in_full(sold))
            self.told.append(ITEM_DIFFERS.found(subject, "caller", parameters=told))
        return route._replace(row=row)

    def _cable_at(self, cable: Cable, pointer: str) -> str:
        """What says the cable of a run or a span: its own, or the run itself where that of all is taken."""
        common = getattr(self._stated.wiring, "cable", UNSET)
        return pointer if common is cable else f"{pointer}/cable"


ONE: Final = {"supplies": "supply", "fixtures": "fixture"}


def _both(cable: RouteCable) -> str:
    first, second = cable.poles
    return first if first == second else f"{first} and {second}"


def _in_full(cable: ListedCable | CatalogueCable) -> str:
    """Size, material and stranding, those that are not usual told."""
    conductor, material, stranding = _triple(cable)
    told = f"{stranding} {conductor_name(conductor, material)}"
    other = cable.other_conductor if isinstance(cable, ListedCable) else UNSET
    return told if isinstance(other, UnsetType) else f"{told} and {_pole(other)}"
