"""Values drawn from the types of the messages: fitting ones, and ones at and beyond every bound."""

import math
import random
import re
from collections.abc import Iterator
from typing import Any, Final, NamedTuple

from msgspec import inspect
from msgspec.inspect import StructType, Type

from service.intake.words import options
from service.wire.quantities import bounds_of

HOSTILE_NUMBERS: Final[tuple[Any, ...]] = (
    0, -0.0, 5e-324, -5e-324, 2.2250738585072014e-308, 1e-307, 1e-30, 1e-9, 0.1 + 0.2, 1 - 2**-53, 1 + 2**-52,
    -1, 1e15, 2**53, 2**53 + 1, 2**63, -(2**70), 10**40, 1e300, 1e308, 1.7976931348623157e308, 10**400,
)  # fmt: skip
HOSTILE_TEXTS: Final = (
    "", " ", "a", "a\n", "x" * 64, "x" * 65, "\u202e", "\u0000", "🌳" * 32, "é" * 64, "=1+1", "<b>&\"'",
    "../..", "/wiring", "/wiring/runs/0", "/wiring/runs/-1", "/wiring/runs/00", "/wiring/~2", "/" * 200,
    "supply", "null",
)  # fmt: skip
ANY_VALUES: Final[tuple[Any, ...]] = (
    None, True, False, "12", [], {}, [[]], [{}], {"value": 1, "unit": "m"}, {"value": 12, "unit": "V"},
    {"kind": "listed"}, {"kind": "constant-power"}, {"form": "spans"}, *HOSTILE_NUMBERS[:8],
)  # fmt: skip

_TEXTS: Final = ("supply", "a", "b", "c", "d", "east", "west", "EUR", "12.50", "3", "/wiring", "/wiring/load")
_LIKELY: Final[dict[str, tuple[float, float]]] = {
    "Length": (0.05, 400),
    "SecondaryVoltage": (10, 26),
    "DirectVoltage": (9, 30),
    "LampVoltage": (8, 28),
    "MainsVoltage": (100, 240),
    "Current": (0.01, 20),
    "DeviceCurrent": (1, 40),
    "RealPower": (0.1, 120),
    "ApparentPower": (0.1, 150),
    "Rating": (5, 1_500),
    "Resistance": (0.001, 1),
    "ResistancePerLength": (0.1, 30),
    "LoopResistancePerLength": (0.001, 30),
    "PowerPerLength": (0.1, 12),
    "ReadVoltage": (0.1, 20),
    "ReadCurrent": (0.01, 10),
}
"""What garden lighting is likely to have, as numbers in whatever unit comes up."""


class Place(NamedTuple):
    """A member or an item of a value, and the type that is wanted there."""

    holder: Any
    key: Any
    kind: Type


def drawn(kind: Type, draw: random.Random, *, depth: int = 0) -> Any:
    """A value that fits a type, by likely numbers most of the time."""
    option = draw.choice(options(kind))
    if isinstance(option, StructType):
        return _struct(option, draw, depth)
    if isinstance(option, inspect.ListType):
        most = min(option.max_length or 4, 4 if depth < 5 else 2)
        count = draw.randint(min(option.min_length or 0, most), most)
        return [drawn(option.item_type, draw, depth=depth + 1) for _ in range(count)]
    if isinstance(option, inspect.LiteralType):
        return draw.choice(option.values)
    if isinstance(option, inspect.FloatType | inspect.IntType):
        return number(option, draw)
    if isinstance(option, inspect.StrType):
        return text(option, draw)
    return draw.random() < 0.5


def _struct(struct: StructType, draw: random.Random, depth: int) -> dict[str, Any]:
    value: dict[str, Any] = {struct.tag_field: struct.tag} if struct.tag_field else {}
    for field in struct.fields:
        if not field.required and draw.random() > (0.35 if depth < 4 else 0.12):
            continue
        value[field.encode_name] = drawn(field.type, draw, depth=depth + 1)
    if struct.cls.__name__ in _LIKELY and draw.random() < 0.9:
        lowest, highest = _LIKELY[struct.cls.__name__]
        value["value"] = float(f"{math.exp(draw.uniform(math.log(lowest), math.log(highest))):.3g}")
    return value


def text(kind: inspect.StrType, draw: random.Random) -> str:
    """A text that fits, but for one in thirty."""
    if draw.random() < 0.03:
        return draw.choice(HOSTILE_TEXTS)
    return draw.choice([each for each in _TEXTS if re.search(kind.pattern or "", each)] or _TEXTS)


def number(kind: inspect.FloatType | inspect.IntType, draw: random.Random) -> float:
    """A number that fits."""
    lowest = -100.0 if kind.ge is None else float(kind.ge)
    highest = 100.0 if kind.le is None else float(kind.le)
    if kind.multiple_of:
        steps = math.floor((min(highest, lowest + 12) - lowest) / kind.multiple_of)
        return lowest + kind.multiple_of * draw.randint(0, steps)
    if draw.random() < 0.1:
        return draw.choice((lowest, highest))
    return round(draw.uniform(lowest, min(highest, lowest + 50)), draw.choice((0, 1, 3)))


def edges(kind: Type) -> Iterator[Any]:
    """Numbers at and just beyond the bounds of a type."""
    for option in options(kind):
        if isinstance(option, inspect.FloatType | inspect.IntType):
            for bound in (option.ge, option.le, option.gt, option.lt):
                if bound is not None:
                    yield bound
                    yield math.nextafter(bound, math.inf)
                    yield math.nextafter(bound, -math.inf)
                    # The same in the units that are a thousand times larger or smaller.
                    yield from (bound / 1_000, bound * 1_000)


def extreme(kind: Type, usual: float, draw: random.Random) -> float:
    """A number that fits, from all over the orders of magnitude that do; counts stay as they are."""
    for option in options(kind):
        if isinstance(option, inspect.FloatType) and option.le is not None and not option.multiple_of:
            lowest = float(option.ge or 0)
            smallest = max(abs(lowest), option.le * 1e-12)
            between = math.exp(draw.uniform(math.log(smallest), math.log(option.le)))
            return draw.choice((lowest, float(option.le), min(max(between, lowest), option.le)))
    return usual


def places(kind: Type, value: Any) -> Iterator[Place]:
    """Every place of a value that has the shape which its type wants, with the type of the place."""
    if isinstance(value, list):
        for option in options(kind):
            if isinstance(option, inspect.ListType):
                for index, item in enumerate(value):
                    yield Place(value, index, option.item_type)
                    yield from places(option.item_type, item)
    elif isinstance(value, dict):
        struct = struct_of(kind, value)
        if struct is None:
            return
        for field in struct.fields:
            if field.encode_name in value:
                yield Place(value, field.encode_name, _kind_of(field, struct, value))
                yield from places(field.type, value[field.encode_name])


def _kind_of(field: inspect.Field, struct: StructType, value: dict[str, Any]) -> Type:
    """The type of a member; the bounds of a quantity are those of the unit that stands beside it."""
    unit = value.get("unit")
    if field.encode_name == "value" and isinstance(unit, str):
        bounds = bounds_of(struct.cls).get(unit)
        if bounds is not None:
            return inspect.FloatType(ge=bounds.least, le=bounds.most)
    return field.type


def struct_of(kind: Type, value: dict[str, Any]) -> StructType | None:
    """The struct that an object means to be."""
    structs = [option for option in options(kind) if isinstance(option, StructType)]
    if len(structs) == 1:
        return structs[0]
    return next((one for one in structs if one.tag_field and value.get(one.tag_field) == one.tag), None)
