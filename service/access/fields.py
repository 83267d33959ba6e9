"""Header fields of a request that may stand once."""

from collections.abc import Iterable

Headers = Iterable[tuple[bytes, bytes]]


def values_of(headers: Headers, name: bytes) -> list[bytes]:
    """Every value under a name, in lower case as ASGI hands it over."""
    return [value for each, value in headers if each == name]


def only(headers: Headers, name: bytes) -> bytes | None:
    """The value under a name; None where there is none, or several, of which neither can be trusted."""
    values = values_of(headers, name)
    return values[0] if len(values) == 1 else None
