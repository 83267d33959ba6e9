"""Places in the plane, and ways along routes."""

from decimal import Decimal
from math import cos, radians

import pytest

from service.circuit.job import JobPart
from service.studies.least_cost_layout.request import SiteFixture
from service.studies.least_cost_layout.site import (
    Position,
    Route,
    cheapest_ways,
    neighbours,
    plane_of,
    straight_m,
)
from service.wire.fixture import PointFixture

DEGREES = {
    0: (110_574, 111_320),
    15: (110_649, 107_550),
    30: (110_852, 96_486),
    45: (111_132, 78_847),
    60: (111_412, 55_800),
    75: (111_618, 28_902),
}
"""Length of a degree of latitude and of longitude on WGS 84 at these latitudes. [m]

As tables of the ellipsoid print them, to the metre: from memory, to be checked against a printed one.
"""


@pytest.mark.parametrize("latitude", DEGREES)
def test_a_thousandth_of_a_degree_is_as_long_as_tables_say(latitude: int) -> None:
    along, across = DEGREES[latitude]
    south, north = plane_of([(0.0, latitude - 5e-4), (0.0, latitude + 5e-4)])
    west, east = plane_of([(-5e-4, latitude), (5e-4, latitude)])
    assert straight_m(south, north) == pytest.approx(along / 1_000, abs=1e-3)
    assert straight_m(west, east) == pytest.approx(across / 1_000, abs=1e-3)


def test_a_sphere_would_be_off_by_more_than_a_garden_bears() -> None:
    west, east = plane_of([(8.0, 47.0), (8.001, 47.0)])
    on_a_sphere = radians(1e-3) * 6_371_000 * cos(radians(47.0))
    assert abs(straight_m(west, east) / on_a_sphere - 1.0) > 2e-3


def test_the_middle_of_the_places_is_where_the_plan_begins() -> None:
    round_it = [(10.0, 50.0), (10.002, 50.0), (10.001, 50.001), (10.001, 49.999)]
    *_, middle = plane_of([*round_it, (10.001, 50.0)])
    assert middle == pytest.approx(Position(0.0, 0.0), abs=1e-6)


def test_the_cheapest_way_is_taken_from_the_nearest_start() -> None:
    ends = [(0, 1, 3.0), (1, 2, 3.0), (0, 2, 7.0), (3, 2, 2.0)]
    routes = [Route(JobPart(""), a, b, length, Decimal(0)) for a, b, length in ends]
    beside = neighbours(4, routes)
    lengths = [route.length_m for route in routes]
    assert cheapest_ways(beside, [0], lengths.__getitem__).costs == [0.0, 3.0, 6.0, 8.0]
    found = cheapest_ways(beside, [0, 3], lengths.__getitem__)
    assert found.costs == [0.0, 3.0, 2.0, 0.0]
    assert found.steps[2] == (3, 3)


def test_straight_is_straight() -> None:
    assert straight_m(Position(1.0, 1.0), Position(4.0, 5.0)) == 5.0


def test_a_fixture_of_a_site_takes_all_that_one_of_a_wiring_takes() -> None:
    of_a_wiring = set(PointFixture.__struct_fields__) - {"point", "count"}
    assert set(SiteFixture.__struct_fields__) - {"place"} == of_a_wiring
