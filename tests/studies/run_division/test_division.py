"""The division of a zone beside every division that there is."""

import random
from collections.abc import Iterator
from itertools import combinations, pairwise

import pytest

from service.circuit.job import JobPart
from service.studies.run_division.division import (
    CHAIN,
    HUB,
    LOAD_STEPS_PER_VA,
    TEE,
    Group,
    Lamp,
    Layer,
    Zone,
    along_route,
    equal_runs,
    from_hub,
    plans_of,
)
from tests.studies.run_division.zones import drawn_zone

SEEDS = range(60)
MOST_LAMPS = 12


def every_division(lamps: int, runs: int) -> Iterator[list[Group]]:
    for cuts in combinations(range(1, lamps), runs - 1):
        yield list(pairwise([0, *cuts, lamps]))


def steps(zone: Zone, group: Group) -> int:
    return sum(round(lamp.load_va * LOAD_STEPS_PER_VA) for lamp in zone.lamps[slice(*group)])


@pytest.mark.parametrize("layer", [along_route, from_hub])
@pytest.mark.parametrize("seed", SEEDS)
def test_no_division_has_a_smaller_fullest_run_or_as_small_a_one_with_less_cable(
    seed: int, layer: Layer
) -> None:
    zone = drawn_zone(random.Random(seed), MOST_LAMPS)  # repeatable, not secret
    for runs in range(1, min(5, len(zone.lamps)) + 1):
        best = min(
            (max(steps(zone, group) for group in groups), sum(layer(zone, group).cable_m for group in groups))
            for groups in every_division(len(zone.lamps), runs)
        )
        found = equal_runs(zone, runs, layer)
        assert len(found) == runs
        assert round(max(run.load_va for run in found) * LOAD_STEPS_PER_VA) == best[0]
        assert sum(run.cable_m for run in found) == pytest.approx(best[1], rel=1e-12)


@pytest.mark.parametrize("seed", SEEDS)
def test_every_lamp_is_on_one_run(seed: int) -> None:
    zone = drawn_zone(random.Random(seed), 40)  # repeatable, not secret
    for plan in plans_of(zone, 6, hubs=True):
        lamps = sorted(lamp for run in plan.runs for lamp in (*run.onward, *run.back))
        assert lamps == list(range(len(zone.lamps)))


@pytest.mark.parametrize("seed", SEEDS)
def test_from_no_lamp_is_there_less_load_times_way_than_from_the_hub(seed: int) -> None:
    zone = drawn_zone(random.Random(seed), MOST_LAMPS)  # repeatable, not secret
    run = from_hub(zone, (0, len(zone.lamps)))
    if run.form != HUB:
        return

    def moment(place_m: float) -> float:
        return sum(lamp.load_va * abs(lamp.at_m - place_m) for lamp in zone.lamps)

    assert moment(run.hub_m) <= min(moment(lamp.at_m) for lamp in zone.lamps) + 1e-9
    assert run.leg_m == max(abs(lamp.at_m - run.hub_m) for lamp in zone.lamps)


ROW = tuple(Lamp(float(at_m), 5.0) for at_m in (0, 10, 20, 30))


def test_a_cable_that_arrives_in_the_middle_goes_both_ways() -> None:
    run = along_route(Zone(JobPart(""), 5.0, 15.0, ROW), (0, 4))
    assert (run.form, run.onward, run.back, run.cable_m) == (TEE, (2, 3), (1, 0), 5.0 + 15.0 + 15.0)
    # The feed carries all; the farther way its own: 20 VA over 5 m, then 5 VA each over 5 and 15 m.
    assert run.moment_va_m == 20.0 * 5.0 + 5.0 * (5.0 + 15.0)


def test_a_cable_that_arrives_behind_the_last_lamp_meets_them_from_there() -> None:
    run = along_route(Zone(JobPart(""), 5.0, 40.0, ROW), (0, 4))
    assert (run.form, run.onward, run.back, run.cable_m) == (CHAIN, (3, 2, 1, 0), (), 45.0)


def test_the_cable_of_a_hub_is_its_feed_and_legs_as_long_as_the_longest() -> None:
    run = from_hub(Zone(JobPart(""), 5.0, 0.0, ROW), (0, 4))
    assert (run.form, run.hub_m, run.leg_m) == (HUB, 10.0, 20.0)
    assert run.cable_m == 5.0 + 10.0 + 4 * 20.0
    assert run.moment_va_m == 20.0 * 15.0 + 5.0 * 20.0


def test_lamps_at_one_place_need_no_hub() -> None:
    zone = Zone(JobPart(""), 5.0, 0.0, (Lamp(4.0, 5.0), Lamp(4.0, 5.0)))
    assert from_hub(zone, (0, 2)).form == CHAIN
    assert [plan.hubs for plan in plans_of(zone, 2, hubs=True)] == [False, False]
