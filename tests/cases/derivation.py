"""A second way to every expected voltage: dense matrices and a fixed point, without the service.

The wiring is written down as resistances between named points. The impedance matrix is inverted once, then
``v <- v0 - Z i(v)`` is repeated from no load until nothing moves. That is slow near the largest load that can
be carried and useless for large jobs, which is why the service does something else; for a handful of points
it is the textbook method, and it shares no code, no matrix and no starting formula with `service.physics`.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from math import sqrt

import numpy as np

SUPPLY = "supply"

STEPS = 200_000
SETTLED_V = 1e-13

M_PER_FT = 0.3048  # exact: international foot

# One conductor at 20 °C of 100 % IACS copper, 1/58 ohm mm²/m (IEC 60028:1925), over the AWG area of ASTM B258
# (0.127 mm x 92^((36-n)/39)), in ohm/kft to the four digits in which reference pages print it.
IDEAL_AWG_OHM_PER_KFT = {18: 6.385, 16: 4.016, 14: 2.525, 12: 1.588, 10: 0.9989, 8: 0.6282, 6: 0.3951}

# NEC chapter 9 table 8, uncoated stranded copper at 75 °C, ohm/kft, and the coefficient of its note.
NEC_STRANDED_OHM_PER_KFT = {18: 7.95, 16: 4.99, 14: 3.14, 12: 1.98, 10: 1.24, 8: 0.778, 6: 0.491}
NEC_COPPER_PER_K = 0.00323

# IEC 60228:2004 table 2, class 2 plain copper at 20 °C, ohm/km.
IEC_CLASS_2_OHM_PER_KM = {1.5: 12.1, 2.5: 7.41, 4.0: 4.61, 6.0: 3.08, 16.0: 1.15}

COPPER_PER_K_AT_20 = 0.00393  # IEC 60287-1-1 table 1

Draw = Callable[[complex], complex]
"""Current at a voltage. [V] -> [A]"""


class NothingSettlesError(ArithmeticError):
    """The fixed point reached nought or never came to rest: there is no operating point."""


def ideal_awg(size: int, feet: float) -> float:
    """Both conductors of an ideal AWG pair at 20 °C. [ft, one way] -> [ohm]"""
    return 2.0 * feet * IDEAL_AWG_OHM_PER_KFT[size] / 1000.0


def ideal_mm2(section: float, metres: float) -> float:
    """Both conductors of ideal copper of a section at 20 °C. [m, one way] -> [ohm]"""
    return 2.0 * metres / (58.0 * section)


def nec_awg(size: int, feet: float, temperature_c: float = 20.0) -> float:
    """Both conductors of a stranded AWG pair by the table of the code. [ft, one way] -> [ohm]"""
    warm = 1.0 + NEC_COPPER_PER_K * (temperature_c - 75.0)
    return 2.0 * feet * NEC_STRANDED_OHM_PER_KFT[size] / 1000.0 * warm


def iec_mm2(section: float, metres: float) -> float:
    """Both conductors of a class 2 pair at 20 °C. [m, one way] -> [ohm]"""
    return 2.0 * metres * IEC_CLASS_2_OHM_PER_KM[section] / 1000.0


def power(watts: float, va: float | None = None) -> Draw:
    """Constant power; what the volt-amperes have more than the watts lags. [W], [VA]"""
    apparent = complex(watts, sqrt(max(0.0, (va or watts) ** 2 - watts**2)))
    return lambda volts: (apparent / volts).conjugate()


def current(amps: float) -> Draw:
    """Constant current in phase. [A]"""
    return lambda volts: amps * volts / abs(volts)


def resistance(watts: float, rated_v: float = 12.0) -> Draw:
    """A resistor by its power at its rated voltage. [W], [V]"""
    return lambda volts: volts * watts / rated_v**2


@dataclass
class Bench:
    """Resistances and lamps between named points; `SUPPLY` is the terminal.

    Parameters
    ----------
    open_circuit_v : float
        [V]
    source_ohm : float
        In front of the terminal. [ohm]
    """

    open_circuit_v: float
    source_ohm: float = 0.0
    spans: list[tuple[str, str, float]] = field(default_factory=list)
    lamps: list[tuple[str, Draw]] = field(default_factory=list)

    def chain(self, points: list[str], ohms: list[float], start: str = SUPPLY) -> None:
        """Spans one behind the other. [ohm]"""
        for end, ohm in zip(points, ohms, strict=True):
            self.spans.append((start, end, ohm))
            start = end

    def voltages(self) -> dict[str, float]:
        """Magnitude at every point. [V]"""
        return {name: abs(volts) for name, volts in self._settled().items()}

    def phasors(self) -> dict[str, complex]:
        """Voltage at every point, in phase and in quadrature. [V]"""
        return self._settled()

    def _settled(self) -> dict[str, complex]:
        names = list(dict.fromkeys([SUPPLY, *(end for a, b, _ in self.spans for end in (a, b))]))
        held = [] if self.source_ohm else [SUPPLY]
        free = [name for name in names if name not in held]
        impedance = np.linalg.inv(self._conductance(free)) if free else np.zeros((0, 0))
        volts = np.full(len(free), complex(self.open_circuit_v))
        for _ in range(STEPS):
            after = self.open_circuit_v - impedance @ self._drawn(free, volts)
            if after.size and after.real.min() <= 0.0:
                raise NothingSettlesError
            moved = np.abs(after - volts).max(initial=0.0)
            volts = after
            if moved < SETTLED_V:
                rest = dict.fromkeys(held, complex(self.open_circuit_v))
                return rest | dict(zip(free, (complex(value) for value in volts), strict=True))
        raise NothingSettlesError

    def _conductance(self, free: list[str]) -> np.ndarray:
        at = {name: index for index, name in enumerate(free)}
        matrix = np.zeros((len(free), len(free)))
        if self.source_ohm:
            matrix[at[SUPPLY], at[SUPPLY]] += 1.0 / self.source_ohm
        for start, end, ohm in self.spans:
            for here, there in ((start, end), (end, start)):
                if here in at:
                    matrix[at[here], at[here]] += 1.0 / ohm
                    if there in at:
                        matrix[at[here], at[there]] -= 1.0 / ohm
        return matrix

    def _drawn(self, free: list[str], volts: np.ndarray) -> np.ndarray:
        at = {name: index for index, name in enumerate(free)}
        drawn = np.zeros(len(free), dtype=complex)
        for name, draw in self.lamps:
            if name in at:
                drawn[at[name]] += draw(complex(volts[at[name]]))
        return drawn


def largest_share(open_circuit_v: float, ohm: float, watts: float) -> float:
    """What share of one constant-power load a resistance can carry: E²/4R over P. [V], [ohm], [W] -> [-]"""
    return open_circuit_v**2 / (4.0 * ohm) / watts
