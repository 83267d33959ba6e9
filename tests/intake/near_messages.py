"""Values that fit a message, and values with one or two slips in them, for tests on random requests."""

import copy
import math
import re
from typing import Any, Final

from hypothesis import strategies as st
from msgspec import inspect

from service.intake.words import options

TEXTS: Final = st.one_of(
    st.sampled_from(
        ["m", "ft", "V", "A", "degC", "lamp", "12 AWG", "brass", "12", "none", "x" * 65, "a\n", ""]
    ),
    st.text(st.characters(exclude_categories=["Cs"]), max_size=5),
)
NUMBERS: Final = st.one_of(
    st.integers(-3, 30),
    st.sampled_from([0.5, 1.0, -40.0, 194, 1e308, 5e-324, -5e-324, 100_000, 100_001, 2**63, -(2**70)]),
)
SCALARS: Final = st.one_of(st.none(), st.booleans(), NUMBERS, TEXTS)
JSON: Final = st.recursive(
    SCALARS,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(TEXTS, inner, max_size=4),
    max_leaves=8,
)

_NUMBERS: Final = (0, 1, 1.0, 2, 12, 0.5, 20, 24, 5e-324, 60.0, 120)
_TEXTS: Final = ("a", "1.50", "lamp: 1", "x" * 64, "Gartentür")


def sound(kind: inspect.Type) -> st.SearchStrategy[Any]:
    """Values that fit a type."""
    return st.one_of([_sound(option) for option in options(kind)])


def _sound(kind: inspect.Type) -> st.SearchStrategy[Any]:
    if isinstance(kind, inspect.StructType):
        return _struct(kind)
    if isinstance(kind, inspect.ListType):
        return st.lists(sound(kind.item_type), min_size=kind.min_length or 0, max_size=2)
    if isinstance(kind, inspect.FloatType | inspect.IntType):
        return st.sampled_from(_fitting_numbers(kind))
    if isinstance(kind, inspect.StrType):
        return st.sampled_from([text for text in _TEXTS if re.search(kind.pattern or "", text)])
    return st.sampled_from(_choices(kind))


def _choices(kind: inspect.Type) -> list[Any]:
    if isinstance(kind, inspect.LiteralType):
        return list(kind.values)
    if isinstance(kind, inspect.EnumType):
        return [member.value for member in kind.cls]
    return [True, False] if isinstance(kind, inspect.BoolType) else [None]


def _fitting_numbers(kind: inspect.FloatType | inspect.IntType) -> list[float]:
    lowest = -math.inf if kind.ge is None else kind.ge
    highest = math.inf if kind.le is None else kind.le
    return [
        number
        for number in (*_NUMBERS, lowest, highest)
        if math.isfinite(number)
        and lowest <= number <= highest
        and (kind.gt is None or number > kind.gt)
        and (kind.lt is None or number < kind.lt)
        and (kind.multiple_of is None or number % kind.multiple_of == 0)
        and (isinstance(kind, inspect.FloatType) or isinstance(number, int))
    ]


def _struct(kind: inspect.StructType) -> st.SearchStrategy[dict[str, Any]]:
    required = {field.encode_name: sound(field.type) for field in kind.fields if field.required}
    optional = {field.encode_name: sound(field.type) for field in kind.fields if not field.required}
    if kind.tag_field is not None:
        required[kind.tag_field] = st.just(kind.tag)
    return st.fixed_dictionaries(required, optional=optional)


@st.composite
def near(draw: st.DrawFn, kind: inspect.Type) -> Any:
    """Values that fit a type but for two slips at most."""
    whole = [copy.deepcopy(draw(sound(kind)))]
    for _ in range(draw(st.sampled_from([0, 1, 1, 2]))):
        _slip(draw, whole)
    return whole[0]


def _slip(draw: st.DrawFn, whole: list[Any]) -> None:
    """Change one place, found by walking down a random path."""
    holder: Any = whole
    place: Any = 0
    while isinstance(holder[place], dict | list) and holder[place] and draw(st.integers(0, 5)):
        holder = holder[place]
        place = draw(st.sampled_from(sorted(holder) if isinstance(holder, dict) else range(len(holder))))
    slip = draw(st.sampled_from(["replace", "nudge", "nudge", "drop", "add"]))
    if slip == "drop" and holder is not whole:
        del holder[place]
    elif slip == "add" and isinstance(holder, dict):
        holder[draw(TEXTS)] = draw(SCALARS)
    elif slip == "add" and holder is not whole:
        holder.extend([holder[place]] * 4)
    elif slip == "nudge" and isinstance(holder[place], str | float | int):
        holder[place] = draw(TEXTS if isinstance(holder[place], str) else NUMBERS)
    else:
        holder[place] = draw(JSON)
