"""How long one job takes to plan and to solve, beside power-grid-model in the same run; a Markdown table.

``python -m tests.bench.solver``. Each figure is the median of repeated runs; the works take turns, so that a
busy machine slows all of them. Both start from the same circuit of ohms and watts: arrays and model belong to
the one, planning the elimination to the other. Both are asked for 1e-9 of the voltage or better.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from statistics import median
from time import perf_counter

from power_grid_model import PowerGridModel

from service.physics.load import Load
from service.physics.network import Span
from service.physics.solve import solve
from tests.physics.networks import Circuit
from tests.physics.power_grid import arrays_of

SIZES = ((5, 0), (20, 0), (20, 10), (100, 0), (100, 10), (1000, 0), (1000, 100), (2000, 0), (2000, 100))
"""(lamps, loops)"""

LAG = 0.48
"""Var for each watt at a power factor of 0.9."""

RUN_OHM, RUN_W = 0.1, 150.0
"""The whole run and all its lamps, whatever their number."""

HEADING = """\
| lamps | loops | non-active | plan, ms | solve, ms | together, ms | power-grid-model, ms | ratio |
|------:|------:|:-----------|---------:|----------:|-------------:|---------------------:|------:|"""


def run_of_lamps(lamps: int, loops: int, *, lag: float) -> Circuit:
    """Lamps along one run of 0.1 ohm behind 300 VA at 4 %, some points joined again by other cables."""
    rng = random.Random(lamps)  # noqa: S311  repeatable, not secret
    span_ohm, power_w = RUN_OHM / lamps, RUN_W / lamps
    spans = [Span(point, point + 1, span_ohm) for point in range(lamps)]
    for _ in range(loops):
        start, end = sorted(rng.sample(range(lamps + 1), 2))
        spans.append(Span(start, end, span_ohm * (end - start)))
    loads = tuple((point, Load(power_w, non_active_var=lag * power_w)) for point in range(1, lamps + 1))
    return Circuit(lamps + 1, tuple(spans), loads, 12.48, 0.0192)


def by_power_grid_model(circuit: Circuit) -> None:
    """Arrays, model and power flow."""
    model = PowerGridModel(arrays_of(circuit))
    model.calculate_power_flow(symmetric=True, error_tolerance=1e-9)


def medians_ms(*works: Callable[[], object], repeats: int) -> list[float]:
    """Median time of each, the works taking turns. [ms]"""
    times: list[list[float]] = [[] for _ in works]
    for _ in range(repeats):
        for taken, work in zip(times, works, strict=True):
            start = perf_counter()
            work()
            taken.append(1e3 * (perf_counter() - start))
    return [median(taken) for taken in times]


def row(lamps: int, loops: int, *, lag: float) -> str:
    """One line of the table."""
    circuit = run_of_lamps(lamps, loops, lag=lag)
    network = circuit.network()
    plan_ms, solve_ms, other_ms = medians_ms(
        circuit.network,
        lambda: solve(network),
        lambda: by_power_grid_model(circuit),
        repeats=max(11, min(301, 20_000 // lamps)),
    )
    both_ms, word = plan_ms + solve_ms, "yes" if lag else "no"
    figures = f"{plan_ms:.3f} | {solve_ms:.3f} | {both_ms:.3f} | {other_ms:.3f} | {both_ms / other_ms:.2f}"
    return f"| {lamps} | {loops} | {word} | {figures} |"


def main() -> None:
    """Print the table."""
    print(HEADING)
    for lamps, loops in SIZES:
        for lag in (0.0, LAG):
            print(row(lamps, loops, lag=lag), flush=True)


if __name__ == "__main__":
    main()
