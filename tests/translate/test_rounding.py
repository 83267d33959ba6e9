"""Rounding for show goes towards failing and never farther than one last digit."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.translate.rounding import DECIMALS, known_to_1_percent, rounded

values = st.floats(-1e4, 1e4, allow_nan=False)
places = st.sampled_from(sorted(set(DECIMALS.values())))


@given(values, places)
def test_a_low_failure_is_never_shown_higher_than_it_is(value: float, decimals: int) -> None:
    assert rounded(value, decimals, -1) <= value


@given(values, places)
def test_a_high_failure_is_never_shown_lower_than_it_is(value: float, decimals: int) -> None:
    assert rounded(value, decimals, 1) >= value


@given(values, places, st.sampled_from([-1, 0, 1]))
def test_what_is_shown_is_within_one_last_digit(value: float, decimals: int, towards: int) -> None:
    assert abs(rounded(value, decimals, towards) - value) <= 10.0**-decimals * (1 + 1e-6)


@given(st.integers(-(10**6), 10**6), st.sampled_from([-1, 0, 1]))
def test_what_has_few_decimals_is_shown_as_it_is(number: int, towards: int) -> None:
    assert rounded(number / 10_000, 4, towards) == number / 10_000


@pytest.mark.parametrize(
    ("value", "towards", "shown"),
    [(8.99999, -1, 8.9999), (8.99999, 0, 9.0), (15.00001, 1, 15.0001), (9.0, -1, 9.0), (15.0, 1, 15.0)],
)
def test_examples_at_a_limit(value: float, towards: int, shown: float) -> None:
    assert rounded(value, 4, towards) == shown


@given(st.floats(1e-6, 100.0))
def test_what_a_search_to_1_percent_knows_is_never_more_and_hardly_less(found: float) -> None:
    shown = known_to_1_percent(found)
    assert found * 0.98 <= shown <= found


@given(st.floats(1e-6, 100.0))
def test_what_a_search_to_1_percent_knows_has_three_digits_at_most(found: float) -> None:
    digits = f"{known_to_1_percent(found):.12e}".partition("e")[0].replace(".", "").rstrip("0")
    assert len(digits) <= 3
