"""The ledger against published bills, three ledgers' reports of a cent, and what must always hold."""

from decimal import Decimal
from fractions import Fraction
from random import Random
from typing import Any, Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.studies.quote.ledger import (
    Adjustment,
    Bill,
    LineAsked,
    LineClass,
    PricesAre,
    Tax,
    TaxRounding,
    Terms,
    Uplift,
    bill_of,
    line_amount,
    printed_quantity,
    rounded,
    unit_price,
)


def money(text: str) -> Decimal:
    return Decimal(text)


def said(*amounts: Decimal | None) -> str:
    """Amounts as they are printed."""
    return " ".join(str(amount) for amount in amounts)


def taxed(bill: Bill) -> list[str]:
    """What is taxable and the tax on it, a text for each rate."""
    return [said(each.taxable, each.amount) for each in bill.taxes]


def goods(amount: str | None, quantity: str = "1", **more: Any) -> LineAsked:
    """A line of goods."""
    price = None if amount is None else money(amount)
    return LineAsked("fixtures", money(quantity), price)._replace(**more)


def terms(*taxes: str, minor_unit: int = 2, **more: Any) -> Terms:
    """Terms with taxes by their percentage, which is their code as well."""
    return Terms(minor_unit, {code: Tax(code, money(code)) for code in taxes})._replace(**more)


PEPPOL = [
    goods("410", "10", tax="25"),
    goods("200", "10", base_quantity=money("2"), tax="0"),
    goods("100", "10", tax="25"),
]
"""The three lines of `Calc.xml` and `Allowance-example.xml` of Peppol BIS Billing 3.0 (seen)."""

OF_LINES = [
    each
    for line in (0, 2)
    for each in (
        Adjustment("charge", percent=money("1"), base=money("100"), line=line),
        Adjustment("allowance", money("101"), line=line),
    )
]
OF_ALL = [
    Adjustment("charge", percent=money("20"), base=money("1000"), tax="25"),
    Adjustment("allowance", money("200"), tax="25"),
]


def test_the_example_of_peppol_is_billed_as_it_is_published() -> None:
    # Peppol BIS Billing 3.0, `rules/examples/Allowance-example.xml` and `rules/snippets/Calc.xml` (seen):
    # 4000, 1000 and 900; 4900 at 25 % is 1225; 5900, 7125, and 6125 to pay once 1000 are paid.
    bill = bill_of(PEPPOL, terms("25", "0", adjustments=(*OF_LINES, *OF_ALL), prepaid=money("1000")))
    assert said(*(line.net for line in bill.lines)) == "4000.00 1000.00 900.00"
    assert taxed(bill) == ["4900.00 1225.00", "1000.00 0.00"]
    assert said(bill.line_total, bill.allowances, bill.charges) == "5900.00 200.00 200.00"
    assert said(bill.net, bill.tax, bill.total) == "5900.00 1225.00 7125.00"
    assert said(bill.prepaid, bill.payable) == "1000.00 6125.00"


@pytest.mark.parametrize(
    ("quantities", "tax_rounding", "total"),
    [(["1"], "per-rate", "3.80"), (["10"], "per-rate", "37.98"), (["1"] * 10, "per-line", "38.00")],
)
def test_ten_lines_rounded_alone_come_to_more_than_one_of_ten(
    quantities: list[str], tax_rounding: TaxRounding, total: str
) -> None:
    # OCA/OCB issue 1221 (seen): 3.60 and 5.5 %, which ledgers tell as 3.80, 37.98 and 38.00.
    lines = [goods("3.60", quantity, tax="5.5") for quantity in quantities]
    assert bill_of(lines, terms("5.5", tax_rounding=tax_rounding)).total == money(total)


def test_ten_lines_taxed_together_come_to_what_one_of_ten_does() -> None:
    lines = [goods("3.60", tax="5.5")] * 10
    assert bill_of(lines, terms("5.5")).total == money("37.98")


def test_gross_prices_are_made_net_each_by_itself() -> None:
    # odoo issue 279740 (seen): 1000/1.3 and 800/1.3 are 769.23 and 615.38, together 1384.61; of 1800 it is
    # 1384.62.
    gross = terms("30", prices_are="gross")
    bill = bill_of([goods("1000", tax="30"), goods("800", tax="30")], gross)
    assert said(*(line.net for line in bill.lines), bill.net) == "769.23 615.38 1384.61"
    assert bill_of([goods("1800", tax="30")], gross).net == money("1384.62")
    assert (bill.total, bill.beside_gross) == (money("1799.99"), money("-0.01"))


def test_a_price_of_several_units_is_not_rounded_for_one() -> None:
    # adempiere issue 2975 (seen): 5 packs of 4 at 182,193.74 a pack are 910,968.70; with the price of one
    # rounded first they would be 910,968.80.
    pack = goods("182193.74", "20", base_quantity=money("4"))
    assert bill_of([pack], terms()).total == money("910968.70")
    alone = rounded(Fraction(money("182193.74")) / 4, 2)
    assert line_amount(alone, money("1"), money("20"), 2) == money("910968.80")


@pytest.mark.parametrize(
    ("uplift", "price"),
    [
        (Uplift("markup", money("20")), "120.00"),
        (Uplift("margin", money("20")), "125.00"),
        (Uplift("margin", money("30")), "142.86"),
    ],
)
def test_a_margin_is_part_of_the_price_and_a_markup_part_of_the_cost(uplift: Uplift, price: str) -> None:
    # contractingbusiness.com, "Mark-Up and Margin"; r/Contractor 1jufw4g (both seen).
    cost = terms(prices_are="cost", uplifts={"fixtures": uplift})
    assert str(unit_price(goods("100"), cost)) == price


MARGIN_30 = Uplift("margin", money("30"))


def garden(spools: str, price: str, connectors: str, hours: str) -> Bill:
    """One of the three columns of the worked example: two runs of 150 ft, one fixture each."""
    kinds: list[tuple[LineClass, str, str]] = [
        ("supplies", "145.00", "1"),
        ("cables", price, spools),
        ("fixtures", "89.50", "2"),
        ("joints", "2.40", connectors),
    ]
    lines = [LineAsked(kind, money(count), money(cost), tax="8.25") for kind, cost, count in kinds]
    lines.append(LineAsked("labour", money(hours), money("85.00"), always_net=True))
    uplifts: dict[LineClass, Uplift] = {kind: MARGIN_30 for kind, _, _ in kinds}
    return bill_of(lines, terms("8.25", prices_are="cost", uplifts=uplifts))


@pytest.mark.parametrize(
    ("column", "nets", "totals"),
    [
        (("3", "60", "8", "5.25"), "207.14 257.13 255.72 27.44 446.25", "1193.68 61.66 1255.34"),
        (("1", "260", "4", "4.75"), "207.14 371.43 255.72 13.72 403.75", "1251.76 69.96 1321.72"),
        (("2", "140", "4", "4.75"), "207.14 400.00 255.72 13.72 403.75", "1280.33 72.32 1352.65"),
    ],
)
def test_the_worked_example_comes_to_the_cent(
    column: tuple[str, str, str, str], nets: str, totals: str
) -> None:
    # Worked out by hand, twice and independently: 30 % margin, 8.25 % on goods, labour at 85 an hour untaxed.
    bill = garden(*column)
    assert said(*(line.net for line in bill.lines)) == nets
    assert said(bill.net, bill.tax, bill.total) == totals
    assert [each.tax.code for each in bill.taxes] == ["8.25"]


def test_a_line_without_a_price_is_listed_and_the_totals_are_withheld() -> None:
    ten_percent_off = Adjustment("allowance", percent=money("10"), tax="20")
    bill = bill_of(
        [goods("5", tax="20"), goods(None, "3", tax="20"), goods(None)],
        terms("20", adjustments=(ten_percent_off,)),
    )
    assert said(*(line.net for line in bill.lines)) == "5.00 None None"
    assert bill.missing == (1, 2)
    assert said(bill.line_total, bill.net, bill.tax, bill.total, bill.payable) == "None None None None None"
    assert bill.taxes == ()
    assert bill.adjustments[0].amount is None


def test_a_percentage_is_of_the_lines_with_its_tax() -> None:
    off = Adjustment("allowance", percent=money("12.5"), tax="20")
    bill = bill_of([goods("80", tax="20"), goods("50", tax="5")], terms("20", "5", adjustments=(off,)))
    (done,) = bill.adjustments
    assert said(done.base, done.amount, done.signed) == "80.00 10.00 -10.00"
    assert taxed(bill) == ["70.00 14.00", "50.00 2.50"]
    assert said(bill.line_total, bill.net, bill.total) == "130.00 120.00 136.50"


def test_an_allowance_beyond_what_is_taxed_leaves_less_than_nothing() -> None:
    off = Adjustment("allowance", money("30"), tax="20")
    bill = bill_of([goods("10", tax="20"), goods("5", tax="5")], terms("20", "5", adjustments=(off,)))
    assert taxed(bill) == ["-20.00 -4.00", "5.00 0.25"]
    assert bill.total == money("-18.75")


def test_what_was_paid_beyond_the_total_is_less_than_nothing_to_pay() -> None:
    bill = bill_of([goods("10")], terms(prepaid=money("12")))
    assert said(bill.total, bill.payable) == "10.00 -2.00"


def test_a_tax_that_nothing_has_is_not_printed_and_one_of_nothing_is() -> None:
    bill = bill_of([goods("0", tax="20")], terms("20", "5"))
    assert [each.tax.code for each in bill.taxes] == ["20"]


def test_a_tax_that_the_terms_do_not_list_is_no_tax_of_nothing() -> None:
    with pytest.raises(KeyError):
        bill_of([goods("3", tax="7")], terms("20", prices_are="gross"))


@pytest.mark.parametrize(("minor_unit", "net"), [(0, "3"), (2, "3.50"), (3, "3.498")])
def test_a_currency_has_the_decimals_of_its_minor_unit(minor_unit: int, net: str) -> None:
    # ISO 4217: yen 0, most 2, Kuwaiti dinar 3 (seen).
    bill = bill_of([goods("1.166", "3")], terms(minor_unit=minor_unit))
    assert str(bill.net) == net


def test_a_unit_price_keeps_the_decimals_in_which_it_is_written() -> None:
    assert str(unit_price(goods("0.4567"), terms())) == "0.4567"
    assert str(unit_price(goods("0.4567"), terms(unit_price_decimals=2))) == "0.46"
    assert str(unit_price(goods("7"), terms(minor_unit=0))) == "7.00"
    half = terms(prices_are="cost", uplifts={"fixtures": Uplift("margin", money("50"))})
    assert str(unit_price(goods("0.000001"), half)) == "0.000002"


def test_labour_is_net_whatever_the_prices_of_goods_are() -> None:
    hours = LineAsked("labour", money("2"), money("85"), tax="20", always_net=True)
    kinds: tuple[PricesAre, ...] = ("cost", "net", "gross")
    for prices_are in kinds:
        bill = bill_of([hours], terms("20", prices_are=prices_are, uplifts={"labour": MARGIN_30}))
        assert said(bill.net, bill.total) == "170.00 204.00"


@pytest.mark.parametrize(
    ("value", "up", "printed"),
    [
        (Fraction(100, 3), True, "33.334"),
        (Fraction(100, 3), False, "33.333"),
        (Fraction(300), True, "300"),
        (money("0.0005"), False, "0.001"),
        (money("12.50"), False, "12.5"),
        (money("0"), True, "0"),
    ],
)
def test_a_quantity_is_printed_in_three_decimals_at_most(
    value: Fraction | Decimal, *, up: bool, printed: str
) -> None:
    assert str(printed_quantity(value, up=up)) == printed


def test_long_amounts_are_added_to_the_last_digit() -> None:
    # Thirteen digits and six decimals, a million times: beyond the digits of ordinary decimal arithmetic.
    price = money("9999999999999.999999")
    bill = bill_of([goods(str(price), "999999.999"), goods("0.01")], terms(unit_price_decimals=6))
    exact = Fraction(price) * Fraction(money("999999.999"))
    assert bill.line_total is not None
    assert abs(Fraction(bill.line_total) - exact - Fraction(1, 100)) <= Fraction(1, 200)
    assert len(bill.line_total.as_tuple().digits) > 20


AMOUNTS = st.decimals(0, 10**13, places=6, allow_nan=False)
QUANTITIES = st.decimals(0, 10**4, places=3, allow_nan=False)
PERCENTS = st.decimals(0, 100, places=4, allow_nan=False)
CODES = st.sampled_from(["20", "5.5", None])


@st.composite
def line(draw: st.DrawFn) -> LineAsked:
    base = draw(st.sampled_from([money("1"), money("3"), money("100"), money("0.001")]))
    return LineAsked("cables", draw(QUANTITIES), draw(AMOUNTS), base, draw(CODES), draw(st.booleans()))


@st.composite
def adjustment(draw: st.DrawFn) -> Adjustment:
    kinds: list[Literal["allowance", "charge"]] = ["allowance", "charge"]
    kind = draw(st.sampled_from(kinds))
    if draw(st.booleans()):
        return Adjustment(kind, percent=draw(PERCENTS), tax=draw(CODES))
    return Adjustment(kind, draw(AMOUNTS), tax=draw(CODES))


@st.composite
def all_terms(draw: st.DrawFn) -> Terms:
    return terms(
        "20",
        "5.5",
        minor_unit=draw(st.sampled_from([0, 2, 3, 4])),
        prices_are=draw(st.sampled_from(["cost", "net", "gross"])),
        uplifts={
            "cables": draw(
                st.sampled_from(
                    [
                        Uplift("markup", money("0")),
                        Uplift("margin", money("99.999999")),
                        Uplift("markup", money("1000")),
                    ]
                )
            )
        },
        tax_rounding=draw(st.sampled_from(["per-rate", "per-line"])),
        adjustments=tuple(draw(st.lists(adjustment(), max_size=3))),
        prepaid=draw(AMOUNTS),
    )


def whole(value: Decimal | None) -> Fraction:
    """An amount that must be there, in units of the last of its decimals that count."""
    assert value is not None
    return Fraction(value)


@given(st.lists(line(), min_size=1, max_size=8), all_terms())
def test_sums_are_those_of_what_is_printed(lines: list[LineAsked], asked: Terms) -> None:
    bill = bill_of(lines, asked)
    assert whole(bill.line_total) == sum(whole(each.net) for each in bill.lines)
    assert whole(bill.net) == whole(bill.line_total) - whole(bill.allowances) + whole(bill.charges)
    assert whole(bill.tax) == sum(whole(each.amount) for each in bill.taxes)
    untaxed = [each.net for asked_line, each in zip(lines, bill.lines, strict=True) if asked_line.tax is None]
    untaxed += [each.signed for each in bill.adjustments if each.adjustment.tax is None]
    assert whole(bill.net) == sum(whole(each.taxable) for each in bill.taxes) + sum(map(whole, untaxed))
    assert whole(bill.total) == whole(bill.net) + whole(bill.tax)
    assert whole(bill.payable) == whole(bill.total) - whole(bill.prepaid)
    for amount in (
        bill.line_total,
        bill.net,
        bill.tax,
        bill.total,
        bill.payable,
        bill.allowances,
        bill.charges,
    ):
        assert amount is not None
        assert amount.as_tuple().exponent == -asked.minor_unit
        assert amount or not amount.is_signed()


@given(st.lists(line(), min_size=2, max_size=6), all_terms(), st.randoms(use_true_random=False))
def test_the_order_of_lines_changes_nothing(lines: list[LineAsked], asked: Terms, chance: Random) -> None:
    turned = list(lines)
    chance.shuffle(turned)
    first, second = bill_of(lines, asked), bill_of(turned, asked)
    assert sorted(each.net or 0 for each in first.lines) == sorted(each.net or 0 for each in second.lines)
    assert first._replace(lines=()) == second._replace(lines=())


@given(AMOUNTS, QUANTITIES, st.sampled_from([0, 2, 3]))
def test_a_line_is_no_further_from_its_product_than_half_of_the_last_decimal(
    price: Decimal, quantity: Decimal, minor_unit: int
) -> None:
    told = line_amount(price, money("7"), quantity, minor_unit)
    exact = Fraction(price) * Fraction(quantity) / 7
    assert abs(Fraction(told) - exact) * 10**minor_unit <= Fraction(1, 2)
