"""Connectors: an exact multiset of conductors, the cheapest of those that take it, and never the nearest."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.studies.quote.connectors import Conductors, Connector, Meeting, cheapest, conductors_of

TWELVE, LEAD, PASSING = Meeting("12 AWG"), Meeting("18 AWG"), Meeting("12 AWG", uncut=True)
SPLICE = conductors_of([(TWELVE, 2)])
TAP = conductors_of([(PASSING, 1), (LEAD, 1)])


def connector(name: str, price: str | None, *accepts: Conductors, poles: int = 1) -> Connector:
    return Connector(name, poles, accepts, None if price is None else Decimal(price))


def test_the_order_in_which_conductors_meet_changes_nothing() -> None:
    there = conductors_of([(TWELVE, 1), (LEAD, 1), (TWELVE, 1)])
    assert there == conductors_of([(LEAD, 1), (TWELVE, 2), (PASSING, 0)]) == {TWELVE: 2, LEAD: 1}
    assert list(there) == [TWELVE, LEAD]


def test_cables_in_parallel_count_each() -> None:
    assert conductors_of([(TWELVE, 2), (TWELVE, 2)]) == {TWELVE: 4}


def test_a_cable_that_is_tapped_is_no_two_ends() -> None:
    rows = [connector("splice", "1", conductors_of([(TWELVE, 2), (LEAD, 1)])), connector("tap", "9", TAP)]
    chosen = cheapest(rows, TAP)
    assert chosen is not None
    assert chosen.id == "tap"


@pytest.mark.parametrize(
    "near",
    [
        conductors_of([(TWELVE, 3)]),
        conductors_of([(TWELVE, 1)]),
        conductors_of([(TWELVE, 2), (LEAD, 1)]),
        conductors_of([(Meeting("10 AWG"), 2)]),
        conductors_of([(PASSING, 2)]),
        conductors_of([]),
    ],
)
def test_the_nearest_is_never_taken(near: Conductors) -> None:
    assert cheapest([connector("near", "0.01", near)], SPLICE) is None


def test_of_those_that_fit_the_cheapest_is_taken_and_the_first_of_equals() -> None:
    rows = [connector(name, price, TAP, SPLICE) for name, price in (("a", "3"), ("b", "2"), ("c", "2"))]
    assert cheapest(rows, SPLICE) == rows[1]


def test_a_point_takes_two_of_one_pole_or_one_of_two_poles() -> None:
    one, two = connector("one", "2.40", SPLICE), connector("two", "4.79", SPLICE, poles=2)
    assert (one.number, two.number) == (2, 1)
    assert cheapest([one, two], SPLICE) == two
    assert cheapest([one, two._replace(unit_price=Decimal("4.81"))], SPLICE) == one


def test_a_price_of_a_box_is_compared_by_the_piece() -> None:
    box, single = (
        connector("box", "100", SPLICE)._replace(base_quantity=Decimal(50)),
        connector("single", "2.01", SPLICE),
    )
    assert cheapest([single, box], SPLICE) == box


def test_what_has_a_price_goes_first_and_without_any_it_is_still_named() -> None:
    unpriced, dear = connector("unpriced", None, SPLICE), connector("dear", "999", SPLICE)
    assert cheapest([unpriced, dear], SPLICE) == dear
    assert cheapest([unpriced], SPLICE) == unpriced
    free = connector("free", "0", SPLICE)
    assert cheapest([unpriced, dear, free], SPLICE) == free


MULTISETS = st.lists(st.tuples(st.sampled_from([TWELVE, LEAD, PASSING]), st.integers(0, 3)), max_size=4).map(
    conductors_of
)


@given(
    st.lists(
        st.builds(
            Connector,
            st.text(max_size=3),
            st.sampled_from([1, 2]),
            st.lists(MULTISETS, max_size=3).map(tuple),
            st.one_of(st.none(), st.decimals(0, 100, places=2)),
            st.just(Decimal(1)),
        ),
        max_size=6,
    ),
    MULTISETS,
)
def test_what_is_taken_takes_exactly_these_and_nothing_that_does_costs_less(
    rows: list[Connector], meeting: Conductors
) -> None:
    chosen = cheapest(rows, meeting)
    fitting = [row for row in rows if meeting in row.accepts]
    assert (chosen is None) == (not fitting)
    if chosen is None:
        return
    assert chosen in fitting
    costs = [row.unit_price * row.number for row in fitting if row.unit_price is not None]
    if costs:
        assert chosen.unit_price is not None
        assert chosen.unit_price * chosen.number == min(costs)
