"""Compares two documents, operation by operation."""

from collections.abc import Iterator
from typing import Any

from tests.gate.breaks import Break, Side
from tests.gate.places import Place, whole
from tests.gate.schemas import Seen, schema_breaks

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
