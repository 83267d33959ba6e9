"""The bound beside layouts that are enumerated, and beside those that are found."""

from decimal import Decimal
from math import inf
from random import Random

import pytest

from service.physics.load import constant_current, constant_power, constant_resistance, filament
from service.studies.least_cost_layout.bound import (
    bound_of,
    drawn_by,
    dual_ascent,
    impossible,
    room_va,
    within_percent,
)
from service.studies.least_cost_layout.search import LayoutSearch
from service.studies.least_cost_layout.site import (
    Feeding,
    JointPrices,
    Route,
    Site,
    Step,
    Ways,
    cheapest_ways,
    neighbours,
)
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


@pytest.mark.parametrize("seed", range(1, 41))
def test_copper_of_a_tree_with_lagging_currents_is_no_less_than_the_closed_form(seed: int) -> None:
    # A tree whose spans all have a cable of their own, at a price that is its conductance; solved by
    # repeating Kirchhoff's and Ohm's laws with phasors. Each lamp may have what it got, and no less.
    random = Random(seed)  # repeatable, not secret
    made = site(random.randint(2, 12), seed, trench=0.0, extra=0.0)
    box = made.boxes[-1]._replace(taps_v=(14.0,), price=Decimal(0))
    feeding, open_v = box.feedings[0], 14.0 * box.feedings[0].low_ratio
    kinds = (
        lambda watts, factor: constant_power(watts, apparent_va=watts / factor),
        lambda watts, factor: constant_current(watts / 12.0, power_factor=factor),
        lambda watts, _: constant_resistance(watts, rated_v=12.0),
        lambda watts, _: filament(watts, rated_v=12.0),
    )
    lamps = [
        lamp._replace(
            load=random.choice(kinds)(lamp.load.power_w, random.uniform(0.4, 1.0)),
            own_ohm=random.choice((0.0, 0.05)),
        )
        for lamp in made.lamps
    ]
    ohm_per_m = [random.uniform(0.002, 0.02) for _ in made.routes]
    ways = cheapest_ways(neighbours(len(made.positions), made.routes), [0], lambda _: 1.0)
    places = sorted(range(1, len(made.positions)), key=lambda each: -ways.costs[each])
    at_v, lamp_v = [open_v + 0j] * len(made.positions), [open_v + 0j] * len(lamps)
    for _ in range(300):
        amps = [lamp.load.phasor(volts) for lamp, volts in zip(lamps, lamp_v, strict=True)]
        flow = [0j] * len(made.positions)
        for lamp, drawn in zip(lamps, amps, strict=True):
            flow[lamp.place] += drawn
        for place in places:
            flow[_step(ways, place)[0]] += flow[place]
        at_v[0] = open_v - feeding.low_resistance * open_v * open_v * flow[0]
        for place in reversed(places):
            before, route = _step(ways, place)
            at_v[place] = at_v[before] - flow[place] * made.routes[route].length_m * ohm_per_m[route]
        lamp_v = [at_v[lamp.place] - lamp.own_ohm * drawn for lamp, drawn in zip(lamps, amps, strict=True)]
    assert min(map(abs, lamp_v)) > 6.0
    conductance = sum(
        route.length_m / ohm
        for place in places
        for route, ohm in [_laid(made, ways, ohm_per_m, place)]
        if flow[place]
    )
    # Both of these cost their conductance, as all between them in the tree do.
    cable = made.cables[0]._replace(price_per_m=Decimal(1), hot_ohm_per_m=1.0)
    bound = bound_of(
        made._replace(
            lamps=tuple(lamp._replace(least_v=abs(volts)) for lamp, volts in zip(lamps, lamp_v, strict=True)),
            boxes=(box,),
            mounts=tuple(each._replace(boxes_at_most=1) for each in made.mounts),
            cables=(cable, cable._replace(price_per_m=Decimal(10**6), hot_ohm_per_m=1e-6)),
            joints=JointPrices(),
        )
    )
    assert 0.0 < float(bound.amount) <= conductance


def _step(ways: Ways, place: int) -> Step:
    step = ways.steps[place]
    assert step is not None
    return step


def _laid(made: Site, ways: Ways, ohm_per_m: list[float], place: int) -> tuple[Route, float]:
    route = _step(ways, place)[1]
    return made.routes[route], ohm_per_m[route]


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


@pytest.mark.parametrize("regulation", [0.02, 0.1, 0.5, 1.0])
@pytest.mark.parametrize("mains", [0.5, 0.75, 1.0])
def test_a_box_has_room_for_what_the_best_current_within_its_rating_carries(
    regulation: float, mains: float
) -> None:
    # By Ohm's law, in watts: no current up to the rated one gives more than E I - R I² at its terminals.
    made, rating_va, tap_v = tiny(1), 60.0, 12.0
    ratio = (1.0 + regulation) * mains
    open_v, ohm = tap_v * ratio, regulation * tap_v * tap_v / rating_va
    feeding = Feeding(ratio, ohm / open_v**2, ratio, ohm / open_v**2)
    box = made.boxes[0]._replace(rating_va=rating_va, taps_v=(tap_v,), feedings=(feeding,))
    currents_a = [rating_va / tap_v * step / 10_000 for step in range(10_001)]
    carried_w = max(open_v * current - ohm * current**2 for current in currents_a)
    assert room_va(box, 0, drawn_by(made)) == pytest.approx(min(rating_va, carried_w), rel=1e-7)
