"""Bounds of a quantity that hang on its unit, written as a chain: `if` this unit `then` these bounds `else` …

The gate understands this one use of `if`. Any other stays a keyword whose change it cannot judge.
"""

from collections.abc import Iterator
from typing import Any, Final

from tests.gate.keywords import Misfit, Schema, misfits, values

CHAIN: Final = ("if", "then", "else")
BOUNDS: Final = ("minimum", "maximum")


def rules(schema: Schema) -> dict[str, Schema] | None:
    """The bounds of each unit that a chain names; None where it is another use of `if`."""
    found: dict[str, Schema] = {}
    rest = {key: schema[key] for key in CHAIN if key in schema}
    while rest:
        unit = _at(rest, "if", "properties", "unit", "const")
        bounds = _at(rest, "then", "properties", "value")
        rest, is_rule = rest.get("else", {}), rest == {**_rule(unit, bounds), **_only(rest, "else")}
        if not is_rule or not isinstance(unit, str) or unit in found or not set(bounds) <= set(BOUNDS):
            return None
        found[unit] = bounds
    return found


def _at(schema: Any, *names: str) -> Any:
    """What stands under these names; nothing where an object on the way is missing or is none."""
    for name in names:
        schema = schema.get(name, {}) if isinstance(schema, dict) else {}
    return schema


def _only(schema: Schema, name: str) -> Schema:
    return {name: schema[name]} if name in schema else {}


def _rule(unit: Any, bounds: Schema) -> Schema:
    named = {"properties": {"unit": {"const": unit}}, "required": ["unit"]}
    return {"if": named, "then": {"properties": {"value": bounds}}}


def is_quantity(schema: Schema) -> bool:
    """Whether it is a value with its unit, one of a list, whose bounds can be told for each unit."""
    return (
        schema.get("properties", {}).keys() == {"value", "unit"}
        and values(schema["properties"]["unit"]) is not None
        and rules(schema) is not None
    )


def without_chain(schema: Schema) -> Schema:
    return {key: value for key, value in schema.items() if key not in CHAIN}


def without_bounds(schema: Schema) -> Schema:
    return {key: value for key, value in schema.items() if key not in BOUNDS}


def bounds_in(schema: Schema, unit: str) -> Schema:
    """What holds a number that is given in this unit."""
    value = schema["properties"]["value"]
    own = {end: value[end] for end in BOUNDS if end in value}
    for end, bound in (rules(schema) or {}).get(unit, {}).items():
        own[end] = (max if end == "minimum" else min)(bound, own.get(end, bound))
    return own


def bound_misfits(sent: Schema, taken: Schema) -> Iterator[tuple[str, Misfit]]:
    """Find each unit in which a number may be sent that is not taken.

    A unit that is not taken at all is found where the units are compared.
    """
    offered, allowed = (values(schema["properties"]["unit"]) or [] for schema in (sent, taken))
    for unit in offered:
        if unit in allowed:
            for misfit in misfits(bounds_in(sent, unit), bounds_in(taken, unit)):
                yield unit, misfit
