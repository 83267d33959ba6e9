"""Values of four digits, and the search for those that hold."""

from collections.abc import Callable
from decimal import ROUND_FLOOR, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.circuit.job import JobPart
from service.findings.finding import FAULT, HIGH_VOLTAGE, LOW_VOLTAGE, Amount, FindingFacts
from service.findings.voltage import FIXTURE_ABOVE_WINDOW, FIXTURE_BELOW_WINDOW, NO_OPERATING_POINT
from service.studies.reach.study import Sides, search
from service.studies.reach.trial import LAST_RUNG, rung

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


# Limits as bands of places: one that breaks below the band, one that breaks above it.


def outside(*bands: tuple[int, int]) -> Callable[[int], list[FindingFacts]]:
    """What rules out each place that no band holds: too near below the band, too far above it."""

    def broken(at: int) -> list[FindingFacts]:
        if any(first <= at <= last for first, last in bands):
            return []
        far = at > bands[0][1]
        kind = FIXTURE_BELOW_WINDOW if far else FIXTURE_ABOVE_WINDOW
        distance = at - bands[0][1] if far else bands[0][0] - at
        limit, over = Amount(10.0, "V"), Amount(10.0 + distance, "V", 1)
        return [kind.found(JobPart("/question"), "caller", measured=over, limit=limit, severity=FAULT)]

    return broken


SIDED = Sides(frozenset({HIGH_VOLTAGE}))
UNSIDED = Sides(frozenset(), frozenset({HIGH_VOLTAGE, LOW_VOLTAGE}))


PLACES = st.lists(st.integers(1, 4999), min_size=1, max_size=12, unique=True).map(
    lambda places: sorted({0, *places, 5000})
)


@given(
    places=PLACES,
    first=st.integers(0, 5000),
    width=st.integers(0, 5000),
    sides=st.sampled_from([SIDED, UNSIDED]),
)
def test_a_band_is_found_to_one_step_at_both_edges_however_narrow(
    places: list[int], first: int, width: int, sides: Sides
) -> None:
    last = min(first + width, 5000)
    found = search(outside((first, last)), places, sides)
    assert found.kept == (first, last)
    assert found.every == (sides == SIDED)


# Beyond the band two limits are broken by turns, so that neighbours that were tried may share none.


@given(places=PLACES, first=st.integers(0, 5000), width=st.integers(0, 9), apart=st.integers(1, 40))
def test_a_band_is_found_although_what_is_too_large_breaks_limits_by_turns(
    places: list[int], first: int, width: int, apart: int
) -> None:
    last = min(first + width, 5000)

    def broken(at: int) -> list[FindingFacts]:
        found = outside((first, last))(at)
        turned = at > last and (at - last) // apart % 2
        return [NO_OPERATING_POINT.found(each.subject, "caller") for each in found] if turned else found

    found = search(broken, places, SIDED)
    assert (found.kept, found.every) == ((first, last), True)


@given(places=PLACES, edge=st.integers(0, 5001))
def test_where_small_gives_way_to_large_without_a_value_between_it_is_certain_that_none_holds(
    places: list[int], edge: int
) -> None:
    found = search(outside((edge, edge - 1)), places, SIDED)
    assert (found.kept, found.every) == (None, True)
    assert found.nearest in {edge - 1, edge}


@given(places=PLACES, edge=st.integers(0, 5001))
def test_where_limits_have_no_side_only_what_was_tried_is_certain(places: list[int], edge: int) -> None:
    found = search(outside((edge, edge - 1)), places, UNSIDED)
    assert found.kept is None
    assert found.tried < 5001
    assert not found.every
    assert search(outside((edge, edge - 1)), list(range(5001)), UNSIDED).every


@given(places=PLACES, low=st.integers(0, 2400), high=st.integers(2500, 5000), width=st.integers(0, 99))
def test_of_two_bands_one_is_answered_whose_edges_are_exact(
    places: list[int], low: int, high: int, width: int
) -> None:
    bands = (low, low + width), (high, min(high + width, 5000))
    broken = outside(*bands)
    found = search(broken, places, UNSIDED)
    assert found.kept is not None
    assert not found.every
    assert not broken(found.kept.first)
    assert not broken(found.kept.last)
    assert found.kept.first == 0 or broken(found.kept.first - 1)
    assert found.kept.last == 5000 or broken(found.kept.last + 1)


@pytest.mark.parametrize("places", [[0], [0, 7], [0, 3, 9]])
def test_where_nothing_holds_the_place_that_comes_nearest_is_named(places: list[int]) -> None:
    far, near = search(outside((20, 20)), places, SIDED), search(outside((-9, -9)), places, SIDED)
    assert (far.kept, far.nearest, far.every) == (None, places[-1], True)
    assert (near.kept, near.nearest, near.every) == (None, 0, True)


@pytest.mark.parametrize("last", [0, 1, 1000])
def test_where_all_hold_the_band_is_all_there_is(last: int) -> None:
    assert search(outside((0, 1000)), sorted({0, last}), SIDED).kept == (0, last)
