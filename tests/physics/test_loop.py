"""Ohms of a loop against the pseudo-inverse of the network's Laplacian, and their derivative."""

import numpy as np
import pytest

from service.physics.loop import loop_resistance
from service.physics.network import Span, build_network, with_resistances


def meshed(seed: int) -> tuple[list[float], list[Span]]:
    """Nine points on two taps: a tree on each, and some spans more that close loops."""
    pick = np.random.default_rng(seed)
    volts = [12.6, *(12.6 if point < 6 else 15.75 for point in range(1, 10))]
    spans = []
    for point in range(1, 10):
        parents = [0, *range(1, point)] if point < 6 else [0, *range(6, point)]
        spans.append(Span(int(pick.choice(parents)), point, float(pick.uniform(0.01, 0.5))))
    for _ in range(3):
        a, b = sorted(int(each) for each in pick.choice(range(1, 6), 2, replace=False))
        spans.append(Span(a, b, float(pick.uniform(0.01, 0.5))))
    return volts, spans


@pytest.mark.parametrize("seed", range(20))
def test_ohms_of_a_loop_are_the_effective_resistance(seed: int) -> None:
    # R = L⁺aa + L⁺bb - 2 L⁺ab: Klein and Randić, Resistance distance, J. Math. Chem. 12 (1993) 81-95.
    volts, spans = meshed(seed)
    laplacian = np.zeros((len(volts), len(volts)))
    for a, b, ohm in spans:
        laplacian[a, a] += 1 / ohm
        laplacian[b, b] += 1 / ohm
        laplacian[a, b] -= 1 / ohm
        laplacian[b, a] -= 1 / ohm
    inverse = np.linalg.pinv(laplacian)
    network = build_network(volts, spans, [], source_resistance=1e-3)
    for point in range(len(volts)):
        expected = inverse[0, 0] + inverse[point, point] - 2 * inverse[0, point]
        assert loop_resistance(network, point).ohm == pytest.approx(expected, rel=1e-9, abs=1e-12)


@pytest.mark.parametrize("seed", range(5))
def test_ohms_of_a_loop_follow_each_span_as_they_say(seed: int) -> None:
    volts, spans = meshed(seed)
    network = build_network(volts, spans, [])
    found = loop_resistance(network, 5)
    step = 1e-6
    for index, span in enumerate(spans):
        more = [
            each._replace(resistance_ohm=each.resistance_ohm * (1 + step)) if each is span else each
            for each in spans
        ]
        moved = (loop_resistance(with_resistances(network, more), 5).ohm - found.ohm) / step
        assert found.by_span[index] == pytest.approx(moved, rel=1e-4, abs=1e-8)
