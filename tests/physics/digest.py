"""What the solver says of some thousand random circuits, to the last bit, as a few digests.

``python -m tests.physics.digest [--plain] [--circuits N]`` prints one line of JSON. It needs the standard
library alone, so that any Python can be asked; with ``--plain`` what was compiled is left aside.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import random
import struct
import sys
from contextlib import suppress

from tests.physics.plain import run_plain

CIRCUITS = 6000
VOLTS = (11.7, 12.0, 12.48, 15.6, 24.0)


def random_pairs(rng: random.Random, points: int) -> list[tuple[int, int]]:
    """A chain, a star or a tree, its points in any order; often with some more spans, parallel ones too."""
    names = [0, *rng.sample(range(1, points), points - 1)]
    shape = rng.choice(("chain", "star", "tree"))
    pairs = []
    for point in range(1, points):
        inner = {"chain": point - 1, "star": 0, "tree": rng.randrange(point)}[shape]
        both = (names[inner], names[point])
        pairs.append(both if rng.random() < 0.5 else both[::-1])
    if points > 2 and rng.random() < 0.6:
        for _ in range(rng.choice((1, 2, points // 2, points))):
            first, second = rng.sample(range(points), 2) if rng.random() < 0.9 else rng.choice(pairs)
            pairs.append((first, second))
    rng.shuffle(pairs)
    return pairs


def random_parts(rng: random.Random, heavy: float, lag: float) -> list[float]:
    """Six parts of a load, most of them none."""
    parts = [rng.uniform(0.1, 60.0) * heavy * (rng.random() < share) for share in (0.7, 0.3, 0.2, 0.2)]
    power, current, resistance, filament = parts
    return [power, current / 12.0, resistance / 144.0, filament / 47.0, power * lag, current / 12.0 * lag]


def main(arguments: list[str]) -> None:
    """Print the digests."""
    parser = argparse.ArgumentParser(prog="python -m tests.physics.digest")
    parser.add_argument("--plain", action="store_true")
    parser.add_argument("--circuits", type=int, default=CIRCUITS)
    asked = parser.parse_args(arguments)
    if asked.plain:
        run_plain()
    # What is asked for decides what these load.
    from service.physics.certificate import open_circuit_drops, short_circuit_resistances  # noqa: PLC0415  # after the form is chosen
    from service.physics.elimination import PivotNotPositiveError  # noqa: PLC0415  # after the form is chosen
    from service.physics.end_voltage import even_spread  # noqa: PLC0415  # after the form is chosen
    from service.physics.form import FORM  # noqa: PLC0415  # after the form is chosen
    from service.physics.kernel.columns import drawn, flows, voltages  # noqa: PLC0415  # after the form is chosen
    from service.physics.load import FILAMENT_EXPONENT, Load  # noqa: PLC0415  # after the form is chosen
    from service.physics.network import Span, build_network  # noqa: PLC0415  # after the form is chosen
    from service.physics.sensitivity import Tangent  # noqa: PLC0415  # after the form is chosen
    from service.physics.solve import NoOperatingPointError, solve  # noqa: PLC0415  # after the form is chosen

    rng = random.Random(15)
    digests = {
        name: hashlib.sha256() for name in ("points", "refusals", "drops", "ohms", "ends", "moves", "flows")
    }
    counts = dict.fromkeys(digests, 0)

    def take(name: str, *values: float) -> None:
        counts[name] += 1
        digests[name].update(struct.pack(f"<{len(values)}d", *values))

    for _ in range(asked.circuits):
        points = rng.choice((2, 3, 5, 10, 25, 25, 60))
        low, high = rng.choice(((-2.3, -0.3), (-2.3, -0.3), (-3.0, 1.0), (-9.0, 5.0)))
        spans = [Span(a, b, 10.0 ** rng.uniform(low, high)) for a, b in random_pairs(rng, points)]
        heavy, lags = 10.0 ** rng.uniform(-3.0, 0.3), rng.choice(((0.0,), (0.0, 0.3, 1.33)))
        loads = [
            (rng.randrange(points), Load(*random_parts(rng, heavy, rng.choice(lags))))
            for _ in range(rng.randint(1, points))
        ]
        volts = [rng.choice(VOLTS)] * points
        if rng.random() < 0.3:
            volts = [volts[0], *(rng.choice(VOLTS) for _ in range(points - 1))]
        winding = rng.choice((0.0, 10.0 ** rng.uniform(-5.0, -3.0)))
        network = build_network(volts, spans, loads, source_resistance=winding)
        take("drops", *open_circuit_drops(network))
        take("ohms", *short_circuit_resistances(network))
        try:
            found = solve(network)
        except NoOperatingPointError as error:
            take("refusals", error.proven, error.iterations)
        else:
            take("points", *found.drop, *found.quadrature, found.iterations, found.residual_a)
            with suppress(PivotNotPositiveError):
                moved = Tangent(network, found).adjoint({points - 1: 1.0}, {0: rng.uniform(-1.0, 1.0)})
                take("moves", *moved.in_phase, *moved.across)
            at_v = voltages(volts, found.drop, found.quadrature)
            for column in flows(spans, volts, found.drop, found.quadrature, at_v):
                take("flows", *column)
            for column in drawn(
                [load for _, load in loads], [at_v[at] for at, _ in loads], FILAMENT_EXPONENT
            ):
                take("flows", *column)
        end = even_spread(rng.choice((1.0, 0.9, 0.5))).end(rng.uniform(0.0, 0.7))
        take("ends", *(end or ()))
    print(
        json.dumps(
            {
                "form": FORM,
                "python": sys.version.split()[0],
                "counts": counts,
                **{name: digest.hexdigest() for name, digest in digests.items()},
            }
        )
    )


if __name__ == "__main__":
    main(sys.argv[1:])
