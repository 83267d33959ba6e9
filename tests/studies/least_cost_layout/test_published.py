"""Least costs that others have published, by the programme and the search of a layout (see published)."""

from __future__ import annotations

import csv
from collections import defaultdict
from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction
from math import inf
from pathlib import Path
from typing import NamedTuple

import pytest

from service.circuit.job import JobPart
from service.physics.load import Load, constant_current, constant_power
from service.studies.least_cost_layout.bound import Bounding, dual_ascent
from service.studies.least_cost_layout.design import Meter
from service.studies.least_cost_layout.refining import refined
from service.studies.least_cost_layout.relaxation import Relaxation, Setting, grouped
from service.studies.least_cost_layout.relaxing import Family, Relaxed
from service.studies.least_cost_layout.site import (
    BoxOffer,
    CableOffer,
    Feeding,
    JointPrices,
    LayoutRules,
    MountingPlace,
    Position,
    Route,
    Site,
    SiteLamp,
)
from tests.studies.least_cost_layout.certifier import Remade, Weights
from tests.studies.least_cost_layout.oracle import Kept, least
from tests.studies.least_cost_layout.test_bound import found

PUBLISHED = Path(__file__).parent / "published"

Edge = tuple[int, int, float]


def rows_of(name: str) -> Iterator[dict[str, str]]:
    with (PUBLISHED / f"{name}.csv").open(newline="") as file:
        yield from csv.DictReader(file)


def edges_of(name: str, weight: str, instance: str) -> list[Edge]:
    return [
        (int(row["from"]), int(row["to"]), float(row[weight]))
        for row in rows_of(name)
        if row["instance"] == instance
    ]


def made_of(
    edges: list[tuple[int, int, float, Decimal]],
    root: int,
    loads: dict[int, Load],
    cables: tuple[CableOffer, ...],
) -> Site:
    """A site whose one box is at a place and costs nothing, with hardly any resistance anywhere."""
    places = 1 + max(max(start, end) for start, end, _, _ in edges)
    feeding = Feeding(1.0, 1e-12, 1.0, 1e-12)
    box = BoxOffer(
        JobPart("/transformers/0"),
        1e6,
        (100.0,),
        (None,),
        listed=False,
        price=Decimal(0),
        feedings=(feeding,),
    )
    return Site(
        tuple(Position(0.0, float(place)) for place in range(places)),
        tuple(
            Route(JobPart(f"/routes/{index}"), start, end, length_m, trench)
            for index, (start, end, length_m, trench) in enumerate(edges)
        ),
        tuple(
            SiteLamp(JobPart(f"/fixtures/{index}"), place, load, 50.0, 150.0)
            for index, (place, load) in enumerate(loads.items())
        ),
        (MountingPlace(JobPart("/mounting_points/0"), root, Decimal(0), 1),),
        (box,),
        cables,
        JointPrices(),
        LayoutRules(may_not_trip=True),
    )


class SteinerTree(NamedTuple):
    edges: list[Edge]
    terminals: list[int]
    optimum: int

    def site(self, *, trenches: bool) -> Site:
        """Each edge a trench that costs its weight, or a way of that length for cable at 1 a metre."""
        edges = [
            (start, end, 1.0, Decimal(int(weight))) if trenches else (start, end, weight, Decimal(0))
            for start, end, weight in self.edges
        ]
        root, *others = self.terminals
        cable = CableOffer(JobPart("/stock/0"), Decimal(0 if trenches else 1), 1e-6, 1e-6)
        return made_of(edges, root, dict.fromkeys(others, constant_power(1.0)), (cable,))


STEINER_TREES = {
    row["instance"]: SteinerTree(
        edges_of("steiner_trees", "weight", row["instance"]),
        [int(each) for each in row["terminals"].split()],
        int(row["optimum"]),
    )
    for row in rows_of("steiner_optima")
}


@pytest.mark.parametrize("tree", STEINER_TREES.values(), ids=STEINER_TREES)
def test_dual_ascent_is_never_above_a_published_steiner_tree(tree: SteinerTree) -> None:
    weights = [weight for _, _, weight in tree.edges]
    assert 0.99 * tree.optimum <= dual_ascent(tree.site(trenches=True), [0], weights) <= tree.optimum


@pytest.mark.parametrize("trenches", [True, False], ids=["trenches", "cable"])
@pytest.mark.parametrize("tree", STEINER_TREES.values(), ids=STEINER_TREES)
def test_a_relaxation_proves_nearly_all_of_a_published_steiner_tree(
    tree: SteinerTree, *, trenches: bool
) -> None:
    made = tree.site(trenches=trenches)
    groups = grouped(made, [0])
    setting = Setting((0,), (inf,) * len(made.lamps))
    relaxed = Relaxed(Family(made, setting, groups, Meter(200_000)), setting)
    assert relaxed.improve()
    assert 0.99 * tree.optimum <= relaxed.value <= tree.optimum


@pytest.mark.parametrize("tree", STEINER_TREES.values(), ids=STEINER_TREES)
def test_trenches_that_are_found_cost_little_more_than_a_published_steiner_tree(tree: SteinerTree) -> None:
    assert tree.optimum - 1e-6 <= found(tree.site(trenches=True)) <= 1.02 * tree.optimum


CAPACITIES, PRICES = (1, 3, 10), (1, 2, 6)
"""What a cable of each kind carries, and costs a metre."""


class CapacitatedTree(NamedTuple):
    distances: list[Edge]
    centre: int
    demands: list[int]
    optimum: float

    def site(self) -> Site:
        """Each unit of demand an ampere."""
        loads = {
            place: constant_current(float(demand)) for place, demand in enumerate(self.demands) if demand
        }
        cables = tuple(
            CableOffer(
                JobPart(f"/stock/{kind}"),
                Decimal(price),
                1e-7 / capacity,
                1e-7 / capacity,
                ampacity_a=capacity + 1e-6,
            )
            for kind, (capacity, price) in enumerate(zip(CAPACITIES, PRICES, strict=True))
        )
        edges = [(start, end, length, Decimal(0)) for start, end, length in self.distances]
        return made_of(edges, self.centre, loads, cables)


CAPACITATED_TREES = {
    row["instance"]: CapacitatedTree(
        edges_of("capacitated_trees", "distance", row["instance"]),
        int(row["centre"]),
        [int(each) for each in row["demands"].split()],
        float(row["optimum"]),
    )
    for row in rows_of("capacitated_tree_optima")
}


def beside_rows(tree: CapacitatedTree, made: Site) -> Iterator[Kept]:
    """What a capacitated tree keeps beside: capacities, and one cable to each node and none to the centre."""
    coming: dict[int, Weights] = defaultdict(lambda: defaultdict(Fraction))
    for route, own in enumerate(made.routes):
        for way, end in enumerate((own.end, own.start)):
            carried: Weights = defaultdict(Fraction)
            for kind, capacity in enumerate(CAPACITIES):
                carried["cable", route, way, kind] += capacity
                coming[end]["cable", route, way, kind] -= 1
            for lamp, each in enumerate(made.lamps):
                carried["way", lamp, route, way] -= tree.demands[each.place]
            yield carried, Fraction(0)
    for place, terms in coming.items():
        yield terms, Fraction(0 if place == tree.centre else -1)


def rows_of_every_way(made: Site) -> tuple[Remade, list[tuple[object, ...]]]:
    """The rows of a relaxation in which each lamp is counted by itself, those of all its ways among them."""
    lamps = range(len(made.lamps))
    setting = Setting((0,), (inf,) * len(lamps))
    relaxation = Relaxation(made, setting, [[lamp] for lamp in lamps])
    relaxation.foresee(setting)
    for lamp in lamps:
        for route in range(len(made.routes)):
            for way in (0, 1):
                relaxation.in_cable(lamp, (route, way))
    root, standing = made.mounts[0].place, relaxation.standing(setting)
    rows = enumerate(relaxation.programme.rows)
    names = [row.name for index, row in rows if standing.get(index, 0.0) is not None]
    return Remade(made, [root], relaxation.lamps_of, setting.room_ohm, None, [root], setting.room_ohm), names


@pytest.mark.parametrize("tree", CAPACITATED_TREES.values(), ids=CAPACITATED_TREES)
def test_in_whole_cables_a_relaxation_with_capacities_has_the_published_optimum(
    tree: CapacitatedTree,
) -> None:
    made = tree.site()
    remade, names = rows_of_every_way(made)
    rows = list(beside_rows(tree, made))
    root = least(remade, names, more=rows)
    assert 0.8 * tree.optimum <= root <= tree.optimum
    whole = least(remade, names, more=rows, whole="cable", below=tree.optimum + 0.01)
    # Distances have six digits there, so sums of fourteen are known to the third decimal.
    assert whole == pytest.approx(tree.optimum, abs=2e-3)


@pytest.mark.parametrize("tree", CAPACITATED_TREES.values(), ids=CAPACITATED_TREES)
def test_a_bound_without_capacities_is_below_the_published_optimum(tree: CapacitatedTree) -> None:
    amount = refined(Bounding(tree.site()), 20_000, Decimal(10**9)).terms.amount
    assert 0 < float(amount) <= tree.optimum
