"""From the bytes of a body to a message, or to a refusal that lists everything to change."""

import gc
from collections.abc import Hashable, Iterator
from contextlib import contextmanager
from functools import cache
from typing import Any, NamedTuple, TypeVar, cast

from msgspec import DecodeError, ValidationError, inspect, json

from service.intake.json_text import comes_back_as_sent, may_repeat, read
from service.intake.pointer import capped, from_msgspec, summary
from service.intake.walk import SUPPLY_NOT_COMPUTABLE, faults
from service.problems import ErrorItem, Refused

T = TypeVar("T")


class _Reader(NamedTuple):
    """What a kind of message needs at each request."""

    decoder: json.Decoder[Any]
    declared: inspect.Type
    comes_back_as_sent: bool


@cache
def _reader(kind: Hashable) -> _Reader:
    declared = inspect.type_info(kind)
    return _Reader(json.Decoder(kind, strict=True), declared, comes_back_as_sent(declared))


def decode(body: bytes, kind: type[T]) -> T:
    """Read a message from a body without converting or dropping anything.

    Parameters
    ----------
    body : bytes
        The body as received.
    kind : type
        A msgspec struct, or another type that msgspec decodes.

    Returns
    -------
    message : T
        The message.

    Raises
    ------
    Refused
        The body cannot be read (`empty-body`, `not-utf-8`, `byte-order-mark`, `malformed-json`,
        `nesting-too-deep`, `duplicate-member`, `number-out-of-range`) or does not fit `kind`
        (`request-invalid`, with every error at once, in document order), or its supply is of a kind that
        nothing can be computed with (`supply-not-computable`, with the same list).
    """
    reader = _reader(cast("Hashable", kind))
    try:
        message = reader.decoder.decode(body)
    except (DecodeError, UnicodeDecodeError, RecursionError) as cause:
        raise _refusal(body, reader.declared, cause) from None
    if _may_repeat(body, message, reader):
        with _without_collector():
            read(body)
    return cast("T", message)


def _may_repeat(body: bytes, message: object, reader: _Reader) -> bool:
    if reader.comes_back_as_sent:
        return may_repeat(body, message)
    try:
        return may_repeat(body, json.decode(body))
    except (DecodeError, UnicodeDecodeError, RecursionError):  # unsound where the message does not look
        return True


@contextmanager
def _without_collector() -> Iterator[None]:
    """Keep the collector of cycles from walking a tree that has none, again and again while it grows."""
    enabled = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if enabled:
            gc.enable()


def _refusal(body: bytes, declared: inspect.Type, cause: Exception) -> Refused:
    """Say why a body was refused; reading it again raises at once when it is not sound JSON."""
    with _without_collector():
        errors = capped(faults(read(body), declared, ""))
    for error in errors:
        if error.code == SUPPLY_NOT_COMPUTABLE:
            return Refused(SUPPLY_NOT_COMPUTABLE, error.detail, errors)
    if errors:
        return Refused("request-invalid", summary(errors), errors)
    if isinstance(cause, ValidationError):
        detail, pointer = from_msgspec(str(cause))
        return Refused("request-invalid", detail, [ErrorItem("not-as-described", pointer, detail)])
    return Refused("malformed-json", f"The body cannot be read as JSON: {cause}.")
