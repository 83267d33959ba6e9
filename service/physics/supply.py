"""What feeds the wiring: an open-circuit voltage behind a resistance."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class SeriesWinding:
    """A transformer's own series resistance, known from its rating and its regulation.

    Parameters
    ----------
    rating_va : float
        Apparent power at which the rated secondary voltage is stated. [VA]
    regulation_ratio : float
        (no-load voltage - full-load voltage) / full-load voltage. [-]
    """

    rating_va: float
    regulation_ratio: float


def open_circuit_voltage(rated_v: float, *, regulation_ratio: float, mains_ratio: float) -> float:
    """No-load voltage of a secondary whose rated voltage holds at rated load and rated mains.

    Parameters
    ----------
    rated_v : float
        Secondary voltage at rated load and rated mains. [V]
    regulation_ratio : float
        Referred to the full-load voltage. [-]
    mains_ratio : float
        Actual over rated primary voltage. [-]

    Returns
    -------
    open_circuit_v : float
        Voltage at no load and the actual mains. [V]

    Examples
    --------
    A toroid maker's note gives 11 V at no load, 10 V rated, as 10 % of the full-load voltage; matches.

    >>> round(open_circuit_voltage(10.0, regulation_ratio=0.10, mains_ratio=1.0), 9)
    11.0
    """
    return rated_v * (1.0 + regulation_ratio) * mains_ratio


def winding_resistance(rated_v: float, *, winding: SeriesWinding) -> float:
    """Series resistance of a winding, seen from its secondary; neither mains nor load changes it.

    At rated current and rated mains the terminal voltage is the rated voltage exactly:
    ``E - (S/V) * R = V (1 + reg) - reg * V = V``.

    Parameters
    ----------
    rated_v : float
        Rated secondary voltage. [V]
    winding : SeriesWinding
        Rating and regulation.

    Returns
    -------
    resistance_ohm : float
        [ohm]

    Examples
    --------
    300 VA, 12 V, 4 % is 12.48 V behind 0.0192 ohm.

    >>> round(winding_resistance(12.0, winding=SeriesWinding(300.0, 0.04)), 6)
    0.0192
    """
    return winding.regulation_ratio * rated_v * rated_v / winding.rating_va
