"""What a place of a message takes, in words, and the error for a value of another JSON type."""

from collections.abc import Iterator, Sequence
from typing import Final

from msgspec import inspect
from msgspec.inspect import LiteralType, Metadata, StructType, Type, UnionType

from service.intake.words import listed, shown, spoken
from service.problems import ErrorItem
from service.units import DIMENSION_OF

_PLAIN: Final[dict[type[Type], str]] = {
    inspect.StrType: "text",
    inspect.FloatType: "a number",
    inspect.IntType: "a whole number",
    inspect.BoolType: "true or false",
    inspect.NoneType: "null",
    inspect.ListType: "a list",
    inspect.LiteralType: "a name",
    inspect.EnumType: "a name",
    inspect.StructType: "an object",
}

_QUANTITY: Final = {"value", "unit"}


def options(kind: Type) -> tuple[Type, ...]:
    """List the types that a place takes, without their descriptions.

    Parameters
    ----------
    kind : msgspec.inspect.Type
        The declared type.

    Returns
    -------
    options : tuple of msgspec.inspect.Type
        One type, or the members of a union.
    """
    if isinstance(kind, Metadata):
        return options(kind.type)
    if isinstance(kind, UnionType):
        return tuple(option for member in kind.types for option in options(member))
    return (kind,)


def units_of(kind: Type) -> list[str]:
    """List the units of a quantity.

    Parameters
    ----------
    kind : msgspec.inspect.Type
        The declared type.

    Returns
    -------
    units : list of str
        Empty when the type is not a quantity.
    """
    return [unit for option in options(kind) if isinstance(option, StructType) for unit in _units(option)]


def _units(kind: StructType) -> Iterator[str]:
    names = {field.encode_name: field.type for field in kind.fields}
    if names.keys() - {kind.tag_field} != _QUANTITY - {kind.tag_field}:
        return
    unit = names.get("unit")
    units = unit.values if isinstance(unit, LiteralType) else (kind.tag,)
    yield from (str(name) for name in units if name in DIMENSION_OF)


def quantity_form(units: Sequence[str], value: object = 12) -> str:
    """Write a quantity as a request must.

    Parameters
    ----------
    units : sequence of str
        The units that are taken.
    value : object, optional
        The number to show.

    Returns
    -------
    form : str
        The JSON text and the other units.
    """
    ordered = [unit for unit in DIMENSION_OF if unit in units]
    return f'{{"value": {spoken(value)}, "unit": {shown(ordered[0])}}}, in {listed(ordered)}'


def needed(kind: Type) -> str:
    """Say what a place takes.

    Parameters
    ----------
    kind : msgspec.inspect.Type
        The declared type.

    Returns
    -------
    needed : str
        Words with their article.
    """
    units = units_of(kind)
    if units:
        return f"a value with its unit, such as {quantity_form(units)}"
    tagged = [option for option in options(kind) if isinstance(option, StructType) and option.tag is not None]
    if tagged:
        tags = listed([str(option.tag) for option in tagged])
        return f"an object whose {shown(str(tagged[0].tag_field))} is {tags}"
    return listed(list(dict.fromkeys(_PLAIN.get(type(option), "another value") for option in options(kind))))


def wrong_type(value: object, kind: Type, pointer: str) -> ErrorItem:
    """Say that a value has another JSON type than is needed.

    Parameters
    ----------
    value : object
        The value from the request.
    kind : msgspec.inspect.Type
        The declared type.
    pointer : str
        Where the value stands.

    Returns
    -------
    error : ErrorItem
        `null-not-allowed`, `bare-number` or `wrong-type`.
    """
    units = units_of(kind)
    if value is None:
        return ErrorItem("null-not-allowed", pointer, f"null is not taken here. Send {needed(kind)}.")
    if units and isinstance(value, int | float) and not isinstance(value, bool):
        detail = f"The number {spoken(value)} has no unit. Write it as {quantity_form(units, value)}."
        return ErrorItem("bare-number", pointer, detail, [unit for unit in DIMENSION_OF if unit in units])
    return ErrorItem("wrong-type", pointer, f"Send {needed(kind)} here, not {spoken(value)}.")
