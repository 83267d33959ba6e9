"""The same job written otherwise: longer, in other units, in another order."""

from collections.abc import Callable
from fractions import Fraction
from typing import Any, Final

from service.wire.quantities import Length, bounds_of

FAMILIES: Final[tuple[dict[str, float], ...]] = (
    # Exact by definition: NIST Handbook 44 (2023), appendix C, for in, ft and yd.
    {"m": 1.0, "cm": 0.01, "mm": 0.001, "km": 1000.0, "in": 0.0254, "ft": 0.3048, "yd": 0.9144},
    {"W": 1.0, "kW": 1000.0},
    {"VA": 1.0, "kVA": 1000.0},
    {"A": 1.0, "mA": 0.001},
    {"ohm": 1.0, "mohm": 0.001},
    {"ohm/m": 1.0, "ohm/km": 0.001, "ohm/ft": 1 / 0.3048, "ohm/kft": 0.001 / 0.3048},
    {"W/m": 1.0, "W/ft": 1 / 0.3048},
)
"""Units of one dimension, each with its factor."""

LENGTHS: Final = FAMILIES[0]

Rewrite = Callable[[float, str], tuple[float, str]]


def rewritten(value: Any, rewrite: Rewrite) -> Any:
    """Put every quantity of a request in other words."""
    if isinstance(value, list):
        return [rewritten(part, rewrite) for part in value]
    if not isinstance(value, dict):
        return value
    if value.keys() == {"value", "unit"}:
        number, unit = rewrite(value["value"], value["unit"])
        return {"value": number, "unit": unit}
    return {name: rewritten(part, rewrite) for name, part in value.items()}


def lengthened(value: float, unit: str) -> tuple[float, str]:
    """A length a tenth longer, as far as a length may go."""
    return (min(1.1 * value, bounds_of(Length)[unit].most), unit) if unit in LENGTHS else (value, unit)


def is_exact(value: float, unit: str, number: float, other: str) -> bool:
    """Whether two lengths are the same to the last digit that is written."""
    one, two = (
        Fraction(str(each)) * Fraction(str(LENGTHS[name])) for each, name in ((value, unit), (number, other))
    )
    return one == two


def in_another_unit(value: float, unit: str) -> tuple[float, str]:
    """A quantity in the next unit of its dimension in which its number is neither huge nor tiny."""
    if unit in ("degC", "degF"):
        return ((value - 32.0) / 1.8, "degC") if unit == "degF" else (1.8 * value + 32.0, "degF")
    for family in FAMILIES:
        names = list(family)
        if unit in family:
            place = names.index(unit)
            for other in [*names[place + 1 :], *names[:place]]:
                # To 15 digits: what is at a bound in one unit stands at it in the other, not a hair beyond.
                number = float(f"{value * family[unit] / family[other]:.15g}")
                if family is LENGTHS and not is_exact(value, unit, number, other):
                    # A third of a yard less, and a piece does not fit on its spool any more.
                    continue
                if number == 0 or 0.1 <= number <= 1_000:
                    return number, other
    return value, unit


def with_fixtures_reversed(value: Any) -> Any:
    """The lines of fixtures of each stretch the other way round."""
    if isinstance(value, list):
        return [with_fixtures_reversed(part) for part in value]
    if not isinstance(value, dict):
        return value
    return {
        name: list(reversed(part)) if name == "fixtures" else with_fixtures_reversed(part)
        for name, part in value.items()
    }
