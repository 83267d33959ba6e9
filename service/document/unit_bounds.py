"""Bounds of a quantity, which hang on its unit, as JSON Schema says them."""

from collections.abc import Mapping
from typing import Any, Final

from service.messages.bounds import UNIT_BOUNDS

Schema = dict[str, Any]

_ENDS: Final = ("minimum", "maximum")


def numbered(schema: Schema) -> Schema:
    """Write bounds that are whole numbers without a point, as people do."""
    return {key: _written(value) if key in _ENDS else value for key, value in schema.items()}


def unit_bounds(properties: Mapping[str, Schema]) -> Schema:
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
    rules: Schema = {}
    for unit, bounds in reversed(value.pop(UNIT_BOUNDS, {}).items()):
        tighter = {
            end: _written(bound) for end, bound in zip(_ENDS, bounds, strict=True) if bound != value[end]
        }
        if tighter:
            rules = {**_rule(unit, tighter), **({"else": rules} if rules else {})}
    return rules


def _rule(unit: str, bounds: Schema) -> Schema:
    # Without `required` the first rule would hold where the unit is missing.
    named = {"properties": {"unit": {"const": unit}}, "required": ["unit"]}
    return {"if": named, "then": {"properties": {"value": bounds}}}


def _written(bound: float) -> float:
    return int(bound) if float(bound).is_integer() else bound
