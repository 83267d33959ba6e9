"""The keywords of JSON Schema 2020-12 that narrow a single value, each as a question to two schemas.

Each question is put so that the first schema says what may be sent and the second what is taken. A request is
sent by the old document and taken by the new one; a reply the other way about.
"""

import re
from collections.abc import Callable, Iterator
from typing import Any, Final, NamedTuple

Schema = dict[str, Any]


class Misfit(NamedTuple):
    """What may be sent and is not taken."""

    keyword: str
    sent: str
    taken: str


LEAST: Final = ("minimum", "exclusiveMinimum", "minLength", "minItems")
MOST: Final = ("maximum", "exclusiveMaximum", "maxLength", "maxItems")
SAME: Final = ("pattern", "multipleOf", "format", "uniqueItems", "contentEncoding", "contentMediaType")
"""Of two of these nobody can say here which is the narrower: only none at all is wider."""

ON_A_VALUE: Final[dict[str, Callable[[Any, Any], bool]]] = {
    "minimum": lambda value, bound: value >= bound,
    "maximum": lambda value, bound: value <= bound,
    "minLength": lambda value, bound: len(value) >= bound,
    "maxLength": lambda value, bound: len(value) <= bound,
    "pattern": lambda value, bound: re.search(bound, value) is not None,
}
"""Holds a listed value against a bound: a list of names may become an open text that takes them all."""

JUDGED: Final = {
    *LEAST, *MOST, *SAME, "type", "enum", "const", "properties", "required", "additionalProperties", "items",
    "oneOf", "anyOf", "discriminator", "default",
}  # fmt: skip
SILENT: Final = {"title", "description", "examples", "example", "deprecated", "$comment", "externalDocs"}
"""Words for people; no message fits or fails by them."""


def misfits(sent: Schema, taken: Schema) -> Iterator[Misfit]:
    """Find each keyword by which a value that may be sent is not taken."""
    yield from _types(sent, taken)
    yield from _values(sent, taken)
    for keyword in (*LEAST, *MOST, *SAME, *_unknown(sent, taken)):
        if keyword in taken and not _within(sent, taken, keyword):
            yield Misfit(keyword, _shown(sent, keyword), _shown(taken, keyword))


def _within(sent: Schema, taken: Schema, keyword: str) -> bool:
    """Whether everything that is sent is inside what a keyword takes."""
    if (listed := values(sent)) is not None and keyword in ON_A_VALUE:
        return all(ON_A_VALUE[keyword](value, taken[keyword]) for value in listed)
    if keyword not in sent:
        return False
    if keyword in LEAST:
        return bool(sent[keyword] >= taken[keyword])
    if keyword in MOST:
        return bool(sent[keyword] <= taken[keyword])
    return bool(sent[keyword] == taken[keyword])


def _types(sent: Schema, taken: Schema) -> Iterator[Misfit]:
    left = _type_names(sent) - _type_names(taken)
    if "number" in _type_names(taken):
        left -= {"integer"}
    if left and "type" in taken:
        yield Misfit("type", _shown(sent, "type"), _shown(taken, "type"))


def _type_names(schema: Schema) -> set[str]:
    named = schema.get("type", "any type")
    return {named} if isinstance(named, str) else set(named)


def _values(sent: Schema, taken: Schema) -> Iterator[Misfit]:
    if (allowed := values(taken)) is None:
        return
    offered = values(sent)
    if offered is None:
        yield Misfit("enum", "any value", _listed(allowed))
    elif left := [value for value in offered if value not in allowed]:
        yield Misfit("enum", _listed(left), _listed(allowed))


def values(schema: Schema) -> list[Any] | None:
    """Every value that a schema lists, where it lists them."""
    if "const" in schema:
        return [schema["const"]]
    listed: list[Any] | None = schema.get("enum")
    return listed


def _unknown(sent: Schema, taken: Schema) -> list[str]:
    """Keywords that this gate does not understand: any change of one is told, since none can be judged."""
    known = JUDGED | SILENT | {"$ref"}
    return sorted(
        name for name in sent.keys() | taken.keys() if name not in known and not name.startswith("x-")
    )


def _shown(schema: Schema, keyword: str) -> str:
    return _word(schema[keyword]) if keyword in schema else "none"


def _listed(allowed: list[Any]) -> str:
    return ", ".join(_word(value) for value in allowed)


def _word(value: Any) -> str:
    return " or ".join(map(str, value)) if isinstance(value, list) else str(value)
