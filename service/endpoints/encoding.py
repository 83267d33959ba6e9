"""Replies as bytes, and the digest that names the bytes of a request."""

from hashlib import sha256
from typing import Any, Final

from msgspec import Struct, json

JSON: Final = "application/json"

_ENCODER: Final = json.Encoder()
_NULL: Final = b"null"


class NotFiniteError(ArithmeticError):
    """An answer holds what is no number; that is always a fault of the program."""


def encoded(reply: Struct | list[Any]) -> bytes:
    """Write a reply as JSON.

    The encoder writes NaN and infinity as ``null``. No reply has a member that may be null, so a ``null``
    outside of a text is one of them. Looking for the four letters costs a hundredth of the encoding; only
    where a caller's name holds them as well are the bytes read back.

    Raises
    ------
    NotFiniteError
        A number of the reply is not finite.
    """
    content = _ENCODER.encode(reply)
    if _NULL in content and _holds_null(json.decode(content)):
        message = f"not a number in a {type(reply).__name__}"
        raise NotFiniteError(message)
    return content


def digest(body: bytes) -> str:
    """SHA-256 of a request, so that a quotation can name the very bytes it was computed from."""
    return sha256(body).hexdigest()


def _holds_null(tree: object) -> bool:
    if isinstance(tree, dict):
        return any(map(_holds_null, tree.values()))
    if isinstance(tree, list):
        return any(map(_holds_null, tree))
    return tree is None
