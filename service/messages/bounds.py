"""Bounds of quantities: stated once, in the first unit of the dimension, and the same in every other."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType
from typing import Final, NamedTuple, get_type_hints

from msgspec import Meta

from service.units import DIMENSIONS, bound_in

UNIT_BOUNDS: Final = "x-unit-bounds"
"""Under this name the schema of a `value` carries its bounds by unit to whoever writes the document."""


class Bounds(NamedTuple):
    """The least and the most that a number may be in one unit."""

    least: float
    most: float


def bounded(dimension: str, least: float, most: float, description: str) -> Meta:
    """Bound the `value` of a quantity that may be given in several units.

    The decoder holds the number to the loosest of the bounds, and `Measured` to that of the unit.

    Parameters
    ----------
    dimension : str
        A key of `DIMENSIONS`, all of whose units may be named.
    least, most : float
        The quantity's bounds. [first unit of the dimension]
    description : str
        What is measured.
    """
    by_unit = {unit: Bounds(bound_in(least, unit), bound_in(most, unit)) for unit in DIMENSIONS[dimension]}
    return Meta(
        ge=min(bounds.least for bounds in by_unit.values()),
        le=max(bounds.most for bounds in by_unit.values()),
        description=description,
        extra_json_schema={UNIT_BOUNDS: by_unit},
    )


@cache
def bounds_of(kind: type) -> Mapping[str, Bounds]:
    """The bounds of a struct's `value` by its `unit`; none where they do not hang on the unit."""
    value = get_type_hints(kind, include_extras=True).get("value")
    metas = [meta for meta in getattr(value, "__metadata__", ()) if isinstance(meta, Meta)]
    found = [(meta.extra_json_schema or {}).get(UNIT_BOUNDS, {}) for meta in metas]
    return MappingProxyType(found[0] if found else {})
