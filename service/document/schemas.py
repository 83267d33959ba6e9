"""Component schemas, made from the message structs."""

from collections.abc import Iterable, Mapping
from inspect import cleandoc
from typing import Any, Final

from msgspec import json

from service.document.choices import choice, options_of, unions
from service.document.errors import DocumentError
from service.document.problem_members import PROBLEM_MEMBERS
from service.document.unit_bounds import numbered, unit_bounds
from service.intake.names import in_order

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
    found = {name: _plain(schema, names) for name, schema in structs.items()}
    found |= {name: choice(name, schema) for name, schema in choices.items()}
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
    if "items" in plain:
        plain["items"] = _plain(plain["items"], names)
    if "description" in plain:
        plain["description"] = cleandoc(plain["description"])
    return _counted(numbered(_named(plain)))


def _chosen(schema: Schema, names: Mapping[frozenset[str], str]) -> Schema:
    """Refer to a choice by its name, keeping what is said of it at this place."""
    options = options_of(schema)
    if options not in names:
        listed = ", ".join(sorted(option.rpartition("/")[2] for option in options))
        detail = f"The choice between {listed} has no name: give the union one in the module of its messages."
        raise DocumentError(detail)
    said = {"description": schema["description"]} if "description" in schema else {}
    return {**said, **reference(names[options])}


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
