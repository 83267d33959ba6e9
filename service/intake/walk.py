"""Every place where a value from JSON does not fit a message, in document order.

msgspec stops at the first error, so this runs over a body that it refused. Where the two differ msgspec
decides, and a test compares them on random values.
"""

import re
from collections.abc import Callable, Iterator
from functools import cache, reduce
from operator import or_
from types import GenericAlias
from typing import Any, Final

from msgspec import ValidationError, convert, inspect
from msgspec.inspect import Field, FloatType, ListType, StructType, Type, UnionType
from msgspec.structs import replace

from service.intake import scalars
from service.intake.capped import MOST_ERRORS
from service.intake.mains import say_mains
from service.intake.nearest import nearest_name
from service.intake.needed import needed, options, wrong_type
from service.intake.pointer import child
from service.intake.words import kind_of, listed, shown
from service.messages.bounds import bounds_of
from service.problems import ErrorItem

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
        yield from scalars.choice_faults(tag, tags, child(pointer, tag_field))


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
        yield from scalars.choice_faults(member, (kind.tag,), child(pointer, name))
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


_CHECKS: Final[dict[type[Type], Callable[[object, Any, str], Iterator[ErrorItem]]]] = {
    inspect.StructType: _struct_faults,
    inspect.ListType: _list_faults,
    inspect.StrType: scalars.text_faults,
    inspect.FloatType: scalars.number_faults,
    inspect.IntType: scalars.integer_faults,
    inspect.BoolType: scalars.boolean_faults,
    inspect.NoneType: scalars.null_faults,
    inspect.LiteralType: scalars.literal_faults,
    inspect.EnumType: scalars.enum_faults,
}
