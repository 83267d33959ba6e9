"""How long circuits take to plan and to solve in one form of one tree; the bench of the solver asks this.

It knows no more of the solver than every tree has, so that one of another commit can be asked as well. With
``--plain`` what was compiled is left aside.
"""

from __future__ import annotations

import json
import random
import sys
from statistics import median
from time import process_time

RUN_OHM, RUN_W = 0.1, 150.0
"""The whole run and all its lamps, whatever their number."""

SOURCE_V, WINDING_OHM = 12.48, 0.0192
"""300 VA at 4 %."""


def spans_of(lamps: int, loops: int) -> list[tuple[int, int, float]]:
    """Lamps along one run, some points joined again by other cables; ohms between two points."""
    rng = random.Random(lamps)
    span_ohm = RUN_OHM / lamps
    spans = [(point, point + 1, span_ohm) for point in range(lamps)]
    for _ in range(loops):
        start, end = sorted(rng.sample(range(lamps + 1), 2))
        spans.append((start, end, span_ohm * (end - start)))
    return spans


def main(arguments: list[str]) -> None:
    """Answer each line of standard input: lamps, loops, var for each watt, and how often."""
    if "--plain" in arguments:
        from tests.physics.plain import run_plain  # noqa: PLC0415  # the tree of an older commit has no such module

        run_plain()
    from service.physics.load import Load  # noqa: PLC0415  # imported sooner, it would be compiled
    from service.physics.network import Span, build_network  # noqa: PLC0415  # imported sooner, it would be compiled
    from service.physics.solve import solve  # noqa: PLC0415  # imported sooner, it would be compiled

    for line in sys.stdin:
        lamps, loops, lag, repeats = json.loads(line)
        spans = [Span(*span) for span in spans_of(lamps, loops)]
        watts = RUN_W / lamps
        loads = [(point, Load(watts, non_active_var=lag * watts)) for point in range(1, lamps + 1)]
        volts, winding = [SOURCE_V] * (lamps + 1), WINDING_OHM / SOURCE_V**2
        planned, solved = [], []
        for _ in range(repeats):
            began = process_time()
            network = build_network(volts, spans, loads, source_resistance=winding)
            between = process_time()
            solve(network)
            planned.append(between - began)
            solved.append(process_time() - between)
        print(json.dumps([1e3 * median(planned), 1e3 * median(solved)]), flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
