"""Every place where a value from JSON does not fit a message, in document order.

msgspec stops at the first error, so this runs over a body that it refused. Where the two differ msgspec
decides, and a test compares them on random values.
"""

import math
import re
from collections.abc import Callable, Iterator
from functools import cache, reduce
from operator import or_
from types import GenericAlias
from typing import Any, Final

from msgspec import ValidationError, convert, inspect
from msgspec.inspect import (
    BoolType,
    EnumType,
    Field,
    FloatType,
    IntType,
    ListType,
    LiteralType,
    NoneType,
    StrType,
    StructType,
    Type,
    UnionType,
)
from msgspec.structs import replace

from service.intake.pointer import MOST_ERRORS, child
from service.intake.words import (
    in_order,
    kind_of,
    listed,
    name_faults,
    nearest_name,
    needed,
    options,
    same_name,
    shown,
    spoken,
    wrong_type,
)
from service.problems import CATALOGUE, ErrorItem
from service.units import DIMENSIONS, inside
from service.wire.quantities import ID_PATTERN, LINE_PATTERN, NAME_PATTERN, TITLE_PATTERN, bounds_of
from service.wire.supply import NOT_COMPUTABLE

SUPPLY_NOT_COMPUTABLE: Final = "supply-not-computable"
"""The problem, and the error at the kind: no other change of the request helps."""


_ITEM: Final = re.compile(r" - at `\$\[(\d+)\]")


_JSON_KINDS: Final[dict[type[Type], str]] = {
    inspect.StructType: "object",
    inspect.ListType: "array",
    inspect.StrType: "string",
    inspect.FloatType: "number",
    inspect.IntType: "number",
    inspect.BoolType: "boolean",
    inspect.NoneType: "null",
}


def faults(value: object, kind: Type, pointer: str) -> Iterator[ErrorItem]:
    """List every place where a value does not fit a type.

    Parameters
    ----------
    value : object
        The value as JSON gives it.
    kind : msgspec.inspect.Type
        The declared type.
    pointer : str
        Where the value stands.

    Yields
    ------
    error : ErrorItem
        In document order; the missing members of an object come after those that are there.
    """
    declared = options(kind)
    option = declared[0]
    if len(declared) > 1:
        yield from _union_faults(value, declared, pointer)
    elif type(option) in _CHECKS:
        yield from _CHECKS[type(option)](value, option, pointer)


def _union_faults(value: object, declared: tuple[Type, ...], pointer: str) -> Iterator[ErrorItem]:
    structs = [option for option in declared if isinstance(option, StructType)]
    if isinstance(value, dict) and len(structs) > 1:
        yield from _tagged_faults(value, structs, pointer)
        return
    taking = [option for option in declared if _takes(option, value)]
    if not taking:
        yield wrong_type(value, UnionType(declared), pointer)
    elif all(next(faults(value, option, pointer), None) for option in taking):
        yield from faults(value, taking[0], pointer)


def _takes(option: Type, value: object) -> bool:
    """Tell whether a type takes the JSON kind of a value at all."""
    if isinstance(option, inspect.LiteralType):
        return any(kind_of(choice) == kind_of(value) for choice in option.values)
    if isinstance(option, inspect.EnumType):
        return any(kind_of(member.value) == kind_of(value) for member in option.cls)
    return _JSON_KINDS.get(type(option), kind_of(value)) == kind_of(value)


def _tagged_faults(
    members: dict[str, object], structs: list[StructType], pointer: str
) -> Iterator[ErrorItem]:
    tag_field = str(structs[0].tag_field)
    tags = tuple(struct.tag for struct in structs)
    tag = members.get(tag_field)
    if tag_field not in members:
        yield _missing_tag(tag_field, tags, pointer)
    elif isinstance(tag, str | int) and tag in tags:
        yield from _struct_faults(members, structs[tags.index(tag)], pointer)
    else:
        # Which members belong here hangs on the tag, so nothing is said about them.
        yield from _tag_faults(tag, tags, child(pointer, tag_field))


def _tag_faults(tag: object, tags: tuple[Any, ...], pointer: str) -> Iterator[ErrorItem]:
    """Check a kind; another kind is other physics, so only another spelling of the same is guessed."""
    if "transformer" in tags and isinstance(tag, str) and same_name(tag, NOT_COMPUTABLE):
        refused = CATALOGUE[SUPPLY_NOT_COMPUTABLE]
        detail = f"{refused.title}. {refused.meaning} {refused.remedy}"
        yield ErrorItem(SUPPLY_NOT_COMPUTABLE, pointer, detail, in_order([str(choice) for choice in tags]))
    elif tag not in tags:
        yield from name_faults(tag, [str(choice) for choice in tags], pointer, same_name)


def _missing_tag(tag_field: str, tags: tuple[object, ...], pointer: str) -> ErrorItem:
    allowed = [str(tag) for tag in tags]
    detail = f"{shown(tag_field)} is missing. Send it as {listed(allowed)}."
    return ErrorItem("missing-member", child(pointer, tag_field), detail, allowed)


def _struct_faults(value: object, kind: StructType, pointer: str) -> Iterator[ErrorItem]:
    if not isinstance(value, dict):
        yield wrong_type(value, kind, pointer)
        return
    fields = _fields(kind, value)
    for name, member in value.items():
        yield from _member_faults(name, member, kind, fields, pointer)
    for name, field in fields.items():
        if field.required and name not in value:
            detail = f"{shown(name)} is missing. Send {needed(field.type)}."
            yield ErrorItem("missing-member", child(pointer, name), detail)


def _fields(kind: StructType, members: dict[str, object]) -> dict[str, Field]:
    """Give the members of a struct; the bounds of a quantity are those of the unit that stands beside it."""
    fields = {field.encode_name: field for field in kind.fields}
    unit = members.get("unit")
    bounds = bounds_of(kind.cls).get(unit) if isinstance(unit, str) else None
    if bounds is not None:
        fields["value"] = replace(fields["value"], type=FloatType(ge=bounds.least, le=bounds.most))
    return fields


def _member_faults(
    name: str, member: object, kind: StructType, fields: dict[str, Field], pointer: str
) -> Iterator[ErrorItem]:
    field = fields.get(name)
    if field is not None:
        yield from _field_faults(member, field, child(pointer, name))
    elif name == kind.tag_field:
        yield from _tag_faults(member, (kind.tag,), child(pointer, name))
    elif kind.forbid_unknown_fields:
        yield _unknown_member(name, [*filter(None, [kind.tag_field]), *fields], pointer)


def _field_faults(member: object, field: Field, pointer: str) -> Iterator[ErrorItem]:
    if member is None and not field.required and not any(_takes(o, None) for o in options(field.type)):
        detail = f"null is not taken here. Leave {shown(field.encode_name)} out instead."
        yield ErrorItem("null-not-allowed", pointer, detail)
    else:
        found = faults(member, field.type, pointer)
        yield from (
            (say_mains(error, member) for error in found) if field.encode_name == "secondary" else found
        )


def _unknown_member(name: str, known: list[str], pointer: str) -> ErrorItem:
    meant = nearest_name(name, known)
    asked = f" Did you mean {shown(meant)}?" if meant else f" The members are {listed(known, 'and')}."
    detail = f"{shown(name)} is not a member of this object.{asked}"
    return ErrorItem("unknown-member", child(pointer, name), detail, known)


def _list_faults(value: object, kind: ListType, pointer: str) -> Iterator[ErrorItem]:
    if not isinstance(value, list):
        yield wrong_type(value, kind, pointer)
        return
    if kind.min_length is not None and len(value) < kind.min_length:
        detail = f"The list has {len(value)} items. Send {kind.min_length} or more."
        yield ErrorItem("too-few", pointer, detail, [f">= {kind.min_length}"])
    if kind.max_length is not None and len(value) > kind.max_length:
        detail = f"The list has {len(value)} items. Send {kind.max_length} or fewer."
        yield ErrorItem("too-many", pointer, detail, [f"<= {kind.max_length}"])
    # Of what is too many no more is looked at than can be listed.
    looked_at = value if kind.max_length is None else value[: kind.max_length + MOST_ERRORS]
    for index in _unfit(looked_at, kind.item_type):
        yield from faults(looked_at[index], kind.item_type, child(pointer, index))


def _unfit(items: list[object], kind: Type) -> Iterator[int]:
    """Give the items that may not fit; msgspec passes over the others many times faster than this walk."""
    structs = [option.cls for option in options(kind) if isinstance(option, StructType)]
    start = 0
    while structs and len(structs) == len(options(kind)) and start < len(items):
        try:
            convert(items[start:], _list_of(tuple(structs)))
        except ValidationError as error:
            found = _ITEM.search(str(error))
            if found is None:
                break
            yield start + int(found[1])
            start += int(found[1]) + 1
        else:
            return
    yield from range(start, len(items))


@cache
def _list_of(structs: tuple[type, ...]) -> GenericAlias:
    return GenericAlias(list, (reduce(or_, structs),))


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


_CHECKS: Final[dict[type[Type], Callable[[object, Any, str], Iterator[ErrorItem]]]] = {
    inspect.StructType: _struct_faults,
    inspect.ListType: _list_faults,
    inspect.StrType: text_faults,
    inspect.FloatType: number_faults,
    inspect.IntType: integer_faults,
    inspect.BoolType: boolean_faults,
    inspect.NoneType: null_faults,
    inspect.LiteralType: literal_faults,
    inspect.EnumType: enum_faults,
}


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


_MAINS_V: Final = (90.0, 480.0)


def say_mains(error: ErrorItem, secondary: object) -> ErrorItem:
    """Say that a secondary out of bounds looks like the mains.

    Parameters
    ----------
    error : ErrorItem
        An error found in the secondary voltage.
    secondary : object
        The secondary as the request has it.

    Returns
    -------
    error : ErrorItem
        `secondary-is-mains` when the voltage lies between 90 V and 480 V, else the error itself.
    """
    if error.code != "out-of-range" or not isinstance(secondary, dict):
        return error
    # An error about bounds is about a number, so `value` is one; `unit` may be anything.
    value, unit = float(secondary["value"]), secondary.get("unit")
    if unit not in DIMENSIONS["voltage"] or not _MAINS_V[0] <= inside(value, unit) <= _MAINS_V[1]:
        return error
    detail = (
        f"{value:.12g} {unit} is a mains voltage. Send the low voltage that the transformer gives at rated "
        "load; the mains belong in primary. Leave work on the mains side to a licensed electrician."
    )
    return ErrorItem("secondary-is-mains", error.pointer, detail, error.allowed)
