"""Compares two documents, operation by operation, and each message by its schema, sent or received."""

from collections.abc import Iterator
from enum import Enum
from typing import Any, NamedTuple

from tests.gate.keywords import Misfit, misfits
from tests.gate.places import Place, whole
from tests.gate.quantities import bound_misfits, is_quantity, rules, without_bounds, without_chain


class Break(NamedTuple):
    """One way in which a client of the old document can fail with the new one."""

    pointer: str
    """Where the promise stood in the old document, as a JSON Pointer."""

    sentence: str

    def __str__(self) -> str:
        return f"{self.pointer}: {self.sentence}"


class Side(Enum):
    """Who sends a message. A client may be asked for less, and the service may promise more."""

    REQUEST = "request"
    REPLY = "reply"


Seen = set[tuple[Side, str, str]]
"""Pairs that were compared: a schema is one promise, however many messages it stands in."""


def schema_breaks(old: Place, new: Place, side: Side, seen: Seen | None = None) -> Iterator[Break]:
    """Compare two schemas and everything under them.

    Parameters
    ----------
    old, new : Place
        Of the schemas.
    side : Side
        Whether the client sends the message or receives it.
    seen : set, optional
        Pairs not to be compared again.
    """
    seen = set() if seen is None else seen
    key = (side, old.pointer, new.pointer)
    if key in seen:
        return
    seen.add(key)
    before, after = _with_its_units(old), _with_its_units(new)
    if is_quantity(before.value) and is_quantity(after.value) and (rules(old.value) or rules(new.value)):
        yield from _quantities(before, after, side)
        old, new = _unbounded(old), _unbounded(new)
    if bool(_choice(old)) == bool(_choice(new)):
        yield from _keywords(old, new, side)
    if _choice(old) or _choice(new):
        yield from _choices(old, new, side, seen)
        return
    yield from _members(old, new, side, seen)
    if "items" in old.value or "items" in new.value:
        yield from schema_breaks(_items(old), _items(new), side, seen)


def _with_its_units(place: Place) -> Place:
    """A quantity with its units where they are written elsewhere, under a name."""
    members = place.value.get("properties", {})
    if members.keys() != {"value", "unit"}:
        return place
    units = place.under("properties", "unit").value
    return place._replace(value={**place.value, "properties": {**members, "unit": units}})


def _keywords(old: Place, new: Place, side: Side) -> Iterator[Break]:
    sent, taken = (old, new) if side is Side.REQUEST else (new, old)
    for misfit in misfits(sent.value, taken.value):
        yield Break(_pointer(old, misfit.keyword), _sentence(misfit, side))


def _quantities(old: Place, new: Place, side: Side) -> Iterator[Break]:
    """Compare the bounds of a quantity unit by unit."""
    sent, taken = (old, new) if side is Side.REQUEST else (new, old)
    before, after = (place.pointer.rpartition("/")[2] for place in (old, new))
    other = "" if before == after else f" as {after}"
    for unit, misfit in bound_misfits(sent.value, taken.value):
        pointer = f"{old.pointer}/properties/value/{misfit.keyword}"
        yield Break(pointer, f"In {unit}{other}: {_sentence(misfit, side)}")


def _unbounded(place: Place) -> Place:
    """A quantity without its bounds, for what else there is to compare."""
    value = without_bounds(place.value["properties"]["value"])
    properties = {**place.value["properties"], "value": value}
    return place._replace(value={**without_chain(place.value), "properties": properties})


def _items(place: Place) -> Place:
    """The schema of a list's items; where none is written, anything may be one."""
    return (
        place.under("items")
        if "items" in place.value
        else Place(place.document, f"{place.pointer}/items", {})
    )


def _pointer(old: Place, keyword: str) -> str:
    spelled = "const" if keyword == "enum" and "const" in old.value else keyword
    return f"{old.pointer}/{spelled}" if spelled in old.value else old.pointer


def _sentence(misfit: Misfit, side: Side) -> str:
    if side is Side.REPLY:
        return f"A reply promised {misfit.keyword} {misfit.taken}, and may now have {misfit.sent}."
    if misfit.keyword == "enum":
        return f"A request may no longer say {misfit.sent}; only {misfit.taken} is taken."
    return f"A request was held to {misfit.keyword} {misfit.sent}, and is now held to {misfit.taken}."


def _members(old: Place, new: Place, side: Side, seen: Seen) -> Iterator[Break]:
    before, after = old.members("properties"), new.members("properties")
    for name, member in before.items():
        if name in after:
            yield from schema_breaks(member, after[name], side, seen)
            yield from _default(member, after[name], side)
        else:
            yield Break(f"{old.pointer}/properties/{name}", f"The {side.value} member {name} is gone.")
    yield from _needs(old, new, side)
    yield from _closing(old, new, side)


def _default(old: Place, new: Place, side: Side) -> Iterator[Break]:
    before, after = old.value.get("default"), new.value.get("default")
    if side is Side.REQUEST and before != after:
        yield Break(old.pointer, f"A request that leaves this out meant {before}, and now means {after}.")


def _needs(old: Place, new: Place, side: Side) -> Iterator[Break]:
    before, after = set(old.value.get("required", ())), set(new.value.get("required", ()))
    if side is Side.REQUEST:
        for name in sorted(after - before):
            yield Break(old.pointer, f"A request must now have the member {name}.")
    else:
        for name in sorted((before - after) & new.value.get("properties", {}).keys()):
            yield Break(f"{old.pointer}/properties/{name}", f"A reply may now leave out the member {name}.")


def _closing(old: Place, new: Place, side: Side) -> Iterator[Break]:
    closed = new.value.get("additionalProperties") is False
    if side is Side.REQUEST and closed and old.value.get("additionalProperties") is not False:
        yield Break(old.pointer, "A request may no longer have members that are not listed.")


def _choice(place: Place) -> str | None:
    return next((keyword for keyword in ("oneOf", "anyOf") if keyword in place.value), None)


def _choices(old: Place, new: Place, side: Side, seen: Seen) -> Iterator[Break]:
    """Each kind that may be sent needs one that takes it: its namesake, or else any that fits."""
    before, after = _kinds(old), _kinds(new)
    sent, taken = (before, after) if side is Side.REQUEST else (after, before)
    for name, kind in sent.items():
        namesake = taken.get(name)
        if namesake is not None:
            pair = (kind, namesake) if side is Side.REQUEST else (namesake, kind)
            yield from schema_breaks(*pair, side, seen)
        elif not any(_fits(kind, other, side) for other in taken.values()):
            yield Break(old.pointer, _lost(name, side))


def _fits(sent: Place, taken: Place, side: Side) -> bool:
    pair = (sent, taken) if side is Side.REQUEST else (taken, sent)
    return next(schema_breaks(*pair, side), None) is None


def _lost(name: str, side: Side) -> str:
    if side is Side.REQUEST:
        return f"A request may no longer be of the kind {name}."
    return f"A reply may now be of the kind {name}, which no client of the old document knows."


def _kinds(place: Place) -> dict[str, Place]:
    """The alternatives of a choice by their tag; a schema that is no choice is the only one of its kind."""
    keyword = _choice(place)
    if keyword is None:
        return {place.pointer.rpartition("/")[2]: place}
    tags = place.value.get("discriminator", {}).get("mapping", {})
    by_reference = {reference: tag for tag, reference in tags.items()}
    kinds: dict[str, Place] = {}
    for index in range(len(place.value[keyword])):
        kind = place.under(keyword, str(index))
        kinds[by_reference.get(f"#{kind.pointer}", kind.pointer.rpartition("/")[2])] = kind
    return kinds


METHODS = ("get", "put", "post", "delete", "options", "head", "patch", "trace")


def breaks(old: Any, new: Any) -> list[Break]:
    """Find everything that can fail a client of an old document.

    Parameters
    ----------
    old, new : JSON value
        OpenAPI 3.1 documents.

    Returns
    -------
    breaks : list of Break
        In the order of the old document, each once.
    """
    seen: Seen = set()
    found: dict[Break, None] = {}
    after = dict(_operations(whole(new)))
    for name, operation in _operations(whole(old)):
        if name in after:
            found.update(dict.fromkeys(_operation(operation, after[name], seen)))
        else:
            found[Break(operation.pointer, f"The operation {name} is gone.")] = None
    return list(found)


def _operations(document: Place) -> Iterator[tuple[str, Place]]:
    for path, item in document.members("paths").items():
        for method in METHODS:
            if method in item.value:
                yield f"{method.upper()} {path}", item.under(method)


def _operation(old: Place, new: Place, seen: Seen) -> Iterator[Break]:
    for said in ("operationId", "security"):
        if old.value.get(said) != new.value.get(said):
            sentence = f"{said} was {old.value.get(said)} and is now {new.value.get(said)}."
            yield Break(f"{old.pointer}/{said}", sentence)
    yield from _parameters(old, new, seen)
    yield from _request(old, new, seen)
    before, after = old.members("responses"), new.members("responses")
    for status, reply in before.items():
        if status in after:
            yield from _reply(reply, after[status], seen)
        else:
            yield Break(f"{old.pointer}/responses/{status}", f"The reply with status {status} is gone.")


def _parameters(old: Place, new: Place, seen: Seen) -> Iterator[Break]:
    before, after = _by_name(old), _by_name(new)
    for name, parameter in before.items():
        if name not in after:
            yield Break(parameter.pointer, f"The parameter {name} is gone.")
        elif "schema" in parameter.value and "schema" in after[name].value:
            pair = (parameter.under("schema"), after[name].under("schema"))
            yield from schema_breaks(*pair, Side.REQUEST, seen)
    for name, parameter in after.items():
        was = name in before and before[name].value.get("required", False)
        if parameter.value.get("required", False) and not was:
            yield Break(old.pointer, f"A request must now have the parameter {name}.")


def _by_name(operation: Place) -> dict[str, Place]:
    places = [
        operation.under("parameters", str(index))
        for index in range(len(operation.value.get("parameters", ())))
    ]
    return {f"{place.value['in']} {place.value['name']}": place for place in places}


def _request(old: Place, new: Place, seen: Seen) -> Iterator[Break]:
    if "requestBody" not in new.value:
        if "requestBody" in old.value:
            yield Break(f"{old.pointer}/requestBody", "The request has no body any more.")
        return
    body = new.under("requestBody")
    was = "requestBody" in old.value and old.under("requestBody").value.get("required", False)
    if body.value.get("required", False) and not was:
        yield Break(old.pointer, "A request must now have a body.")
    if "requestBody" in old.value:
        yield from _contents(old.under("requestBody"), body, Side.REQUEST, seen)


def _reply(old: Place, new: Place, seen: Seen) -> Iterator[Break]:
    before, after = old.members("headers"), new.members("headers")
    for name, header in before.items():
        if header.value.get("required", False):
            if name not in after or not after[name].value.get("required", False):
                yield Break(f"{old.pointer}/headers/{name}", f"The reply may now lack the header {name}.")
        elif name not in after:
            yield Break(f"{old.pointer}/headers/{name}", f"The header {name} of the reply is gone.")
    yield from _contents(old, new, Side.REPLY, seen)


def _contents(old: Place, new: Place, side: Side, seen: Seen) -> Iterator[Break]:
    before, after = old.members("content"), new.members("content")
    for media_type, content in before.items():
        if media_type not in after:
            yield Break(content.pointer, f"The {side.value} has no form {media_type} any more.")
        elif "schema" in content.value and "schema" in after[media_type].value:
            yield from schema_breaks(content.under("schema"), after[media_type].under("schema"), side, seen)
