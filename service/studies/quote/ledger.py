"""A bill as a ledger adds it up: exact decimals, rounded half up where EN 16931 rounds them [1]_ [2]_.

A price is that of `base_quantity` units, in the currency. What is printed is rounded once and added as it is
printed: a total is not rounded again.

References
----------
.. [1] EN 16931-1, Electronic invoicing, business terms BT-92 to BT-151 (from memory).
.. [2] Peppol BIS Billing 3.0, "Calculation of totals", "Calculation on line level" and "Rounding" (seen).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from math import ceil, floor
from typing import Final, Literal, NamedTuple

LineClass = Literal["supplies", "cables", "fixtures", "lamps", "joints", "sundries", "labour"]
PricesAre = Literal["cost", "net", "gross"]
TaxRounding = Literal["per-rate", "per-line"]

QUANTITY_DECIMALS: Final = 3
"""Decimals of a quantity as it is printed."""


class Tax(NamedTuple):
    """A tax by its code: percent of what is taxable."""

    code: str
    percent: Decimal
    name: str = ""


class Uplift(NamedTuple):
    """From cost to price: a `markup` is percent of the cost, a `margin`, below 100, percent of the price."""

    kind: Literal["markup", "margin"]
    percent: Decimal


class Adjustment(NamedTuple):
    """An allowance, which is taken off, or a charge, which is added.

    Parameters
    ----------
    kind : str
    amount : Decimal or None
        As such; None where it is a percentage.
    percent : Decimal or None
    base : Decimal or None
        What it is a percentage of; None: of a line's amount, or for the whole bill of the nets of all lines
        with the same tax.
    tax : str or None
        Code of the tax of the whole bill's; a line's has the tax of its line.
    line : int or None
        Place of the line that it is of; None: of the whole bill.
    """

    kind: Literal["allowance", "charge"]
    amount: Decimal | None = None
    percent: Decimal | None = None
    base: Decimal | None = None
    tax: str | None = None
    line: int | None = None


class Terms(NamedTuple):
    """How money is counted.

    Parameters
    ----------
    minor_unit : int
        Decimals of the amounts of the currency, `codes.minor_unit`.
    taxes : mapping of str to Tax
        By code.
    prices_are : str
        What the amounts of lines are; those of lines that are `always_net` are net.
    uplifts : mapping of LineClass to Uplift
        Where prices are cost; a class without one is sold at cost.
    unit_price_decimals : int or None
        None: those of the minor unit and of the amount as it is written, 2 at least.
    tax_rounding : str
    adjustments : tuple of Adjustment
    prepaid : Decimal
    """

    minor_unit: int
    taxes: Mapping[str, Tax]
    prices_are: PricesAre = "net"
    uplifts: Mapping[LineClass, Uplift] = {}
    unit_price_decimals: int | None = None
    tax_rounding: TaxRounding = "per-rate"
    adjustments: tuple[Adjustment, ...] = ()
    prepaid: Decimal = Decimal(0)

    def percent(self, code: str | None) -> Fraction:
        """Percent of the tax with a code; nothing where there is none.

        Raises
        ------
        KeyError
            The terms list no such tax.
        """
        return Fraction(0) if code is None else Fraction(self.taxes[code].percent)


class LineAsked(NamedTuple):
    """What a line is made from.

    Parameters
    ----------
    line_class : str
    quantity : Decimal
        As printed, `printed_quantity`.
    amount : Decimal or None
        Price of `base_quantity`, as `Terms.prices_are` says; None where it is missing.
    base_quantity : Decimal
    tax : str or None
        Code; None where the line is not taxed.
    always_net : bool
        Its price is net whatever those of goods are, as that of labour.
    """

    line_class: LineClass
    quantity: Decimal
    amount: Decimal | None
    base_quantity: Decimal = Decimal(1)
    tax: str | None = None
    always_net: bool = False


class Adjusted(NamedTuple):
    """An adjustment as it is printed: the base of a percentage, and the amount, unsigned.

    Both are None where a price is missing in what it is a percentage of; `base` also where it is an amount.
    """

    adjustment: Adjustment
    base: Decimal | None
    amount: Decimal | None

    @property
    def signed(self) -> Decimal | None:
        """What it adds: an allowance is below zero."""
        if self.amount is None or self.adjustment.kind == "charge" or not self.amount:
            return self.amount
        return self.amount.copy_negate()


class BillLine(NamedTuple):
    """A line as it is printed, in the place of the line asked; without money where its price is missing.

    Parameters
    ----------
    unit_price : Decimal or None
        Net, of the line's `base_quantity` (BT-146).
    amount : Decimal or None
        Unit price by quantity, before the line's own adjustments.
    adjustments : tuple of Adjusted
        The line's own (BG-27, BG-28).
    net : Decimal or None
        BT-131.
    """

    unit_price: Decimal | None
    amount: Decimal | None
    adjustments: tuple[Adjusted, ...]
    net: Decimal | None


class TaxedAt(NamedTuple):
    """What is taxable under one code (BT-116), and the tax on it (BT-117)."""

    tax: Tax
    taxable: Decimal
    amount: Decimal


class Bill(NamedTuple):
    """A bill; where a price is `missing` its totals are None and no tax is worked out.

    Parameters
    ----------
    lines : tuple of BillLine
        In the order asked.
    adjustments : tuple of Adjusted
        Of the whole bill, in the order of the terms (BG-20, BG-21).
    taxes : tuple of TaxedAt
        In the order of the terms, those left out that nothing has.
    line_total, allowances, charges : Decimal or None
        BT-106, BT-107, BT-108.
    net, tax, total : Decimal or None
        BT-109, BT-110, BT-112.
    prepaid, payable : Decimal or None
        BT-113, BT-115.
    missing : tuple of int
        Places of the lines without a price.
    beside_gross : Decimal or None
        Where prices are gross and nothing is adjusted: the total, less what the stated prices come to. They
        may differ, because what is net is rounded before it is taxed.
    """

    lines: tuple[BillLine, ...]
    adjustments: tuple[Adjusted, ...]
    taxes: tuple[TaxedAt, ...] = ()
    line_total: Decimal | None = None
    allowances: Decimal | None = None
    charges: Decimal | None = None
    net: Decimal | None = None
    tax: Decimal | None = None
    total: Decimal | None = None
    prepaid: Decimal = Decimal(0)
    payable: Decimal | None = None
    missing: tuple[int, ...] = ()
    beside_gross: Decimal | None = None


def rounded(value: Fraction | Decimal, decimals: int) -> Decimal:
    """Exactly so many decimals, half away from zero; zero has no sign.

    Examples
    --------
    >>> rounded(Decimal("2.345"), 2), rounded(Decimal("-2.345"), 2), rounded(Decimal("-0.004"), 2)
    (Decimal('2.35'), Decimal('-2.35'), Decimal('0.00'))
    """
    exact = Fraction(value)
    units = floor(abs(exact) * 10**decimals + Fraction(1, 2))
    return _decimal(-units if exact < 0 else units, decimals)


def printed_quantity(value: Fraction | Decimal, *, up: bool = False) -> Decimal:
    """A quantity in 3 decimals at most, without trailing zeros; lengths are rounded up.

    Examples
    --------
    >>> printed_quantity(Fraction(100, 3), up=True), printed_quantity(Decimal("5.250"))
    (Decimal('33.334'), Decimal('5.25'))
    """
    decimals = QUANTITY_DECIMALS
    exact = Fraction(value) * 10**decimals
    units = ceil(exact) if up else floor(exact + Fraction(1, 2))
    while decimals and units % 10 == 0:
        units, decimals = units // 10, decimals - 1
    return _decimal(units, decimals)


def difference(amount: Decimal, other: Decimal) -> Decimal:
    """One amount less another with as many decimals, to the last digit.

    Examples
    --------
    >>> difference(Decimal("119999999999999999988000000024.00"), Decimal("24.00"))
    Decimal('119999999999999999988000000000.00')
    """
    return rounded(Fraction(amount) - Fraction(other), len(f"{other:f}".partition(".")[2]))


def _decimal(units: int, decimals: int) -> Decimal:
    """So many units of the last decimal; put together from digits, since arithmetic cuts long numbers."""
    return Decimal((int(units < 0), tuple(map(int, str(abs(units)))), -decimals))


def _sum(values: Iterable[Decimal | None], minor_unit: int) -> Decimal | None:
    """The exact sum of amounts; None where one is missing."""
    total = Fraction(0)
    for value in values:
        if value is None:
            return None
        total += Fraction(value)
    return rounded(total, minor_unit)


def unit_price(asked: LineAsked, terms: Terms) -> Decimal | None:
    """The net price of the line's base quantity as it is printed; None where the price is missing.

    Raises
    ------
    KeyError
        The terms do not list its tax.
    """
    if asked.amount is None:
        return None
    decimals = terms.unit_price_decimals
    if decimals is None:
        decimals = max(2, terms.minor_unit, _decimals_of(asked.amount))
    exact = Fraction(asked.amount)
    if terms.prices_are == "gross" and not asked.always_net:
        exact /= 1 + terms.percent(asked.tax) / 100
    elif terms.prices_are == "cost" and not asked.always_net:
        exact *= _factor(terms.uplifts.get(asked.line_class))
    return rounded(exact, decimals)


def _decimals_of(amount: Decimal) -> int:
    """Decimals as they are needed to write an amount."""
    decimals = 0
    while (Fraction(amount) * 10**decimals).denominator > 1:
        decimals += 1
    return decimals


def _factor(uplift: Uplift | None) -> Fraction:
    """What a cost is multiplied by."""
    if uplift is None:
        return Fraction(1)
    part = Fraction(uplift.percent) / 100
    return 1 + part if uplift.kind == "markup" else 1 / (1 - part)


def line_amount(price: Decimal, base_quantity: Decimal, quantity: Decimal, minor_unit: int) -> Decimal:
    """A printed unit price by a printed quantity, rounded once to the minor unit."""
    return rounded(Fraction(price) / Fraction(base_quantity) * Fraction(quantity), minor_unit)


def bill_of(lines: Sequence[LineAsked], terms: Terms) -> Bill:
    """Add lines up to a bill.

    Raises
    ------
    KeyError
        The terms do not list the tax of a line or of an adjustment.
    """
    minor = terms.minor_unit
    own: dict[int | None, list[Adjustment]] = {}
    for each in terms.adjustments:
        own.setdefault(each.line, []).append(each)
    told = tuple(_line(asked, own.get(place, ()), terms) for place, asked in enumerate(lines))
    parts: dict[str | None, list[Decimal | None]] = {}
    for asked, line in zip(lines, told, strict=True):
        parts.setdefault(asked.tax, []).append(line.net)
    bases = {tax: _sum(nets, minor) for tax, nets in parts.items()}
    adjusted = tuple(_adjusted(each, bases.get(each.tax, Decimal(0)), minor) for each in own.get(None, ()))
    for done in adjusted:
        parts.setdefault(done.adjustment.tax, []).append(done.signed)
    nets = [line.net for line in told]
    bill = Bill(told, adjusted, prepaid=rounded(terms.prepaid, minor))
    if None in nets:
        return bill._replace(missing=tuple(place for place, net in enumerate(nets) if net is None))
    taxes = tuple(
        taxed
        for code, tax in terms.taxes.items()
        if (taxed := _taxed(tax, parts.get(code, ()), terms)) is not None
    )
    net = _sum((*nets, *(each.signed for each in adjusted)), minor)
    tax_total = _sum((each.amount for each in taxes), minor)
    total = _sum((net, tax_total), minor)
    return bill._replace(
        taxes=taxes,
        line_total=_sum(nets, minor),
        allowances=_sum((each.amount for each in adjusted if each.adjustment.kind == "allowance"), minor),
        charges=_sum((each.amount for each in adjusted if each.adjustment.kind == "charge"), minor),
        net=net,
        tax=tax_total,
        total=total,
        payable=_sum((total, bill.prepaid.copy_negate()), minor),
        beside_gross=_beside_gross(lines, told, terms, total),
    )


def _line(asked: LineAsked, adjustments: Sequence[Adjustment], terms: Terms) -> BillLine:
    """One line with its own adjustments, each of which is rounded by itself."""
    price = unit_price(asked, terms)
    amount = (
        None if price is None else line_amount(price, asked.base_quantity, asked.quantity, terms.minor_unit)
    )
    adjusted = tuple(_adjusted(each, amount, terms.minor_unit) for each in adjustments)
    net = _sum((amount, *(each.signed for each in adjusted)), terms.minor_unit)
    return BillLine(price, amount, adjusted, net)


def _adjusted(adjustment: Adjustment, base: Decimal | None, minor_unit: int) -> Adjusted:
    """An adjustment of what is, unless it names another base, the base of its percentage."""
    if adjustment.percent is None:
        return Adjusted(adjustment, None, rounded(adjustment.amount or Decimal(0), minor_unit))
    base = base if adjustment.base is None else adjustment.base
    if base is None:
        return Adjusted(adjustment, None, None)
    amount = rounded(Fraction(base) * Fraction(adjustment.percent) / 100, minor_unit)
    return Adjusted(adjustment, rounded(base, minor_unit), amount)


def _taxed(tax: Tax, parts: Sequence[Decimal | None], terms: Terms) -> TaxedAt | None:
    """The tax on these nets and adjustments, rounded as the terms say; None where there is nothing to tax."""
    known = [part for part in parts if part is not None]
    if not known:
        return None
    minor, rate = terms.minor_unit, Fraction(tax.percent) / 100
    taxable = rounded(sum(map(Fraction, known), start=Fraction(0)), minor)
    taxed = known if terms.tax_rounding == "per-line" else [taxable]
    each = [Fraction(rounded(Fraction(part) * rate, minor)) for part in taxed]
    return TaxedAt(tax, taxable, rounded(sum(each, start=Fraction(0)), minor))


def _beside_gross(
    lines: Sequence[LineAsked], told: Sequence[BillLine], terms: Terms, total: Decimal | None
) -> Decimal | None:
    """The total less what gross prices come to as they are stated, and net ones with their tax."""
    if terms.prices_are != "gross" or terms.adjustments or total is None:
        return None
    stated = Fraction(0)
    for asked, line in zip(lines, told, strict=True):
        exact = Fraction(line.net or 0) * (1 + terms.percent(asked.tax) / 100)
        if not asked.always_net:
            exact = Fraction(asked.amount or 0) / Fraction(asked.base_quantity) * Fraction(asked.quantity)
        stated += Fraction(rounded(exact, terms.minor_unit))
    return rounded(Fraction(total) - stated, terms.minor_unit)
