"""What a value says in the words of the messages: which structs, members and words of closed lists it holds.

Read from the message structs, so that a kind, a member or a word that is added to them is asked for at once.
"""

from collections.abc import Iterator
from functools import cache
from typing import Any, Final

from msgspec import inspect
from msgspec.inspect import StructType, Type

from service.intake.words import options
from service.studies.quote.request import QuoteAlternative
from service.studies.voltage_drop.request import VoltageDropRequest
from service.wire.supply import Supply
from service.wire.wiring import Wiring

LISTED_ELSEWHERE: Final = ("unit", "conductor")
"""Members whose words are long lists: the fuzz draws units, the tests of the tables go through conductors."""

OUTCOMES: Final = (
    "verdict", "method", "objective", "absent_because", "on", "form", "outcome", "status", "kind", "way",
)  # fmt: skip
"""Members of replies whose words are open lists that tell what came of a job."""

OFFERED: Final = frozenset(
    kind.cls
    for message in (Wiring, Supply, VoltageDropRequest, QuoteAlternative)
    for kind in options(inspect.type_info(message))
    if isinstance(kind, StructType)
)
"""What a reply offers to be posted, in whole or in part, is a request, and no outcome."""


@cache
def grammar(message: Any) -> Type:
    """The type of a message, as its struct or union of structs declares it."""
    return inspect.type_info(message)


@cache
def all_said(message: Any, *, entering: bool = True) -> frozenset[str]:
    """Everything that values of a message can say: `Struct`, `Struct.member`, `Struct.member=word`.

    What a reply offers to be posted is not entered.
    """
    found: set[str] = set()
    structs: set[str] = set()
    waiting = [grammar(message)]
    while waiting:
        for kind in options(waiting.pop()):
            if isinstance(kind, inspect.ListType):
                waiting.append(kind.item_type)
            if not isinstance(kind, StructType) or kind.cls.__name__ in structs:
                continue
            structs.add(kind.cls.__name__)
            found.add(kind.cls.__name__)
            for field in kind.fields:
                name = f"{kind.cls.__name__}.{field.encode_name}"
                found.add(name)
                found |= {f"{name}={word}" for word in _words(field.type, field.encode_name)}
                if entering or not _is_offered(field.type):
                    waiting.append(field.type)
    return frozenset(found)


def _is_offered(kind: Type) -> bool:
    """Whether a member is something to be posted: a wiring, a supply, a job, an alternative of a quote."""
    return any(isinstance(one, StructType) and one.cls in OFFERED for one in options(kind))


def said(kind: Type, value: Any) -> Iterator[str]:
    """Everything that one sound value says."""
    if isinstance(value, list):
        [listed] = [one for one in options(kind) if isinstance(one, inspect.ListType)]
        for item in value:
            yield from said(listed.item_type, item)
    elif isinstance(value, dict):
        structs = [one for one in options(kind) if isinstance(one, StructType)]
        if structs:
            yield from _said_of_struct(_struct_of(structs, value), value)


def _struct_of(structs: list[StructType], value: dict[str, Any]) -> StructType:
    if len(structs) == 1:
        return structs[0]
    return next(one for one in structs if one.tag_field and value[one.tag_field] == one.tag)


def _said_of_struct(struct: StructType, value: dict[str, Any]) -> Iterator[str]:
    yield struct.cls.__name__
    fields = {field.encode_name: field for field in struct.fields}
    for member, part in value.items():
        if member == struct.tag_field:
            continue
        name = f"{struct.cls.__name__}.{member}"
        yield name
        words = _words(fields[member].type, member)
        if member in OUTCOMES and isinstance(part, str) and part not in words:
            yield f"{name}={part}"
        # Where one word may stand, or a list of them, those of the list are said as well.
        yield from (f"{name}={one}" for one in (part if isinstance(part, list) else [part]) if one in words)
        yield from said(fields[member].type, part)


def _words(kind: Type, member: str) -> list[Any]:
    """The words of a closed list, or true and false."""
    if member in LISTED_ELSEWHERE:
        return []
    found: list[Any] = []
    for option in options(kind):
        if isinstance(option, inspect.LiteralType):
            found += option.values
        elif isinstance(option, inspect.BoolType):
            found += [True, False]
    return found
