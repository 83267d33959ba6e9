"""One published value, solved again, so that a calculator that is wrong is not asked."""

from service.physics.load import Load
from service.physics.network import Span, build_network
from service.physics.solve import solve

PUBLISHED_V = (295.0, 291.0, 288.0, 287.6)
"""V. K. Mehta, Principles of Power System, example 13.1: voltages at C, D, E and B, printed exactly. [V]"""


TOLERANCE_V = 1e-6


def published_value_holds() -> bool:
    """Whether the solver still reproduces a printed example of a two-wire distributor.

    300 V at A; 0.02 ohm/km out and back; AC 500 m, CD 500 m, DE 600 m, EB 400 m; 100, 150, 200 and 50 A.
    """
    loads_a = (100.0, 150.0, 200.0, 50.0)
    lengths_m = (500.0, 500.0, 600.0, 400.0)
    spans = [Span(index, index + 1, length_m * 2e-5) for index, length_m in enumerate(lengths_m)]
    loads = [(index + 1, Load(current_a=amps)) for index, amps in enumerate(loads_a)]
    drop = solve(build_network([300.0] * 5, spans, loads)).drop
    return all(
        abs(300.0 * (1.0 - share) - printed) < TOLERANCE_V
        for share, printed in zip(drop[1:], PUBLISHED_V, strict=True)
    )
