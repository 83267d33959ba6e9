"""A made-up message with every kind of member that requests have."""

from enum import Enum
from typing import Annotated, Literal

from msgspec import UNSET, Meta, Struct, UnsetType

from service.wire.quantities import ID_PATTERN, NAME_PATTERN


class Length(Struct, frozen=True, forbid_unknown_fields=True):
    value: Annotated[float, Meta(ge=0, le=100_000)]
    unit: Literal["m", "cm", "mm", "km", "in", "ft", "yd"]


class Power(Struct, frozen=True, forbid_unknown_fields=True):
    value: Annotated[float, Meta(gt=0, lt=1_000)]
    unit: Literal["W", "kW"]


class Secondary(Struct, frozen=True, forbid_unknown_fields=True):
    value: Annotated[float, Meta(ge=0.001, le=30)]
    unit: Literal["V", "mV"]


class Celsius(Struct, frozen=True, forbid_unknown_fields=True, tag_field="unit", tag="degC"):
    value: Annotated[float, Meta(ge=-40, le=90)]


class Fahrenheit(Struct, frozen=True, forbid_unknown_fields=True, tag_field="unit", tag="degF"):
    value: Annotated[float, Meta(ge=-40, le=194)]


class Lamp(Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind", tag="lamp"):
    power: Power
    colour: Literal["warm", "neutral", "cold"] | UnsetType = UNSET


class Pump(Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind", tag="pump"):
    power: Power
    hours: Annotated[float, Meta(ge=1, le=24, multiple_of=1)] | UnsetType = UNSET


class Finish(Enum):
    BRASS = "brass"
    COPPER = "copper"


class Stake(Struct, frozen=True, forbid_unknown_fields=True):
    at: Length
    load: Lamp | Pump
    id: Annotated[str, Meta(min_length=1, max_length=64, pattern=ID_PATTERN)] | UnsetType = UNSET
    name: Annotated[str, Meta(min_length=1, max_length=64, pattern=NAME_PATTERN)] | UnsetType = UNSET
    finish: Finish | UnsetType = UNSET


class Path(Struct, frozen=True, forbid_unknown_fields=True):
    stakes: Annotated[list[Stake], Meta(min_length=1, max_length=3)]
    conductor: Literal["10 AWG", "12 AWG", "18 AWG", "2.5 mm2", "1.5 mm2"]
    temperature: Celsius | Fahrenheit | UnsetType = UNSET
    secondary: Secondary | UnsetType = UNSET
    count: Annotated[int, Meta(ge=1, le=9)] | UnsetType = UNSET
    lit: bool | UnsetType = UNSET
    price: Annotated[str, Meta(pattern=r"^[0-9]+\.[0-9]{2}(?![\s\S])")] | UnsetType = UNSET
    spare: Annotated[float, Meta(ge=0)] | UnsetType | None = UNSET
    either: Annotated[list[float], Meta(max_length=2)] | Literal["none"] | bool | UnsetType = UNSET
    level: Literal[1, 2, "off"] | UnsetType = UNSET


class Defaulted(Struct, frozen=True, forbid_unknown_fields=True):
    """A message that is written out with a member that nobody sent."""

    name: str
    margin: bool = False


class Open(Struct, frozen=True):
    """A message that drops what it does not know."""

    name: str


class Lone(Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind", tag="lone"):
    """A tagged message outside a union: msgspec reads it without its tag too."""

    name: str
