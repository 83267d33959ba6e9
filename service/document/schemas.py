"""Component schemas, made from the message structs."""

from collections.abc import Iterable, Mapping, Sequence
from functools import cache
from importlib import import_module
from inspect import cleandoc
from pkgutil import walk_packages
from types import UnionType
from typing import Any, Final, Literal, get_args, get_origin

from msgspec import Struct, json

import service
from service.intake.words import in_order, listed
from service.studies import STUDIES
from service.wire.quantities import UNIT_BOUNDS
from service.wire.reply import Code

Schema = dict[str, Any]


REFERENCE: Final = "#/components/schemas/{name}"


def reference(name: str) -> Schema:
    """Refer to a component schema."""
    return {"$ref": REFERENCE.format(name=name)}


def reference_to(kind: Any) -> Schema:  # noqa: ANN401  # a struct or a union of structs
    """Refer to the component schema of a struct or of a named union."""
    for name, union in unions().items():
        if kind == union:
            return reference(name)
    return reference(kind.__name__)


def components(kinds: Iterable[Any]) -> dict[str, Schema]:
    """Write the schemas of messages and of everything in them.

    Parameters
    ----------
    kinds : iterable of type
        Structs and named unions of structs. Structs that forbid unknown members become closed objects.

    Returns
    -------
    components : dict of str to dict
        JSON Schema 2020-12 by component name, in alphabetical order.

    Raises
    ------
    DocumentError
        A message has a choice between structs to which the room of messages gives no name.
    """
    _, structs = json.schema_components(list(kinds), ref_template=REFERENCE)
    choices = _choices({REFERENCE.format(name=name) for name in structs})
    names = {options_of(schema): name for name, schema in choices.items()}
    listings = listed_names()
    names |= {frozenset(values): name for name, values in listings.items()}
    found = {name: _plain(schema, names) for name, schema in structs.items()}
    found |= {name: choice(name, schema) for name, schema in choices.items()}
    text = json.encode(found).decode()
    found |= {
        name: listing(name, values)
        for name, values in listings.items()
        if f'"{REFERENCE.format(name=name)}"' in text
    }
    for name in PROBLEM_MEMBERS.keys() & found.keys():
        for member, more in PROBLEM_MEMBERS[name].items():
            found[name]["properties"][member].update(more)
    return dict(sorted(found.items()))


def inline(schema: Schema) -> Schema:
    """Write a schema that refers to nothing, such as that of a query parameter, in the same words."""
    return _plain(schema, {})


def _choices(written: set[str]) -> dict[str, Schema]:
    """Write the choices all of whose options are written, as msgspec has them."""
    schemas, _ = json.schema_components(unions().values(), ref_template=REFERENCE)
    found = dict(zip(unions(), schemas, strict=True))
    return {name: schema for name, schema in found.items() if options_of(schema) <= written}


def _plain(schema: Schema, names: Mapping[frozenset[str], str]) -> Schema:
    """Say what msgspec leaves to be guessed, at every depth of a schema."""
    plain = {key: value for key, value in schema.items() if not (key == "required" and not value)}
    if "discriminator" in plain:
        return _chosen(plain, names)
    if "properties" in plain:
        plain["properties"] = {name: _plain(member, names) for name, member in plain["properties"].items()}
        plain |= unit_bounds(plain["properties"])
    if "anyOf" in plain:
        plain = _one_or_several(plain)
    if "items" in plain:
        plain["items"] = _plain(plain["items"], names)
    if "description" in plain:
        plain["description"] = cleandoc(plain["description"])
    if frozenset(map(str, plain.get("enum", ()))) in names:
        return _chosen_value(plain, names)
    return _counted(numbered(_named(plain)))


def _one_or_several(schema: Schema) -> Schema:
    """One name or a list of such names, without a choice: each keyword binds values of its own type."""
    one, several = schema["anyOf"]
    if several.get("items") != one:
        detail = f"No tag decides the choice {schema['anyOf']}: give its options one, or take one of them."
        raise DocumentError(detail)
    said = {key: value for key, value in schema.items() if key != "anyOf"}
    pattern = rf"^(?:{'|'.join(in_order(one['enum']))})(?![\s\S])"
    return {**said, **several, "type": ["string", "array"], "pattern": pattern}


def _chosen_value(schema: Schema, names: Mapping[frozenset[str], str]) -> Schema:
    """Refer to a list of names by its own, keeping what is said of it at this place."""
    beside = {key: value for key, value in schema.items() if key not in ("enum", "type")}
    return {**beside, **reference(names[frozenset(schema["enum"])])}


def _chosen(schema: Schema, names: Mapping[frozenset[str], str]) -> Schema:
    """Refer to a choice by its name, keeping what is said of it at this place."""
    options = options_of(schema)
    if options not in names:
        listed = ", ".join(sorted(option.rpartition("/")[2] for option in options))
        detail = f"The choice between {listed} has no name: give the union one in the module of its messages."
        raise DocumentError(detail)
    described = {"description": schema["description"]} if "description" in schema else {}
    return {**described, **reference(names[options])}


def _named(schema: Schema) -> Schema:
    """Give names their type, and put them in the order of the tables."""
    if "enum" not in schema:
        return schema
    values = schema.pop("enum")
    schema["type"] = "string" if isinstance(values[0], str) else "integer"
    if len(values) == 1:
        return {**schema, "const": values[0]}
    if schema["type"] != "string":
        return {**schema, "enum": values}
    ordered = in_order(values)
    sized = {"x-enum-varnames": [_identifier(value) for value in ordered]} if ordered[0][0].isdigit() else {}
    return {**schema, "enum": ordered, **sized}


def _identifier(value: str) -> str:
    """Name a size for generators of typed clients, which number unnamed values and shift with new ones."""
    number, _, unit = value.partition(" ")
    return f"{unit}_{number.replace('.', '_')}".upper()


def _counted(schema: Schema) -> Schema:
    """Call a number without a fraction an integer: the reader takes `5.0`, as JSON Schema does."""
    if schema.get("multipleOf") != 1:
        return schema
    return {**{key: value for key, value in schema.items() if key != "multipleOf"}, "type": "integer"}


@cache
def unions() -> dict[str, UnionType]:
    """Find the unions of structs that stand in a module of messages under a name of their own.

    Generators of typed clients name a type after its component, so each such choice becomes a component.

    Returns
    -------
    unions : dict of str to UnionType
        By name, in alphabetical order.
    """
    found = {
        name: value
        for module in walk_packages(service.__path__, "service.")
        if _has_messages(module.name)
        for name, value in vars(import_module(module.name)).items()
        if isinstance(value, UnionType) and all(_is_struct(option) for option in get_args(value))
    }
    return dict(sorted(found.items()))


@cache
def _literals() -> dict[str, tuple[str, ...]]:
    """Find the lists of names that stand in a module of messages under a name of their own."""
    found = {
        name: get_args(value)
        for module in walk_packages(service.__path__, "service.")
        if _has_messages(module.name)
        for name, value in vars(import_module(module.name)).items()
        if get_origin(value) is Literal and len(get_args(value)) > 1
    }
    return dict(sorted(found.items()))


def listed_names() -> dict[str, tuple[str, ...]]:
    """Every list of names that has a name, which becomes a component as a choice between structs does."""
    return {**_literals(), "StudyName": tuple(STUDIES)}


def listing(name: str, values: Sequence[str]) -> Schema:
    """Write a list of names as a component."""
    named = _named({"enum": list(values)})
    shown = [f"`{value}`" for value in named["enum"]]
    return {"title": name, "description": f"One of {listed(shown)}.", **named}


def _has_messages(module: str) -> bool:
    """Tell whether a module holds what travels over the wire."""
    return module.startswith("service.wire.") or module.rpartition(".")[2] in {
        "request",
        "reply",
        "catalogues",
        "batch",
    }


def options_of(schema: Mapping[str, Any]) -> frozenset[str]:
    """Tell one choice from another, by the references to what can be chosen."""
    return frozenset(schema["discriminator"]["mapping"].values())


def choice(name: str, schema: Mapping[str, Any]) -> dict[str, Any]:
    """Write a choice as a component.

    Tags tell the options apart, so exactly one fits: that is `oneOf`, where msgspec writes `anyOf`.
    """
    tag, mapping = schema["discriminator"]["propertyName"], schema["discriminator"]["mapping"]
    return {
        "title": name,
        "description": f"One of {len(mapping)}, told apart by `{tag}`: {listed(list(mapping))}.",
        "oneOf": schema["anyOf"],
        "discriminator": schema["discriminator"],
    }


def _is_struct(option: object) -> bool:
    return isinstance(option, type) and issubclass(option, Struct)


BoundsSchema = dict[str, Any]


_ENDS: Final = ("minimum", "maximum")


def numbered(schema: BoundsSchema) -> BoundsSchema:
    """Write bounds that are whole numbers without a point, as people do."""
    return {key: _written(value) if key in _ENDS else value for key, value in schema.items()}


def unit_bounds(properties: Mapping[str, BoundsSchema]) -> BoundsSchema:
    """Take the bounds by unit out of the `value` of a quantity, and say them of the quantity.

    Parameters
    ----------
    properties : dict of str to dict
        Schemas of the members of any object; those of a quantity lose what only this function reads.

    Returns
    -------
    rules : dict
        `if` the unit is this one, `then` these bounds, `else` the same for the next unit; units with the
        loosest bounds are left out, since `value` itself keeps those for readers that know no `if`.

    Notes
    -----
    Generators of typed clients pass over `if`, so that a quantity stays one plain type. From `oneOf` they
    make a type for each unit, and from `allOf` an intersection with a nameless type for each.
    """
    value = properties.get("value", {})
    rules: BoundsSchema = {}
    for unit, bounds in reversed(value.pop(UNIT_BOUNDS, {}).items()):
        tighter = {
            end: _written(bound) for end, bound in zip(_ENDS, bounds, strict=True) if bound != value[end]
        }
        if tighter:
            rules = {**_rule(unit, tighter), **({"else": rules} if rules else {})}
    return rules


def _rule(unit: str, bounds: BoundsSchema) -> BoundsSchema:
    # Without `required` the first rule would hold where the unit is missing.
    named = {"properties": {"unit": {"const": unit}}, "required": ["unit"]}
    return {"if": named, "then": {"properties": {"value": bounds}}}


def _written(bound: float) -> float:
    return int(bound) if float(bound).is_integer() else bound


_PATTERN: Final[str] = json.schema(Code)["pattern"]


_CODE: Final = {
    "pattern": _PATTERN,
    "description": "A stable code. New ones may appear; treat an unknown one by its status.",
}


_ERROR_CODE: Final = {"pattern": _PATTERN, "description": "A stable code. New ones may appear."}


REQUEST_ID_PATTERN: Final = "^[A-Za-z0-9._-]{1,64}$"


PROBLEM_MEMBERS: Final[dict[str, dict[str, dict[str, Any]]]] = {
    "Problem": {
        "type": {
            "format": "uri-reference",
            "description": "A path, relative to the address of the service: one for each kind of problem.",
        },
        "title": {"description": "Never changes for a type."},
        "status": {"minimum": 400, "maximum": 599, "description": "The HTTP status, repeated."},
        "detail": {"description": "What is wrong with this request and what to do. The words may change."},
        "code": _CODE,
        "request_id": {
            "pattern": REQUEST_ID_PATTERN,
            "description": "Equals the X-Request-ID header; quote it when you ask the operator.",
        },
        "errors": {"description": "Every place to change, in the order of the request."},
    },
    "ErrorItem": {
        "code": _ERROR_CODE,
        "pointer": {
            "description": "JSON Pointer (RFC 6901) into the request; empty for the whole of it. `?watts` is"
            " a query parameter, `?watts/1` the second item of its list."
        },
        "detail": {"description": "What is wrong at this place and what to do. The words may change."},
        "allowed": {"description": "Names, or the bounds of a range as texts."},
    },
}
"""More keywords by component and member."""


class DocumentError(Exception):
    """The application and what is said about it do not agree, or an example is not to be had."""
