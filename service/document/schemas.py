"""Component schemas, made from the message structs."""

from collections.abc import Iterable, Mapping
from inspect import cleandoc
from typing import Any, Final

from msgspec import json

from service.document.problem_members import PROBLEM_MEMBERS
from service.intake.names import in_order
from service.messages.cable import Cable, ListedConductor, MeasuredConductor
from service.messages.fixture import Load
from service.messages.quantities import Temperature
from service.messages.supply import Supply
from service.messages.voltage_drop import VoltageDropReply
from service.messages.wiring import Wiring

Schema = dict[str, Any]

REFERENCE: Final = "#/components/schemas/{name}"

# Generators of typed clients name a type after its component, so each choice is a component of its own.
UNIONS: Final[dict[str, tuple[Any, str]]] = {
    "Supply": (Supply, "What feeds the wiring."),
    "Wiring": (Wiring, "All cable and fixtures behind the supply."),
    "Cable": (Cable, "Two conductors in one jacket."),
    "Conductor": (ListedConductor | MeasuredConductor, "One metal path, where the two of a cable differ."),
    "Load": (Load, "How a fixture draws."),
    "Temperature": (Temperature, "A conductor temperature."),
    "VoltageDropReply": (VoltageDropReply, "The answer. A new `status` would be a breaking change."),
}


def reference(name: str) -> Schema:
    """Refer to a component schema."""
    return {"$ref": REFERENCE.format(name=name)}


def reference_to(kind: Any) -> Schema:  # noqa: ANN401  # a struct or a union of structs
    """Refer to the component schema of a struct or of a named union."""
    for name, (union, _) in UNIONS.items():
        if kind == union:
            return reference(name)
    return reference(kind.__name__)


def components(kinds: Iterable[Any]) -> dict[str, Schema]:
    """Write the schemas of messages and of everything in them.

    Parameters
    ----------
    kinds : iterable of type
        Structs and unions of structs. Those that forbid unknown members become closed objects.

    Returns
    -------
    components : dict of str to dict
        JSON Schema 2020-12 by component name, in alphabetical order.
    """
    unions = {name: union for name, (union, _) in UNIONS.items()}
    choices, structs = json.schema_components([*unions.values(), *kinds], ref_template=REFERENCE)
    names = {_choice(schema): name for name, schema in zip(unions, choices, strict=False)}
    found = {name: _plain(schema, names) for name, schema in structs.items()}
    for name, members in PROBLEM_MEMBERS.items():
        for member, more in members.items():
            found[name]["properties"][member].update(more)
    for name, schema in zip(unions, choices, strict=False):
        found[name] = _union(name, schema)
    return dict(sorted(found.items()))


def _choice(schema: Mapping[str, Any]) -> frozenset[str]:
    """Tell one choice between structs from another."""
    return frozenset(schema["discriminator"]["mapping"].values())


def _union(name: str, schema: Mapping[str, Any]) -> Schema:
    # Tags tell the members apart, so exactly one fits: that is `oneOf`, where msgspec writes `anyOf`.
    return {
        "title": name,
        "description": UNIONS[name][1],
        "oneOf": schema["anyOf"],
        "discriminator": schema["discriminator"],
    }


def _plain(schema: Schema, names: Mapping[frozenset[str], str]) -> Schema:
    """Say what msgspec leaves to be guessed, at every depth of a schema."""
    plain = {key: value for key, value in schema.items() if not (key == "required" and not value)}
    if "discriminator" in plain:
        name = names[_choice(plain)]
        return {**_described(plain), **reference(name)}
    if "properties" in plain:
        plain["properties"] = {name: _plain(member, names) for name, member in plain["properties"].items()}
    if "items" in plain:
        plain["items"] = _plain(plain["items"], names)
    if "description" in plain:
        plain["description"] = cleandoc(plain["description"])
    return _counted(_named(plain))


def _described(schema: Mapping[str, Any]) -> Schema:
    return {key: value for key, value in schema.items() if key == "description"}


def _named(schema: Schema) -> Schema:
    """Give names their type, and put them in the order of the tables."""
    if "enum" not in schema:
        return schema
    values = schema.pop("enum")
    schema["type"] = "string" if isinstance(values[0], str) else "integer"
    if len(values) == 1:
        return {**schema, "const": values[0]}
    return {**schema, "enum": in_order(values) if schema["type"] == "string" else values}


def _counted(schema: Schema) -> Schema:
    """Call a number without a fraction an integer: the reader takes `5.0`, as JSON Schema does."""
    if schema.pop("multipleOf", None) == 1:
        schema["type"] = "integer"
    return schema
