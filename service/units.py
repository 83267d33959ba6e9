"""Units that callers may name, and the factor and offset that bring each to the unit used inside.

The only file that imports Pint. Pint proves the dimensions and derives the factors once, while this file is
imported; it never sees a caller's text, because its parser takes expressions (``9**9**9 m`` never returns).
"""

import sys
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

_WITHOUT = "numpy" not in sys.modules
if _WITHOUT:
    # pint loads numpy where it is installed, 12 MiB of every process, and is given no array here.
    sys.modules["numpy"] = None  # type: ignore[assignment]  # the import system reads None as absent
import pint  # noqa: E402  # after what it must not see

if _WITHOUT:
    del sys.modules["numpy"]

DIMENSIONS: Final[dict[str, tuple[str, ...]]] = {
    "length": ("m", "cm", "mm", "km", "in", "ft", "yd"),
    "voltage": ("V", "mV"),
    "current": ("A", "mA"),
    "real-power": ("W", "kW"),
    "apparent-power": ("VA", "kVA"),
    "resistance": ("ohm", "mohm"),
    "resistance-per-length": ("ohm/m", "ohm/km", "ohm/ft", "ohm/kft"),
    "power-per-length": ("W/m", "W/ft"),
    "temperature": ("degC", "degF"),
    "energy": ("kWh",),
    "duration": ("h",),
}
"""Names of the units of each dimension; the first is the unit used inside."""

# Real and apparent power are one dimension to Pint and two here: a transformer is rated in VA, a lamp in W.
_PROOFS: Final[dict[str, str]] = {
    "length": "[length]",
    "voltage": "[electric_potential]",
    "current": "[current]",
    "real-power": "[power]",
    "apparent-power": "[power]",
    "resistance": "[resistance]",
    "resistance-per-length": "[resistance] / [length]",
    "power-per-length": "[power] / [length]",
    "temperature": "[temperature]",
    "energy": "[energy]",
    "duration": "[time]",
}


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit that a caller may name: ``inside = value * scale + offset``."""

    dimension: str
    unit: str
    inside_unit: str
    scale: float
    offset: float


def _exact(registry: pint.UnitRegistry[Fraction], dimension: str, name: str) -> tuple[Fraction, Fraction]:
    """Derive scale and offset of one unit exactly: in floats Pint makes a foot 0.30479999999999996 m."""
    inside_unit = DIMENSIONS[dimension][0]
    zero = registry.Quantity(Fraction(0), name)
    one = registry.Quantity(Fraction(1), name)
    if not one.check(_PROOFS[dimension]):
        message = f"Unit {name!r} does not measure {dimension}."
        raise ValueError(message)
    offset = zero.to(inside_unit).magnitude
    return one.to(inside_unit).magnitude - offset, offset


def _derive() -> dict[str, tuple[Fraction, Fraction]]:
    """Derive every unit; the registry is let go afterwards."""
    registry: pint.UnitRegistry[Fraction] = pint.UnitRegistry(non_int_type=Fraction)
    return {
        name: _exact(registry, dimension, name) for dimension, names in DIMENSIONS.items() for name in names
    }


DIMENSION_OF: Final[dict[str, str]] = {
    name: dimension for dimension, names in DIMENSIONS.items() for name in names
}
"""The dimension of each unit name."""

_EXACT: Final = _derive()

UNITS: Final[tuple[Unit, ...]] = tuple(
    Unit(dimension, name, DIMENSIONS[dimension][0], *map(float, _EXACT[name]))
    for name, dimension in DIMENSION_OF.items()
)
"""Every unit, in the order of `DIMENSIONS`."""

FACTORS: Final[dict[str, tuple[float, float]]] = {unit.unit: (unit.scale, unit.offset) for unit in UNITS}
"""Scale and offset of each unit name."""


def inside(value: float, unit: str) -> float:
    """Bring a value to the unit used inside.

    Parameters
    ----------
    value : float
        The value as the caller wrote it. [`unit`]
    unit : str
        A key of `FACTORS`.

    Returns
    -------
    value : float
        The same quantity. [the first unit of its dimension in `DIMENSIONS`]

    Raises
    ------
    KeyError
        `unit` is not a name from the closed list.

    Notes
    -----
    Without an offset nothing is added: a value given in the inside unit comes back unchanged, bit for bit.

    Examples
    --------
    The international foot is exactly 0.3048 m [1]_.

    >>> inside(150.0, "ft")
    45.72

    References
    ----------
    .. [1] International yard and pound agreement, 1959: 1 yd = 0.9144 m exactly.
    """
    scale, offset = FACTORS[unit]
    return value * scale + offset if offset else value * scale


def from_inside(value: float, unit: str) -> float:
    """Bring a value from the unit used inside to a named one: the inverse of `inside`.

    Parameters
    ----------
    value : float
        The quantity. [the first unit of its dimension in `DIMENSIONS`]
    unit : str
        A key of `FACTORS`.

    Returns
    -------
    value : float
        The same quantity. [`unit`]

    Raises
    ------
    KeyError
        `unit` is not a name from the closed list.

    Examples
    --------
    >>> from_inside(45.72, "ft")
    150.0
    """
    scale, offset = FACTORS[unit]
    return (value - offset) / scale if offset else value / scale


def all_from_inside(values: list[float], unit: str) -> list[float]:
    """A column of values as `from_inside` gives each."""
    scale, offset = FACTORS[unit]
    if offset:
        return [(value - offset) / scale for value in values]
    return [value / scale for value in values]


def exact_inside(value: float, unit: str) -> Fraction:
    """Bring a value to the unit used inside without rounding: the decimal as written, by an exact factor.

    Parameters
    ----------
    value : float
        The value as the caller wrote it. [`unit`]
    unit : str
        A key of `FACTORS`.

    Returns
    -------
    value : Fraction
        The same quantity. [the first unit of its dimension in `DIMENSIONS`]

    Raises
    ------
    KeyError
        `unit` is not a name from the closed list.

    Examples
    --------
    A tenth of a foot, which no float is.

    >>> exact_inside(0.1, "ft")
    Fraction(381, 12500)
    """
    scale, offset = _EXACT[unit]
    return Fraction(repr(value)) * scale + offset


def bound_in(bound: float, unit: str) -> float:
    """Write a bound, stated in the unit used inside, in a named one.

    Parameters
    ----------
    bound : float
        The bound as it is written in the code: 0.0001 is a ten-thousandth. [first unit of its dimension]
    unit : str
        A key of `FACTORS`.

    Returns
    -------
    bound : float
        The float nearest to the exact value, so that a bound is the same quantity in every unit. [`unit`]

    Raises
    ------
    KeyError
        `unit` is not a name from the closed list.

    Examples
    --------
    >>> bound_in(0.0001, "ohm/km")
    0.1
    """
    scale, offset = _EXACT[unit]
    return float((Fraction(str(bound)) - offset) / scale)
