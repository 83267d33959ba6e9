"""A bill as a ledger adds it up: exact decimals, each rounded once and half up, as EN 16931 has it [1]_ [2]_.

A price is of `base_quantity` units and in the currency; what is rounded to the minor unit is rounded where the
standard says so and never again: the total is the sum of what is printed.

References
----------
.. [1] EN 16931-1, Electronic invoicing, business terms BT-92 to BT-151 (from memory).
.. [2] Peppol BIS Billing 3.0, "Calculation of totals", "Calculation on line level" and "Rounding" (seen).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
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
        Of a line's amount; of the whole bill: of the nets of all lines with the same tax.
    tax : str or None
        Code of the tax of the whole bill's; a line's has the tax of its line.
    line : int or None
        Place of the line that it is of; None: of the whole bill.
    """

    kind: Literal["allowance", "charge"]
    amount: Decimal | None = None
    percent: Decimal | None = None
    tax: str | None = None
    line: int | None = None


class Terms(NamedTuple):
    """How money is counted.

    Parameters
    ----------
    minor_unit : int
        Decimals of the currency's amounts, `codes.currency(...).minor_unit`.
    taxes : mapping of str to Tax
        By code.
    prices_are : str
        What the amounts of lines are; those of lines that are `always_net` are net.
    uplifts : mapping of LineClass to Uplift
        Where prices are cost; a class without one is sold at cost.
    unit_price_decimals : int or None
        None: the minor unit's, 2 at least.
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

    @property
    def price_decimals(self) -> int:
        """Decimals of a unit price."""
        return max(2, self.minor_unit) if self.unit_price_decimals is None else self.unit_price_decimals


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
        Where prices are gross and without adjustments: the total, less what the stated prices come to.
    """

    lines: tuple[BillLine, ...]
    adjustments: tuple[Adjusted, ...]
    taxes: tuple[TaxedAt, ...]
    line_total: Decimal | None
    allowances: Decimal | None
    charges: Decimal | None
    net: Decimal | None
    tax: Decimal | None
    total: Decimal | None
    prepaid: Decimal
    payable: Decimal | None
    missing: tuple[int, ...]
    beside_gross: Decimal | None

    @property
    def below_zero(self) -> tuple[str, ...]:
        """What is negative: codes of taxes by what is taxable, `total`, `payable`; lines are the caller's to see."""
        raise NotImplementedError


def rounded(value: Fraction | Decimal, decimals: int) -> Decimal:
    """Exactly so many decimals, half away from zero; zero has no sign."""
    raise NotImplementedError


def printed_quantity(value: Fraction | Decimal, *, up: bool = False) -> Decimal:
    """A quantity in 3 decimals at most, without trailing zeros; lengths are rounded up."""
    raise NotImplementedError


def unit_price(asked: LineAsked, terms: Terms) -> Decimal | None:
    """The net price of the line's base quantity as it is printed; None where the price is missing."""
    raise NotImplementedError


def line_amount(price: Decimal, base_quantity: Decimal, quantity: Decimal, minor_unit: int) -> Decimal:
    """A printed unit price by a printed quantity, rounded once to the minor unit."""
    raise NotImplementedError


def bill_of(lines: Sequence[LineAsked], terms: Terms) -> Bill:
    """Add lines up to a bill."""
    raise NotImplementedError
