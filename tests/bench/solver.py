"""How long one job takes to plan and to solve, beside power-grid-model in the same run; a Markdown table.

``python -m tests.bench.solver [--json] [--before FOLDER]``. Each figure is the median CPU time of repeated
runs, so that a busy machine tells the same; for each circuit the works take turns. All start from the same
circuit of ohms and watts: arrays and model belong to power-grid-model, planning the elimination to us. All
are asked for 1e-9 of the voltage or better. With ``--before`` the solver of another tree is asked beside
ours, from its own folder. With ``--json`` the figures come as ``rows``, of the form that runs, and
``plain_rows``.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable
from statistics import median
from time import process_time
from typing import Any

from power_grid_model import PowerGridModel

from service.physics.form import FORM
from service.physics.load import Load
from service.physics.network import Span
from tests.bench import solving
from tests.bench.trees import ROOT, Process, by_form, options
from tests.physics.networks import Circuit
from tests.physics.power_grid import arrays_of

SOLVING = ROOT / "tests" / "bench" / "solving.py"

LAMPS, LOOPS = (5, 20, 100, 1000, 2000, 10_000), (0, 10, 100, 1000)
"""Each number of lamps with each number of loops that is at most half of it."""

LARGEST_PLAIN = (2000, 100)
"""The most lamps and loops that the plain form is asked for."""

LAG = 0.48
"""Var for each watt at a power factor of 0.9."""

HEADING = """\
| lamps | loops | non-active | form | plan, ms | solve, ms | together | power-grid-model | ratio | before |
|------:|------:|:-----------|:-----|---------:|----------:|---------:|-----------------:|------:|-------:|"""


def run_of_lamps(lamps: int, loops: int, *, lag: float) -> Circuit:
    """Lamps along one run of 0.1 ohm behind 300 VA at 4 %, some points joined again by other cables."""
    spans = tuple(Span(*span) for span in solving.spans_of(lamps, loops))
    watts = solving.RUN_W / lamps
    loads = tuple((point, Load(watts, non_active_var=lag * watts)) for point in range(1, lamps + 1))
    return Circuit(lamps + 1, spans, loads, solving.SOURCE_V, solving.WINDING_OHM)


def by_power_grid_model(circuit: Circuit) -> None:
    """Arrays, model and power flow."""
    model = PowerGridModel(arrays_of(circuit))
    model.calculate_power_flow(symmetric=True, error_tolerance=1e-9)


def power_grid_model_ms(circuit: Circuit, repeats: int) -> float:
    """Median time of power-grid-model. [ms]"""
    taken = []
    for _ in range(repeats):
        began = process_time()
        by_power_grid_model(circuit)
        taken.append(process_time() - began)
    return 1e3 * median(taken)


def rows(solvers: dict[str, Process], before: Process | None) -> Iterable[dict[str, Any]]:
    """One row for each circuit and form."""
    sizes = [(lamps, loops) for lamps in LAMPS for loops in LOOPS if 2 * loops <= lamps]
    for lamps, loops in sizes:
        for lag in (0.0, LAG):
            repeats = max(5, min(201, 8_000 // lamps))
            in_reach = (lamps, loops) <= LARGEST_PLAIN and loops <= LARGEST_PLAIN[1]
            other_ms = power_grid_model_ms(run_of_lamps(lamps, loops, lag=lag), repeats)
            before_ms = sum(before.asked(lamps, loops, lag, repeats)) if before and in_reach else None
            for form, solver in solvers.items():
                if form == "plain" and not in_reach:
                    continue
                plan_ms, solve_ms = solver.asked(lamps, loops, lag, repeats)
                both_ms = plan_ms + solve_ms
                yield {
                    "form": form,
                    "lamps": lamps,
                    "loops": loops,
                    "non_active": bool(lag),
                    "plan_ms": plan_ms,
                    "solve_ms": solve_ms,
                    "power_grid_model_ms": other_ms,
                    "ratio": both_ms / other_ms,
                    "beside_before": both_ms / before_ms if before_ms else None,
                }


def line(row: dict[str, Any]) -> str:
    """One line of the table."""
    word, before = "yes" if row["non_active"] else "no", row["beside_before"]
    together = row["plan_ms"] + row["solve_ms"]
    figures = (
        f"{row['plan_ms']:.3f} | {row['solve_ms']:.3f} | {together:.3f} | {row['power_grid_model_ms']:.3f}"
    )
    last = "–" if before is None else f"{before:.2f}"
    named = f"{row['lamps']} | {row['loops']} | {word} | {row['form']}"
    return f"| {named} | {figures} | {row['ratio']:.2f} | {last} |"


def main(arguments: list[str]) -> None:
    """Print the table, or the figures."""
    asked = options("solver", arguments)
    solvers = {FORM: Process(SOLVING, ROOT)} | (
        {} if FORM == "plain" else {"plain": Process(SOLVING, ROOT, "--plain")}
    )
    before = None if asked.before is None else Process(SOLVING, asked.before.resolve())
    found = []
    if not asked.json:
        print(HEADING)
    for row in rows(solvers, before):
        found.append(row)
        if not asked.json:
            print(line(row), flush=True)
    if asked.json:
        print(json.dumps(by_form(found)))
    for solver in (*solvers.values(), *([before] if before else [])):
        solver.stop()


if __name__ == "__main__":
    main(sys.argv[1:])
