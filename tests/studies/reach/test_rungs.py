"""Values of four digits, and the search for the last that holds."""

from decimal import ROUND_FLOOR, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.studies.reach.study import LAST_RUNG, last_holding, rung

RUNGS = st.integers(0, LAST_RUNG)


@given(RUNGS)
def test_a_rung_is_the_float_of_its_four_digits(index: int) -> None:
    value = rung(index)
    assert value == float(f"{value:.4g}")


@given(st.integers(0, LAST_RUNG - 1))
def test_neighbours_are_at_most_a_thousandth_apart(index: int) -> None:
    low, high = Decimal(repr(rung(index))), Decimal(repr(rung(index + 1)))
    assert 0 < high - low <= low / 1000


@given(RUNGS)
def test_a_rung_is_found_by_its_value(index: int) -> None:
    value = Decimal(repr(rung(index)))
    below = value.scaleb(-value.adjusted() + 3).to_integral_value(ROUND_FLOOR)
    assert 1000 <= below <= 9999


@given(last=st.integers(0, 5000), share=st.floats(0, 1))
def test_the_search_finds_the_last_that_holds(last: int, share: float) -> None:
    bound = round(share * last)
    tried: list[int] = []

    def holds(index: int) -> bool:
        tried.append(index)
        return index <= bound

    assert last_holding(holds, last) == bound
    assert max(tried) <= max(1, 3 * bound + 1)
    assert len(tried) <= 30


@pytest.mark.parametrize("last", [0, 1, 1000])
def test_where_nothing_holds_there_is_no_last(last: int) -> None:
    assert last_holding(lambda _: False, last) is None


@pytest.mark.parametrize("last", [0, 1, 1000])
def test_where_all_hold_it_is_the_last_of_all(last: int) -> None:
    assert last_holding(lambda _: True, last) == last
