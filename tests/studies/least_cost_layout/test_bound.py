"""The bound beside layouts that are enumerated, and beside those that are found."""

from decimal import Decimal
from math import inf
from random import Random

import pytest

from service.physics.load import constant_power
from service.studies.least_cost_layout.bound import bound_of, dual_ascent, impossible, within_percent
from service.studies.least_cost_layout.search import LayoutSearch
from service.studies.least_cost_layout.site import Site
from tests.studies.least_cost_layout import enumeration
from tests.studies.least_cost_layout.sites import site


def tiny(seed: int) -> Site:
    """A site small enough to try everything; some so long that copper decides, some where trenches do."""
    made = site(2 + seed % 3, seed, trench=(0.5, 2.0, 6.0)[seed % 3], extra=0.3)
    longer = (2.0, 4.0, 7.0)[seed // 3 % 3]
    return made._replace(
        routes=tuple(each._replace(length_m=each.length_m * longer) for each in made.routes),
        cables=made.cables[:3],
        boxes=tuple(each._replace(taps_v=(12.0, 14.0)) for each in made.boxes[:2]),
        mounts=tuple(each._replace(boxes_at_most=1) for each in made.mounts),
    )


def found(made: Site, work: int = 20_000) -> float:
    """The cost of the cheapest layout that the search finds."""
    search = LayoutSearch(made, work)
    search.run()
    return min((draft.design.cost for draft in search.drafts), default=inf)


@pytest.mark.parametrize("seed", range(1, 25))
def test_the_bound_is_never_above_the_cheapest_of_all_layouts(seed: int) -> None:
    made = tiny(seed)
    assert float(bound_of(made).amount) <= enumeration.cheapest(made) + 1e-9


@pytest.mark.parametrize("seed", range(1, 25))
def test_what_is_found_is_within_two_per_cent_of_the_cheapest_of_all_layouts(seed: int) -> None:
    made = tiny(seed)
    cheapest = enumeration.cheapest(made)
    assert cheapest * (1.0 - 1e-6) <= found(made) <= 1.02 * cheapest


def test_the_bound_is_below_what_is_found_on_five_hundred_sites() -> None:
    for seed in range(500):
        random = Random(seed)  # repeatable, not secret
        made = site(
            random.randint(2, 7), seed, mounts=random.randint(1, 3), trench=random.choice((0.0, 1.0, 6.0))
        )
        longer = random.choice((0.5, 1.0, 2.5))
        made = made._replace(
            routes=tuple(each._replace(length_m=each.length_m * longer) for each in made.routes)
        )
        assert float(bound_of(made).amount) <= found(made, 1_500), seed


@pytest.mark.parametrize("seed", range(1, 13))
def test_routes_cost_no_less_than_dual_ascent_finds(seed: int) -> None:
    made = tiny(seed)
    paid = [float(route.trench) for route in made.routes]
    trees = enumeration.trees(made, 0)
    cheapest = min(sum(paid[route] for _, route in before.values()) for before in trees)
    assert dual_ascent(made, [0], paid) <= cheapest + 1e-9


def test_one_lamp_at_the_end_of_one_cable_has_the_bound_of_the_closed_form() -> None:
    # Two prices that are straight in copper: what a lamp takes at least is then all that it takes.
    made = tiny(1)
    lamp = made.lamps[0]._replace(place=1, load=constant_power(12.0))
    route = made.routes[0]._replace(start=0, end=1, length_m=90.0, trench=Decimal(0))
    cable = made.cables[0]
    made = made._replace(
        lamps=(lamp,),
        routes=(route,),
        cables=(cable,),
        joints=made.joints._replace(fixture=Decimal(0), cable_end=Decimal(0)),
    )
    feeding, box = made.boxes[0].feedings[0], made.boxes[0]
    open_v = 14.0 * feeding.low_ratio
    lost = 0.5 * (1.0 - (1.0 - 4.0 * feeding.low_resistance * 12.0) ** 0.5)
    siemens = 12.0 / (10.0 * (open_v * (1.0 - lost) - 10.0))
    copper = float(cable.price_per_m) * cable.hot_ohm_per_m * siemens * 90.0**2
    by_length = float(cable.price_per_m) * 90.0
    assert float(bound_of(made).amount - box.price) == pytest.approx(max(copper, by_length), abs=0.02)


def test_a_lamp_that_no_cable_reaches_is_told_with_how_far_it_may_be() -> None:
    made = tiny(1)
    far = tuple(each._replace(length_m=each.length_m * 100) for each in made.routes)
    proof = impossible(made._replace(routes=far))
    assert proof.proven
    for each in proof.lamps:
        assert 0 < each.reach_m < each.distance_m
        # Three quarters of that passes by itself, winding and all.
        lamp = made.lamps[each.lamp]
        route = made.routes[0]._replace(start=0, end=lamp.place, length_m=0.75 * each.reach_m)
        alone = made._replace(routes=(route,), lamps=(lamp,))
        assert not impossible(alone).proven
        assert found(alone) < inf


def test_more_load_than_all_transformers_carry_is_told() -> None:
    made = tiny(1)
    small = tuple(each._replace(rating_va=1.0) for each in made.boxes)
    assert impossible(made._replace(boxes=small)).most_va == pytest.approx(0.9533, abs=1e-3)


def test_the_gap_is_rounded_up() -> None:
    assert within_percent(Decimal(300), Decimal(200)) == Decimal("33.34")
    assert within_percent(Decimal(300), Decimal(300)) == 0
