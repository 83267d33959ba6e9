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

from typing import NamedTuple

from service.physics.effort import CHECK, STEP, STEP_TURNED, count
from service.physics.kernel.search import FOUND, NONE_THERE, Search
from service.physics.network import Network


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


class OperatingPoint(NamedTuple):
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
    turned = network.has_non_active
    search = Search(
        network.plan,
        network.conductance,
        network.demand,
        network.open_circuit_v,
        network.supply_conductance,
        held=not network.source_resistance,
    )
    outcome = search.run()
    step_operations = network.effort * (STEP_TURNED if turned else STEP)
    count(search.iterations * step_operations + search.checks * CHECK * network.points)
    if outcome != FOUND:
        proven = outcome == NONE_THERE and not turned
        raise NoOperatingPointError(proven=proven, iterations=search.iterations)
    method = "monotone-newton-with-quadrature" if turned else "monotone-newton"
    return OperatingPoint(search.drop(), search.quadrature(), search.iterations, search.residual_a, method)


def operating_point(network: Network) -> OperatingPoint | None:
    """The high-voltage operating point of a network; None where it has none."""
    try:
        return solve(network)
    except NoOperatingPointError:
        return None


def nothing_drawn(network: Network) -> OperatingPoint:
    """The operating point of a network without a load, which needs no search."""
    return OperatingPoint([0.0] * network.points, [0.0] * network.points, 0, 0.0, "monotone-newton")
