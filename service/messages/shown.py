"""Quantities in replies: one unit each, except where `units` chooses."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import Meta, Struct


class ShownVoltage(Struct, frozen=True):
    """A voltage."""

    value: float
    unit: Literal["V"]


class ShownCurrent(Struct, frozen=True):
    """An rms current."""

    value: float
    unit: Literal["A"]


class ShownRealPower(Struct, frozen=True):
    """Real power."""

    value: float
    unit: Literal["W"]


class ShownApparentPower(Struct, frozen=True):
    """Apparent power."""

    value: float
    unit: Literal["VA"]


class ShownResistance(Struct, frozen=True):
    """A resistance."""

    value: float
    unit: Literal["ohm"]


class ShownLength(Struct, frozen=True):
    """A length, one way along the route."""

    value: float
    unit: Literal["m", "ft"]


class ShownQuantity(Struct, frozen=True):
    """A quantity whose dimension depends on the finding."""

    value: float
    unit: Annotated[str, Meta(pattern=r"^[A-Za-z/]+$", description="Unit symbol, for instance V, A, VA, m.")]
