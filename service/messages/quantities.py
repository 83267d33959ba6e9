"""Quantities: a value and a unit from a closed list, nothing else."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import Meta, Struct

from service.messages.bounds import bounded, bounds_of


class Quantity(Struct, frozen=True, forbid_unknown_fields=True):
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


class Length(Measured, frozen=True):
    """A length along the route of a cable, one way."""

    value: Annotated[float, bounded("length", 0, 100_000, "Length, one way along the route.")]
    unit: Literal["m", "cm", "mm", "km", "in", "ft", "yd"]


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


class Current(Measured, frozen=True):
    """A current."""

    value: Annotated[float, bounded("current", 0, 10_000, "Rms current.")]
    unit: Literal["A", "mA"]


class DeviceCurrent(Measured, frozen=True):
    """The rating of an overcurrent device."""

    value: Annotated[float, bounded("current", 0.01, 10_000, "Rating of the overcurrent device.")]
    unit: Literal["A", "mA"]


class RealPower(Measured, frozen=True):
    """Real power."""

    value: Annotated[
        float, bounded("real-power", 0, 100_000, "Real power: the watts drawn, never equivalent.")
    ]
    unit: Literal["W", "kW"]


class ApparentPower(Measured, frozen=True):
    """Apparent power."""

    value: Annotated[float, bounded("apparent-power", 0, 100_000, "Apparent power.")]
    unit: Literal["VA", "kVA"]


class Rating(Measured, frozen=True):
    """The apparent power that a transformer is made for."""

    value: Annotated[float, bounded("apparent-power", 0.1, 100_000, "Rated apparent power.")]
    unit: Literal["VA", "kVA"]


class DirectRating(RealPower, frozen=True):
    """The real power that a DC supply is made for."""

    value: Annotated[float, bounded("real-power", 0.1, 100_000, "Rated real power.")]


class Resistance(Measured, frozen=True):
    """A resistance."""

    value: Annotated[float, bounded("resistance", 0, 1_000, "Resistance, both conductors together.")]
    unit: Literal["ohm", "mohm"]


class ResistancePerLength(Measured, frozen=True):
    """The resistance of ONE conductor per length."""

    value: Annotated[
        float, bounded("resistance-per-length", 1e-7, 10, "Resistance of ONE conductor per length.")
    ]
    unit: Literal["ohm/m", "ohm/km", "ohm/ft", "ohm/kft"]


class LoopResistancePerLength(Measured, frozen=True):
    """The resistance of both conductors together, per length."""

    value: Annotated[
        float, bounded("resistance-per-length", 0, 100, "Resistance of BOTH conductors together, per length.")
    ]
    unit: Literal["ohm/m", "ohm/km", "ohm/ft", "ohm/kft"]


class PowerPerLength(Measured, frozen=True):
    """Real power per length."""

    value: Annotated[float, bounded("power-per-length", 0, 1_000, "Real power per length: the watts drawn.")]
    unit: Literal["W/m", "W/ft"]


class Celsius(Quantity, frozen=True, tag_field="unit", tag="degC"):
    """A conductor temperature in degrees Celsius."""

    value: Annotated[float, Meta(ge=-40, le=90, description="Conductor temperature.")]


class Fahrenheit(Quantity, frozen=True, tag_field="unit", tag="degF"):
    """A conductor temperature in degrees Fahrenheit."""

    value: Annotated[float, Meta(ge=-40, le=194, description="Conductor temperature.")]


Temperature = Celsius | Fahrenheit
