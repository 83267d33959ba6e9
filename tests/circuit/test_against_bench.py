"""Random gardens, solved again by dense matrices and a fixed point that share no code with the service.

The method is the textbook's (`tests/cases/derivation.py`); only the wiring is translated twice.
"""

from collections.abc import Iterator

import numpy as np
import pytest

from tests import jobs
from tests.cases.derivation import SUPPLY, Bench, Draw, current, power, resistance
from tests.client import Client
from tests.jobs import Json

ANY_WINDOW: Json = {"window": jobs.window(0.5, 60)}
REGULATION_RATIO, RATING_VA = 0.05, 600.0


class Planter:
    """Lays the same lamps in a request and on a bench, chosen by a seeded generator."""

    def __init__(self, seed: int, *, lagging: bool) -> None:
        self.pick = np.random.default_rng(seed)
        self.lagging = lagging
        self.bench = Bench(12.0 * (1 + REGULATION_RATIO), REGULATION_RATIO * 144.0 / RATING_VA)
        self.lamps: list[str] = []

    def number(self, low: float, high: float) -> float:
        return round(float(self.pick.uniform(low, high)), 3)

    def load(self) -> tuple[Json, Draw]:
        size = self.number(1.0, 8.0)
        kinds: list[tuple[Json, Draw]] = [
            (jobs.watts(size), power(size)),
            (jobs.amperes(size / 12), current(size / 12)),
            (jobs.resistor(size), resistance(size)),
        ]
        if self.lagging:
            kinds.append((jobs.volt_amperes(size, 1.7 * size), power(size, 1.7 * size)))
        return kinds[int(self.pick.integers(len(kinds)))]

    def stretch(
        self, start: str, name: str, count: int, *, closed: bool
    ) -> tuple[list[Json], str, Json, list[str]]:
        """Lamps along one cable: as fixtures, with its cable, and as a chain of bench points."""
        ohm_per_km, at_m, here, points = self.number(3, 9), 0.0, start, []
        fixtures = []
        for index in range(count):
            gap_m = self.number(1, 6)
            at_m = round(at_m + gap_m, 3)
            point = f"{name}.{index}"
            self.bench.spans.append((here, point, 2 * gap_m * ohm_per_km / 1000))
            fixtures.append(self.hang(point, at_m))
            points.append(point)
            here = point
        more: Json = {}
        if closed:
            leg_m = self.number(5, 20)
            self.bench.spans.append((here, start, 2 * leg_m * ohm_per_km / 1000))
            more["return_leg"] = {"length": jobs.metres(leg_m)}
        return fixtures, here, {"cable": jobs.ohms_per_km(ohm_per_km), **more}, points

    def hang(self, point: str, at_m: float) -> Json:
        said, draw = self.load()
        splice_ohm = self.number(0.001, 0.05) if self.pick.random() < 0.3 else 0.0
        more = dict(ANY_WINDOW)
        if splice_ohm:
            self.bench.spans.append((point, f"{point} lamp", splice_ohm))
            more["splice_resistance"] = jobs.quantity(splice_ohm, "ohm")
        self.bench.lamps.append((f"{point} lamp" if splice_ohm else point, draw))
        self.lamps.append(f"{point} lamp" if splice_ohm else point)
        return jobs.lamp(at_m, said, **more)

    def garden(self) -> Json:
        """Three runs, some closed, each with a branch and a spur."""
        runs = [self.run(f"r{index}", closed=bool(self.pick.random() < 0.5)) for index in range(3)]
        supply = jobs.transformer(winding=jobs.winding(RATING_VA, 100 * REGULATION_RATIO))
        return jobs.job(*runs, supply=supply)

    def run(self, name: str, *, closed: bool) -> Json:
        fixtures, _, made, points = self.stretch(SUPPLY, name, 4, closed=closed)
        twig, _, twig_made, twig_points = self.stretch(points[1], f"{name}b", 3, closed=not closed)
        spur, _, spur_made, _ = self.stretch(twig_points[0], f"{name}s", 2, closed=closed)
        deep = jobs.branch(twig[0]["at"]["value"], *spur) | spur_made
        side = jobs.branch(fixtures[1]["at"]["value"], *twig, spurs=[deep]) | twig_made
        return jobs.run(*fixtures, branches=[side]) | made


def gardens() -> Iterator[tuple[int, bool]]:
    for seed in range(12):
        yield seed, seed % 2 == 1


@pytest.mark.parametrize(("seed", "lagging"), list(gardens()))
def test_a_random_garden_with_loops_agrees_with_the_bench(client: Client, seed: int, lagging: bool) -> None:  # noqa: FBT001
    planter = Planter(seed, lagging=lagging)
    request = planter.garden()
    settled = planter.bench.voltages()
    reply = jobs.solved(client, request)
    assert jobs.voltages(reply) == pytest.approx([settled[name] for name in planter.lamps], abs=0.0001)
    assert reply["supply"]["terminal"]["value"] == pytest.approx(settled[SUPPLY], abs=0.0001)


@pytest.mark.parametrize("legs", [1, 2, 5])
def test_a_ring_is_never_lower_than_the_same_cable_left_open(client: Client, legs: int) -> None:
    lamps = [jobs.lamp(5.0 * (index + 1), jobs.watts(8)) for index in range(4)]
    cable = jobs.ohms_per_km(5.0, cables_in_parallel=legs)
    ring = jobs.run(*lamps, cable=cable, return_leg={"length": jobs.metres(20), "cable": cable})
    open_v = jobs.voltages(jobs.solved(client, jobs.job(jobs.run(*lamps, cable=cable))))
    closed_v = jobs.voltages(jobs.solved(client, jobs.job(ring)))
    assert all(closed > opened for closed, opened in zip(closed_v, open_v, strict=True))


def test_non_active_current_agrees_with_the_phasor_form_of_one_lamp(client: Client) -> None:
    # |V|⁴ + (2RP - E²)|V|² + R²S² = 0, the two-bus equation of every power-flow textbook.
    ohm, real_w, apparent_va = 0.2, 60.0, 100.0
    b = 2 * ohm * real_w - 144.0
    expected_v = ((-b + (b * b - 4 * (ohm * apparent_va) ** 2) ** 0.5) / 2) ** 0.5
    (found_v,) = jobs.voltages(
        jobs.solved(client, jobs.job(jobs.run(jobs.lamp(20, jobs.volt_amperes(real_w, apparent_va)))))
    )
    assert found_v == pytest.approx(expected_v, abs=0.0001)


def test_all_current_in_phase_gives_less_than_in_quadrature(client: Client) -> None:
    request = jobs.job(
        jobs.run(jobs.lamp(20, jobs.volt_amperes(60, 100)), jobs.lamp(25, jobs.volt_amperes(5, 9)))
    )
    cautious = request | {"conditions": {"non_active_current": "in-phase"}}
    lower, higher = jobs.voltages(jobs.solved(client, cautious)), jobs.voltages(jobs.solved(client, request))
    assert all(low < high for low, high in zip(lower, higher, strict=True))


def test_all_current_in_phase_is_a_load_of_as_many_watts(client: Client) -> None:
    said = jobs.job(jobs.run(jobs.lamp(20, jobs.volt_amperes(60, 100)))) | {
        "conditions": {"non_active_current": "in-phase"}
    }
    (found_v,) = jobs.voltages(jobs.solved(client, said))
    # V = (E + sqrt(E² - 4 R S)) / 2 with 0.2 ohm and 100 VA.
    assert found_v == pytest.approx((12 + (144 - 4 * 0.2 * 100) ** 0.5) / 2, abs=0.0001)


def test_power_factor_has_no_part_in_direct_current(client: Client) -> None:
    supply = {"kind": "dc-supply", "output": jobs.volts(12)}
    reply = jobs.solved(client, jobs.job(jobs.run(jobs.lamp(20, jobs.volt_amperes(60, 100))), supply=supply))
    assert jobs.voltages(reply)[0] == pytest.approx((12 + (144 - 4 * 0.2 * 60) ** 0.5) / 2, abs=0.0001)


def test_a_filament_follows_its_power_law(client: Client) -> None:
    # Bisection on 12 = V + 0.2 x (50/12) x (V/12)^0.55 (lamp rerating, exponent 0.55).
    low, high = 0.0, 12.0
    for _ in range(80):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if middle + 0.2 * (50 / 12) * (middle / 12) ** 0.55 < 12 else (low, middle)
    halogen: Json = {"kind": "filament", "power": jobs.quantity(50, "W"), "rated_voltage": jobs.volts(12)}
    assert jobs.voltages(jobs.solved(client, jobs.job(jobs.run(jobs.lamp(20, halogen)))))[0] == pytest.approx(
        low, abs=0.0001
    )


def test_a_mixture_is_the_sum_of_its_parts(client: Client) -> None:
    parts = {f"constant_{kind}_part": jobs.quantity(value, "W") for kind, value in PARTS.items()}
    mixture = {"kind": "zip", "rated_voltage": jobs.volts(12), **parts}
    apart = [
        jobs.lamp(20, jobs.watts(6)),
        jobs.lamp(20, jobs.amperes(9 / 12)),
        jobs.lamp(20, jobs.resistor(12)),
    ]
    (together_v,) = jobs.voltages(jobs.solved(client, jobs.job(jobs.run(jobs.lamp(20, mixture)))))
    assert jobs.voltages(jobs.solved(client, jobs.job(jobs.run(*apart)))) == pytest.approx(
        [together_v] * 3, abs=0.0001
    )


PARTS = {"power": 6.0, "current": 9.0, "resistance": 12.0}
