"""Codes of currencies, units and trade items against what their standards publish."""

from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.studies.quote.codes import GTIN_LENGTHS, check_digit, is_gtin, minor_unit, unit_code
from service.tables import NotListedError
from service.wire.quantities import LengthUnit


@pytest.mark.parametrize(
    ("code", "decimals"),
    [("USD", 2), ("EUR", 2), ("GBP", 2), ("JPY", 0), ("ISK", 0), ("BHD", 3), ("TND", 3), ("CLF", 4)],
)
def test_a_currency_has_the_minor_unit_of_iso_4217(code: str, decimals: int) -> None:
    assert minor_unit(code) == decimals


@pytest.mark.parametrize("code", ["XAU", "XDR", "XTS", "XXX"])
def test_metals_and_codes_for_tests_have_no_minor_unit(code: str) -> None:
    assert minor_unit(code) is None


@pytest.mark.parametrize("code", ["HRK", "DEM", "CUC", "eur", "EURO", "", "ZZZ"])
def test_what_is_no_currency_in_use_is_not_listed(code: str) -> None:
    with pytest.raises(NotListedError):
        minor_unit(code)


@pytest.mark.parametrize(
    ("unit", "code"),
    [("m", "MTR"), ("ft", "FOT"), ("piece", "C62"), ("hour", "HUR"), ("set", "SET"), ("reel", "XRL")],
)
def test_a_unit_has_its_code_of_un_ece(unit: str, code: str) -> None:
    assert unit_code(unit) == code


def test_every_unit_of_length_of_the_service_has_a_code() -> None:
    codes = [unit_code(unit) for unit in get_args(LengthUnit)]
    assert len(set(codes)) == len(codes)


def test_a_unit_in_which_nothing_is_counted_is_not_listed() -> None:
    with pytest.raises(NotListedError):
        unit_code("ohm")


@pytest.mark.parametrize(
    "number",
    [
        "7300010000001",  # Peppol BIS Billing 3.0, its examples (seen); by hand 3 * (3 + 1) + 7 = 19, so 1.
        "4006381333931",  # The usual example of EAN-13 (from memory).
        "036000291452",  # The usual example of UPC-A (from memory).
        "73513537",  # An example of EAN-8 (from memory).
        "00012345600012",  # An example of GTIN-14 (from memory).
    ],
)
def test_published_numbers_have_the_right_check_digit(number: str) -> None:
    assert is_gtin(number)
    assert not is_gtin(number[:-1] + str((int(number[-1]) + 1) % 10))


@pytest.mark.parametrize(
    "text", ["", "0", "730001000000", "73000100000017", "7300010000 01", "73000100000O1", "٧٣٥١٣٥٣٧"]
)
def test_what_is_no_number_of_the_right_length_is_none(text: str) -> None:
    assert not is_gtin(text)


@given(st.text("0123456789", min_size=7, max_size=13), st.data())
def test_one_wrong_digit_is_always_seen(digits: str, data: st.DataObject) -> None:
    number = digits + str(check_digit(digits))
    assert is_gtin(number) == (len(number) in GTIN_LENGTHS)
    place = data.draw(st.integers(0, len(number) - 1))
    other = data.draw(st.sampled_from([digit for digit in "0123456789" if digit != number[place]]))
    assert not is_gtin(number[:place] + other + number[place + 1 :])


@given(st.text("0123456789", min_size=12, max_size=12))
def test_zeros_before_a_number_change_nothing(digits: str) -> None:
    assert check_digit("0" + digits) == check_digit(digits)
