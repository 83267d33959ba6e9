"""How far every voltage of a tree may be off, for all places at once.

What many things have in common is followed outwards once, and what each span and each fixture adds of its own
is gathered in two passes over the tree; neither grows with places times spans.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from service.physics.network import TERMINAL
from service.physics.tree import Along, Injection, tree_covariances
from service.studies.readings.slopes import volts_reader
from service.studies.readings.spread import kinds_of, warmth_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from service.physics.network import Network
    from service.physics.norton import Values
    from service.studies.readings.allowance import Allowance
    from service.studies.readings.model import Model, ReadState, Taken
    from service.studies.readings.slopes import Linearised

WORK_OF_TREE, WORK_OF_TREE_TURNED = 1, 5
"""Work of both passes, for each point."""


def volts_variances(
    model: Model, line: Linearised, state: ReadState, allowance: Allowance, taken: list[Taken]
) -> list[float]:
    """Variance of each voltage that is read in a state; of its meter and of everything about a tree. [V²]

    Raises
    ------
    WorkOverLimitError
        The request has spent the work that it may ask for.
    """
    solved, injections = line.solved, line.injections
    network = solved.network
    model.spend(work_of_tree(network.points, turned=network.has_non_active))
    kinds = kinds_of(model)
    warmer = warmth_of(kinds, allowance)
    each_span = injections.spans
    shared = [
        _along(network, [(each_span[index], warmer[spec]) for spec, laid in kinds.items() for index in laid]),
        *(
            _along(network, [(each_span[index], allowance.resistance) for index in laid])
            for laid in kinds.values()
        ),
        _at(network, [Injection(TERMINAL, *(part * allowance.winding for part in injections.source))]),
    ]
    responses = [line.tangent.response(*each) for each in shared]
    by_supply = line.tangent.response(*_at(network, injections.supply))
    own = tree_covariances(
        network,
        solved.point,
        [[_scaled(each, allowance.power) for each in row] for row in injections.rows],
        [
            Along(a, b, real * allowance.length, turn * allowance.length)
            for laid in kinds.values()
            for a, b, real, turn in map(each_span.__getitem__, laid)
        ],
    )
    found = []
    for one in taken:
        reader, at = volts_reader(solved, one.probe), one.probe.point
        drop, turn = reader.by_drop[at], reader.by_quadrature[at]
        supply = reader.supply + drop * by_supply[0][at] + turn * by_supply[1][at]
        parts = [drop * falls[at] + turn * turns[at] for falls, turns in responses]
        variance = one.own * one.own + (reader.supply * one.gain) ** 2 + sum(part * part for part in parts)
        variance += supply * supply * (state.common**2 + state.drift**2)
        covariance = own[at]
        variance += drop * drop * covariance.drop + turn * turn * covariance.quadrature
        found.append(variance + 2.0 * drop * turn * covariance.both)
    return found


def work_of_tree(points: int, *, turned: bool) -> int:
    """Work of the variances of all voltages of a tree with so many points."""
    return 1 + points * (WORK_OF_TREE_TURNED if turned else WORK_OF_TREE)


def _scaled(each: Injection, share: float) -> Injection:
    return Injection(each.point, each.in_phase * share, each.across * share)


def _along(network: Network, parts: Iterable[tuple[Along, float]]) -> tuple[Values, Values]:
    """What several stretches leave over together, each with its share. [W, per-unit], one per point"""
    real, turn = [0.0] * network.points, [0.0] * network.points
    for each, share in parts:
        real[each.start] += share * each.in_phase
        real[each.end] -= share * each.in_phase
        turn[each.start] += share * each.across
        turn[each.end] -= share * each.across
    return real, turn


def _at(network: Network, parts: Iterable[Injection]) -> tuple[Values, Values]:
    """What is left over at several points together. [W, per-unit], one per point"""
    real, turn = [0.0] * network.points, [0.0] * network.points
    for at, in_phase, across in parts:
        real[at] += in_phase
        turn[at] += across
    return real, turn
