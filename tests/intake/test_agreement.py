"""The walker is silent exactly when msgspec is; a repeat is found exactly when Python's parser sees one."""

import copy
import json
import math
import re
from datetime import datetime
from typing import Any, Final

import msgspec
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from msgspec import inspect

from service import intake
from service.intake.json_text import comes_back_as_sent, may_repeat
from service.intake.walk import faults
from service.intake.words import options
from service.problems import ERROR_KINDS, Refused
from service.studies.voltage_drop.request import VoltageDropRequest
from service.wire.wiring import Wiring
from tests.intake.samples import Defaulted, Lamp, Lone, Open, Path, Pump, Stake

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
SINGLE: Final = st.one_of(st.none(), st.booleans(), NUMBERS, TEXTS)
JSON: Final = st.recursive(
    SINGLE,
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
        holder[draw(TEXTS)] = draw(SINGLE)
    elif slip == "add" and holder is not whole:
        holder.extend([holder[place]] * 4)
    elif slip == "nudge" and isinstance(holder[place], str | float | int):
        holder[place] = draw(TEXTS if isinstance(holder[place], str) else NUMBERS)
    else:
        holder[place] = draw(JSON)


repeatable = settings(derandomize=True, database=None, deadline=None, max_examples=400)
fewer = settings(repeatable, max_examples=150)


def refused_by_msgspec(body: bytes, kind: type) -> bool:
    try:
        msgspec.json.decode(body, type=kind)
    except msgspec.DecodeError:
        return True
    return False


def refusal_of(body: bytes, kind: type) -> Refused | None:
    try:
        intake.decode(body, kind)
    except Refused as refused:
        return refused
    return None


def agree(value: object, kind: type) -> None:
    body = json.dumps(value, ensure_ascii=False).encode()
    found = list(faults(value, inspect.type_info(kind), ""))
    assert bool(found) == refused_by_msgspec(body, kind), found
    assert {error.code for error in found} <= set(ERROR_KINDS)
    for error in found:
        assert points_into(value, error.pointer, missing=error.code == "missing-member")


def points_into(value: Any, pointer: str, *, missing: bool) -> bool:
    """Resolve a pointer as RFC 6901, section 4 says; the last step to a missing member leads nowhere."""
    steps = [step.replace("~1", "/").replace("~0", "~") for step in pointer.split("/")[1:]]
    for number, step in enumerate(steps, start=1):
        if missing and number == len(steps):
            return step not in value
        value = value[int(step)] if isinstance(value, list) else value[step]
    return True


@pytest.mark.parametrize("kind", [Path, Stake, Lone])
@repeatable
@given(draw=st.data())
def test_walker_agrees_with_msgspec(kind: type, draw: st.DataObject) -> None:
    agree(draw.draw(near(inspect.type_info(kind)) | JSON), kind)


@fewer
@given(near(inspect.type_info(VoltageDropRequest)))
def test_walker_agrees_with_msgspec_about_a_request_of_the_contract(value: object) -> None:
    agree(value, VoltageDropRequest)


@repeatable
@given(st.binary(max_size=60) | JSON.map(lambda value: json.dumps(value).encode()))
@example(b'{"a":"\xff"}')
def test_any_bytes_are_a_message_or_a_refusal(body: bytes) -> None:
    refused = refusal_of(body, Path)
    if refused is not None:
        assert refused.status == 400
        assert msgspec.json.encode([refused.detail, refused.errors])


KEYS = st.sampled_from(["name", "na\\u006de", "a", ":", "\\u003a", 'q\\"', "\\\\u003a", "{", "é"])
SCALARS = st.sampled_from(
    ["1", "-0", '"x:y"', '"\\u003a"', '"\\\\u003a:"', "null", '"{\\"a\\": 1}"', "1e5", "1" * 30]
)


def texts_of_objects(inner: st.SearchStrategy[str]) -> st.SearchStrategy[str]:
    members = st.lists(st.tuples(KEYS, inner), max_size=4)
    return members.map(
        lambda pairs: "{" + ", ".join(f'"{key}" : {value}' for key, value in pairs) + "}"
    ) | st.lists(inner, max_size=3).map(lambda items: "[" + ",".join(items) + "]")


def repeats(text: str) -> bool:
    found = []

    def look(pairs: list[tuple[str, object]]) -> dict[str, object]:
        found.append(len(dict(pairs)) != len(pairs))
        return dict(pairs)

    json.loads(text, object_pairs_hook=look)
    return any(found)


@repeatable
@given(st.recursive(SCALARS, texts_of_objects, max_leaves=12))
def test_count_of_colons_never_misses_a_repeat(text: str) -> None:
    body = text.encode()
    if not may_repeat(body, msgspec.json.decode(body)):
        assert not repeats(text)
    elif "\\u" not in text and "1" * 30 not in text:
        assert repeats(text)


@repeatable
@given(st.recursive(SCALARS, texts_of_objects, max_leaves=12))
def test_a_body_is_refused_exactly_when_it_repeats_a_member(text: str) -> None:
    refused = refusal_of(text.encode(), object)
    assert (refused is not None) is repeats(text)
    assert refused is None or refused.code == "duplicate-member"


@pytest.mark.parametrize("kind", [Defaulted, Open, Lone, dict[str, int], datetime])
def test_message_that_may_be_written_otherwise_than_it_was_read_is_not_counted(kind: Any) -> None:
    assert not comes_back_as_sent(inspect.type_info(kind))


@pytest.mark.parametrize("kind", [Path, Stake, Lamp | Pump, Wiring])
def test_message_that_is_written_as_it_was_read_is_counted_directly(kind: Any) -> None:
    assert comes_back_as_sent(inspect.type_info(kind))


@pytest.mark.parametrize("kind", [Defaulted, Open])
def test_a_default_does_not_hide_a_repeat(kind: type) -> None:
    with pytest.raises(Refused, match="more than one member"):
        intake.decode(b'{"name": "a", "name": "b"}', kind)
