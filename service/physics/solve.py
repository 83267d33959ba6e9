"""The operating point: Kirchhoff's law solved for the drop at every point, or the proof that there is none.

For loads of constant power, current and resistance the equations are convex and their Jacobian is an M-matrix
above the high-voltage solution, so Newton's method from no load descends to it without overshooting (monotone
Newton theorem, Ortega and Rheinboldt 1970, 13.3.4; Taheri and Kekatos 2019 for meshed DC networks). A pivot
or a voltage that is not positive on the way proves that no operating point exists.

A filament is concave. Its chord through the origin draws less than it does at any lower voltage, so it takes
the place of the tangent: a step cannot overshoot, and a network refused with the chord is refused for good.

Non-active current is carried in quadrature: with the quadrature part of the voltages held the in-phase
equations are the problem above, with the in-phase part held the quadrature equations are linear; the two take
turns.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite, sqrt
from sys import float_info

from service.physics.effort import CHECK, STEP, STEP_TURNED, count
from service.physics.elimination import Factor, PivotNotPositiveError
from service.physics.load import FILAMENT_EXPONENT
from service.physics.network import TERMINAL, Network
from service.physics.norton import (
    Norton,
    Values,
    active_equivalents,
    in_phase_equivalents,
    quadrature_equivalents,
)


def drawn(network: Network, drop: Values, quadrature: Values) -> tuple[Values, Values]:
    """What the loads draw at given voltages, in phase and across. [W, per-unit], one per point each"""
    in_phase, across = [0.0] * len(drop), [0.0] * len(drop)
    for point, power, current, conductance, filament, var, var_current in network.draws:
        a, b = 1.0 - drop[point], quadrature[point]
        square = a * a + b * b
        volts = sqrt(square)
        active = power / square + current / volts + conductance
        if filament:
            active += filament * volts ** (FILAMENT_EXPONENT - 1.0)
        lag = var / square + var_current / volts
        in_phase[point] = active * a + lag * b
        across[point] = lag * a - active * b
    return in_phase, across


def residual_a(
    network: Network, values: Values, draws: Values, *, limit_a: float, rounding: float
) -> float | None:
    """Largest residual over the points if each is within its bound, else None. [A]

    The bound is `limit_a` [A] plus `rounding` [-] times the currents that cancel there. The terminal of
    an ideal supply has no residual: its equation only says what the supply delivers.
    """
    missing = list(draws)
    missing[TERMINAL] -= network.supply_conductance * values[TERMINAL]
    for a, b, conductance in network.links:
        flow = conductance * (values[a] - values[b])
        missing[a] -= flow
        missing[b] += flow
    if not network.source_resistance:
        missing[TERMINAL] = 0.0
    left_a = [abs(part) / volts for part, volts in zip(missing, network.open_circuit_v, strict=True)]
    # Asked of each point and not of the largest, because the largest of a list may hide a NaN in it.
    if not all(left <= limit_a for left in left_a):
        bounds = zip(left_a, _gross(network, values, draws), network.open_circuit_v, strict=True)
        if not all(left <= limit_a + rounding * gross / volts for left, gross, volts in bounds):
            return None
    return max(left_a)


def _gross(network: Network, values: Values, draws: Values) -> Values:
    """Sum of the magnitudes of the currents at each point. [W, per-unit], one per point"""
    gross = [abs(part) for part in draws]
    gross[TERMINAL] += network.supply_conductance * abs(values[TERMINAL])
    for a, b, conductance in network.links:
        flow = conductance * (abs(values[a]) + abs(values[b]))
        gross[a] += flow
        gross[b] += flow
    return gross


STEP_LIMIT = 1e-9
"""A last step smaller than this ends the search. [per-unit]"""


RESIDUAL_LIMIT_A = 1e-9
"""What may be left of Kirchhoff's law at a point, beside rounding. [A]"""


ROUNDING = 64.0 * float_info.epsilon


MAXIMUM_ITERATIONS = 200


class NoOperatingPointError(ArithmeticError):
    """The wiring cannot carry the load at any voltage.

    Parameters
    ----------
    proven : bool
        True where a pivot or a voltage that is not positive proves it. False where the search ran out of
        steps within 1e-6 of the limit, and wherever a load has non-active current: there the search may give
        up as early as 1 % below the limit, and no theorem stands behind it.
    """

    def __init__(self, *, proven: bool, iterations: int) -> None:
        super().__init__("no operating point" if proven else "no operating point found")
        self.proven = proven
        self.iterations = iterations


@dataclass(frozen=True, slots=True)
class OperatingPoint:
    """A solved network and the evidence for it.

    Parameters
    ----------
    drop : list of float
        In-phase drop from the open-circuit voltage. [per-unit], one per point
    quadrature : list of float
        Quadrature part of the voltage. [per-unit], one per point
    iterations : int
        Steps taken.
    residual_a : float
        Largest current that Kirchhoff's law leaves over at any point. [A]
    method : str
        ``monotone-newton``, and ``-with-quadrature`` where a load had non-active current.
    """

    drop: list[float]
    quadrature: list[float]
    iterations: int
    residual_a: float
    method: str


def solve(network: Network) -> OperatingPoint:
    """Find the high-voltage operating point of a network.

    Returns
    -------
    operating_point : OperatingPoint
        Converged: the last step is below 1e-9 per-unit and the residual at each point below 1e-9 A and
        rounding.

    Raises
    ------
    NoOperatingPointError
        There is none, or the load is at the limit: within 1e-6, with non-active current within 1 %.
    """
    drop, quadrature = [0.0] * network.points, [0.0] * network.points
    turned = network.has_non_active
    step_operations = network.effort * (STEP_TURNED if turned else STEP)
    for iteration in range(1, MAXIMUM_ITERATIONS + 1):
        count(step_operations)
        lower = _lower(network, drop, quadrature, turned=turned)
        if lower is None:
            raise NoOperatingPointError(proven=not turned, iterations=iteration)
        step, drop = _longest(lower, drop), lower
        if turned:
            across = _answer(network, quadrature_equivalents(network, drop, quadrature))
            step, quadrature = max(step, _longest(across, quadrature)), across
        if step < STEP_LIMIT:
            count(CHECK * network.points)
            left_a = _residual_a(network, drop, quadrature, turned=turned)
            if left_a is not None:
                method = "monotone-newton-with-quadrature" if turned else "monotone-newton"
                return OperatingPoint(drop, quadrature, iteration, left_a, method)
    raise NoOperatingPointError(proven=False, iterations=MAXIMUM_ITERATIONS)


def operating_point(network: Network) -> OperatingPoint | None:
    """The high-voltage operating point of a network; None where it has none."""
    try:
        return solve(network)
    except NoOperatingPointError:
        return None


def _lower(network: Network, drop: Values, quadrature: Values, *, turned: bool) -> Values | None:
    """The in-phase drops one step further down; None where no positive voltage is left. [per-unit]"""
    loads = in_phase_equivalents(network, drop, quadrature) if turned else active_equivalents(network, drop)
    try:
        lower = _answer(network, loads)
    except PivotNotPositiveError:
        return None
    return lower if max(lower) < 1.0 else None


def _answer(network: Network, loads: Norton) -> Values:
    """Solve the wiring with its loads replaced. [per-unit], one per point"""
    shunt, constant = loads
    held = not network.source_resistance
    return Factor(network.plan, network.conductance, shunt, terminal_held=held).solve(constant)


def _longest(new: Values, old: Values) -> float:
    """Length of a step. [per-unit]"""
    return max([abs(after - before) for after, before in zip(new, old, strict=True)])


def _residual_a(network: Network, drop: Values, quadrature: Values, *, turned: bool) -> float | None:
    """Largest residual over both sets of equations if every point is within its bound, else None. [A]"""
    in_phase, across = drawn(network, drop, quadrature)
    worst_a = residual_a(network, drop, in_phase, limit_a=RESIDUAL_LIMIT_A, rounding=ROUNDING)
    if worst_a is not None and turned:
        other_a = residual_a(network, quadrature, across, limit_a=RESIDUAL_LIMIT_A, rounding=ROUNDING)
        worst_a = None if other_a is None else max(worst_a, other_a)
    return worst_a if worst_a is not None and isfinite(worst_a) else None
