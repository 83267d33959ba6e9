"""Checks of numbers, texts, true and false."""

import math
import re
from collections.abc import Iterator
from typing import Any, Final

from msgspec.inspect import BoolType, EnumType, FloatType, IntType, LiteralType, NoneType, StrType

from service.intake.names import name_faults
from service.intake.needed import wrong_type
from service.intake.words import listed, shown, spoken
from service.messages.patterns import ID_PATTERN, LINE_PATTERN, NAME_PATTERN, TITLE_PATTERN
from service.problems import ErrorItem

_SHOWN_TEXT: Final = "Control characters, line breaks and changes of text direction are not taken here."

_PATTERN_WORDS: Final = {
    ID_PATTERN: "Only printable ASCII characters are taken here: space to tilde.",
    NAME_PATTERN: _SHOWN_TEXT,
    TITLE_PATTERN: _SHOWN_TEXT,
    LINE_PATTERN: _SHOWN_TEXT,
}


def _is_number(text: object) -> bool:
    try:
        return isinstance(text, str) and math.isfinite(float(text))
    except ValueError:
        return False


def _not_a_number(value: object, kind: FloatType | IntType, pointer: str) -> ErrorItem:
    if isinstance(value, str) and _is_number(value):
        detail = f"{shown(value)} in quotation marks is text. Send the number without them."
        return ErrorItem("wrong-type", pointer, detail)
    return wrong_type(value, kind, pointer)


def number_faults(value: object, kind: FloatType, pointer: str) -> Iterator[ErrorItem]:
    """Check a number."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        yield _not_a_number(value, kind, pointer)
    else:
        yield from _bound_faults(value, kind, pointer)


def integer_faults(value: object, kind: IntType, pointer: str) -> Iterator[ErrorItem]:
    """Check a whole number."""
    if isinstance(value, bool) or not isinstance(value, int):
        yield _not_a_number(value, kind, pointer)
    else:
        yield from _bound_faults(value, kind, pointer)


def _bound_faults(value: float, kind: FloatType | IntType, pointer: str) -> Iterator[ErrorItem]:
    bounds = (
        (kind.ge, ">=", kind.ge is None or value >= kind.ge),
        (kind.gt, ">", kind.gt is None or value > kind.gt),
        (kind.le, "<=", kind.le is None or value <= kind.le),
        (kind.lt, "<", kind.lt is None or value < kind.lt),
    )
    allowed = [f"{sign} {_written(bound)}" for bound, sign, _ in bounds if bound is not None]
    if not all(kept for _, _, kept in bounds):
        detail = f"{spoken(value)} is outside the bounds. Send a number {listed(allowed, 'and')}."
        yield ErrorItem("out-of-range", pointer, detail, allowed)
    if kind.multiple_of is not None and math.fmod(value, kind.multiple_of) != 0:
        yield _not_a_multiple(value, kind.multiple_of, pointer)


def _written(bound: float) -> str:
    """Write a bound so that the number written is the bound: one that was rounded up would be refused."""
    short = f"{bound:.12g}"
    return short if float(short) == bound else repr(bound)


def _not_a_multiple(value: float, step: float, pointer: str) -> ErrorItem:
    needed = "whole number" if step == 1 else f"multiple of {step:.12g}"
    detail = f"{spoken(value)} is not a {needed}. Send one."
    return ErrorItem("not-a-multiple", pointer, detail, [f"multiple of {step:.12g}"])


def text_faults(value: object, kind: StrType, pointer: str) -> Iterator[ErrorItem]:
    """Check a text: its length, then its characters."""
    if not isinstance(value, str):
        yield wrong_type(value, kind, pointer)
    elif kind.min_length is not None and len(value) < kind.min_length:
        detail = f"The text has {len(value)} characters. Send {kind.min_length} or more."
        yield ErrorItem("too-short", pointer, detail, [f">= {kind.min_length}"])
    elif kind.max_length is not None and len(value) > kind.max_length:
        detail = f"The text has {len(value)} characters. Send {kind.max_length} or fewer."
        yield ErrorItem("too-long", pointer, detail, [f"<= {kind.max_length}"])
    elif kind.pattern is not None and not re.search(kind.pattern, value):
        words = _PATTERN_WORDS.get(kind.pattern, "Send a text that matches the pattern in `allowed`.")
        yield ErrorItem(
            "pattern-mismatch", pointer, f"{shown(value)} has another form. {words}", [kind.pattern]
        )


def boolean_faults(value: object, kind: BoolType, pointer: str) -> Iterator[ErrorItem]:
    """Check true or false."""
    if not isinstance(value, bool):
        yield wrong_type(value, kind, pointer)


def null_faults(value: object, kind: NoneType, pointer: str) -> Iterator[ErrorItem]:
    """Check null."""
    if value is not None:
        yield wrong_type(value, kind, pointer)


def literal_faults(value: object, kind: LiteralType, pointer: str) -> Iterator[ErrorItem]:
    """Check one of a list of names."""
    yield from choice_faults(value, kind.values, pointer)


def enum_faults(value: object, kind: EnumType, pointer: str) -> Iterator[ErrorItem]:
    """Check one of the values of an enumeration."""
    yield from choice_faults(value, tuple(member.value for member in kind.cls), pointer)


def choice_faults(value: object, choices: tuple[Any, ...], pointer: str) -> Iterator[ErrorItem]:
    """Check one of several values, which are mostly names."""
    names = [choice for choice in choices if isinstance(choice, str)]
    # True equals 1 in Python but not in JSON, so the type is compared too.
    if any(type(value) is type(choice) and value == choice for choice in choices):
        return
    if names and len(names) == len(choices):
        yield from name_faults(value, names, pointer)
    else:
        allowed = [spoken(choice).removeprefix("the text ") for choice in choices]
        yield ErrorItem("unknown-name", pointer, f"{spoken(value)} is not one of {listed(allowed)}.", allowed)
