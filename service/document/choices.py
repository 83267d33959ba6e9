"""Choices between messages: the unions that the room of messages gives a name."""

from collections.abc import Mapping
from functools import cache
from importlib import import_module
from pkgutil import iter_modules
from types import UnionType
from typing import Any, get_args

from msgspec import Struct

from service import messages
from service.intake.words import listed


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
        for module in iter_modules(messages.__path__)
        for name, value in vars(import_module(f"{messages.__name__}.{module.name}")).items()
        if isinstance(value, UnionType) and all(_is_struct(option) for option in get_args(value))
    }
    return dict(sorted(found.items()))


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
