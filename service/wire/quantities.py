"""Quantities: a value and a unit from a closed list; their bounds; names and texts."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType
from typing import Annotated, Final, Literal, NamedTuple, get_type_hints

from msgspec import Meta, Struct

from service.units import DIMENSIONS, bound_in

LengthUnit = Literal["m", "cm", "mm", "km", "in", "ft", "yd"]


CurrentUnit = Literal["A", "mA"]


RealPowerUnit = Literal["W", "kW"]


ApparentPowerUnit = Literal["VA", "kVA"]


ResistanceUnit = Literal["ohm", "mohm"]


ResistancePerLengthUnit = Literal["ohm/m", "ohm/km", "ohm/ft", "ohm/kft"]


PowerPerLengthUnit = Literal["W/m", "W/ft"]


ShownLengthUnit = Literal["m", "ft"]


class Quantity(Struct, frozen=True, forbid_unknown_fields=True, gc=False):
    """A value with its unit."""


class Measured(Quantity, frozen=True):
    """A quantity that may be given in several units, with the same bounds in each of them."""

    value: float
    unit: str

    def __post_init__(self) -> None:
        """Hold the quantity to its bounds, not the number: 60 VA is 0.06 kVA."""
        least, most = bounds_of(type(self))[self.unit]
        if not least <= self.value <= most:
            message = f"Expected a number >= {least} and <= {most} for the unit {self.unit}"
            raise ValueError(message)


class SecondaryVoltage(Quantity, frozen=True):
    """A voltage on the low-voltage side of a transformer."""

    value: Annotated[float, Meta(ge=0.001, le=30, description="At most 30 V AC: low voltage only.")]
    unit: Literal["V"]


class DirectVoltage(Quantity, frozen=True):
    """A voltage of a DC supply or a battery."""

    value: Annotated[float, Meta(ge=0.001, le=60, description="At most 60 V DC: low voltage only.")]
    unit: Literal["V"]


class LampVoltage(Quantity, frozen=True):
    """A voltage that a fixture is rated or made for."""

    value: Annotated[float, Meta(ge=0.001, le=100, description="Voltage at the fixture.")]
    unit: Literal["V"]


class NominalVoltage(Quantity, frozen=True):
    """The voltage that fixtures are sold for."""

    value: Annotated[float, Meta(ge=12, le=24, multiple_of=3, description="12, 15 or 24 V as a rule.")]
    unit: Literal["V"]


class MainsVoltage(Quantity, frozen=True):
    """A voltage on the mains side of a transformer."""

    value: Annotated[float, Meta(ge=1, le=1_000, description="Mains voltage.")]
    unit: Literal["V"]


class Celsius(Quantity, frozen=True, tag_field="unit", tag="degC"):
    """A conductor temperature in degrees Celsius."""

    value: Annotated[float, Meta(ge=-40, le=90, description="Conductor temperature.")]


class Fahrenheit(Quantity, frozen=True, tag_field="unit", tag="degF"):
    """A conductor temperature in degrees Fahrenheit."""

    value: Annotated[float, Meta(ge=-40, le=194, description="Conductor temperature.")]


Temperature = Celsius | Fahrenheit


UNIT_BOUNDS: Final = "x-unit-bounds"
"""Under this name the schema of a `value` carries its bounds by unit to whoever writes the document."""


class Bounds(NamedTuple):
    """The least and the most that a number may be in one unit."""

    least: float
    most: float


def bounded(dimension: str, least: float, most: float, description: str) -> Meta:
    """Bound the `value` of a quantity that may be given in several units.

    The decoder holds the number to the loosest of the bounds, and `Measured` to that of the unit.

    Parameters
    ----------
    dimension : str
        A key of `DIMENSIONS`, all of whose units may be named.
    least, most : float
        The quantity's bounds. [first unit of the dimension]
    description : str
        What is measured.
    """
    by_unit = {unit: Bounds(bound_in(least, unit), bound_in(most, unit)) for unit in DIMENSIONS[dimension]}
    return Meta(
        ge=min(bounds.least for bounds in by_unit.values()),
        le=max(bounds.most for bounds in by_unit.values()),
        description=description,
        extra_json_schema={UNIT_BOUNDS: by_unit},
    )


class Length(Measured, frozen=True):
    """A length along the route of a cable, one way."""

    value: Annotated[float, bounded("length", 0, 100_000, "Length, one way along the route.")]
    unit: LengthUnit


class Current(Measured, frozen=True):
    """A current."""

    value: Annotated[float, bounded("current", 0, 10_000, "Rms current.")]
    unit: CurrentUnit


class DeviceCurrent(Measured, frozen=True):
    """The rating of an overcurrent device."""

    value: Annotated[float, bounded("current", 0.01, 10_000, "Rating of the overcurrent device.")]
    unit: CurrentUnit


class RealPower(Measured, frozen=True):
    """Real power."""

    value: Annotated[
        float, bounded("real-power", 0, 100_000, "Real power: the watts drawn, never equivalent.")
    ]
    unit: RealPowerUnit


class ApparentPower(Measured, frozen=True):
    """Apparent power."""

    value: Annotated[float, bounded("apparent-power", 0, 100_000, "Apparent power.")]
    unit: ApparentPowerUnit


class Rating(Measured, frozen=True):
    """The apparent power that a transformer is made for."""

    value: Annotated[float, bounded("apparent-power", 0.1, 100_000, "Rated apparent power.")]
    unit: ApparentPowerUnit


class DirectRating(RealPower, frozen=True):
    """The real power that a DC supply is made for."""

    value: Annotated[float, bounded("real-power", 0.1, 100_000, "Rated real power.")]


class Resistance(Measured, frozen=True):
    """A resistance."""

    value: Annotated[float, bounded("resistance", 0, 1_000, "Resistance, both conductors together.")]
    unit: ResistanceUnit


class ResistancePerLength(Measured, frozen=True):
    """The resistance of ONE conductor per length."""

    value: Annotated[
        float, bounded("resistance-per-length", 1e-7, 10, "Resistance of ONE conductor per length.")
    ]
    unit: ResistancePerLengthUnit


class LoopResistancePerLength(Measured, frozen=True):
    """The resistance of both conductors together, per length."""

    value: Annotated[
        float, bounded("resistance-per-length", 0, 100, "Resistance of BOTH conductors together, per length.")
    ]
    unit: ResistancePerLengthUnit


class PowerPerLength(Measured, frozen=True):
    """Real power per length."""

    value: Annotated[float, bounded("power-per-length", 0, 1_000, "Real power per length: the watts drawn.")]
    unit: PowerPerLengthUnit


@cache
def bounds_of(kind: type) -> Mapping[str, Bounds]:
    """The bounds of a struct's `value` by its `unit`; none where they do not hang on the unit."""
    value = get_type_hints(kind, include_extras=True).get("value")
    metas = [meta for meta in getattr(value, "__metadata__", ()) if isinstance(meta, Meta)]
    found = [(meta.extra_json_schema or {}).get(UNIT_BOUNDS, {}) for meta in metas]
    return MappingProxyType(found[0] if found else {})


Count = Annotated[
    float,
    Meta(ge=1, le=10_000, multiple_of=1, description="How many.", extra_json_schema={"type": "integer"}),
]


CablesInParallel = Annotated[
    float,
    Meta(
        ge=1,
        le=20,
        multiple_of=1,
        description="Identical cables side by side, joined at both ends.",
        extra_json_schema={"type": "integer"},
    ),
]


PowerFactor = Annotated[
    float, Meta(ge=0.05, le=1, description="Real over apparent power, as a ratio; 1 on direct current.")
]


Percent = Annotated[float, Meta(ge=0, le=100, description="Per cent.")]


# No C0 or C1 control, no line or paragraph separator (U+2028, U+2029) and no character with the Unicode
# property Bidi_Control (U+061C, U+200E, U+200F, U+202A to U+202E, U+2066 to U+2069): any of them can make a
# label, a CSV cell or a log line read as something else. Source: Unicode Standard Annex 9, PropList.txt.
_SHOWN: Final = r"[^\u0000-\u001F\u007F-\u009F\u061C\u200E\u200F\u2028-\u202E\u2066-\u2069]"


NAME_PATTERN: Final = rf"^{_SHOWN}{{1,64}}(?![\s\S])"


Name = Annotated[
    str,
    Meta(
        min_length=1,
        max_length=64,
        pattern=NAME_PATTERN,
        description="A name to show: no control or bidirectional-override characters.",
    ),
]


TITLE_PATTERN: Final = rf"^{_SHOWN}{{1,120}}(?![\s\S])"


LINE_PATTERN: Final = rf"^{_SHOWN}{{0,120}}(?![\s\S])"


POINTER_PATTERN: Final = r"^/[\x21-\x7E]{0,199}(?![\s\S])"


ID_PATTERN: Final = r"^[\x20-\x7E]{1,64}(?![\s\S])"


CallerId = Annotated[
    str,
    Meta(
        min_length=1,
        max_length=64,
        pattern=ID_PATTERN,
        description="The caller's own identifier: 1 to 64 printable ASCII characters, echoed verbatim.",
    ),
]


ItemId = Annotated[
    CallerId,
    Meta(description="The row of a quote's `catalogue` as which it is bought; other studies carry it along."),
]


class ShownVoltage(Struct, frozen=True, gc=False):
    """A voltage."""

    value: float
    unit: Literal["V"]


class ShownCurrent(Struct, frozen=True, gc=False):
    """An rms current."""

    value: float
    unit: Literal["A"]


class ShownRealPower(Struct, frozen=True, gc=False):
    """Real power."""

    value: float
    unit: Literal["W"]


class ShownApparentPower(Struct, frozen=True, gc=False):
    """Apparent power."""

    value: float
    unit: Literal["VA"]


class ShownResistance(Struct, frozen=True, gc=False):
    """A resistance."""

    value: float
    unit: Literal["ohm"]


class ShownLength(Struct, frozen=True, gc=False):
    """A length, one way along the route."""

    value: float
    unit: ShownLengthUnit


class ShownQuantity(Struct, frozen=True, gc=False):
    """A quantity whose dimension depends on the finding."""

    value: float
    unit: Annotated[str, Meta(pattern=r"^[A-Za-z/]+$", description="Unit symbol, for instance V, A, VA, m.")]
