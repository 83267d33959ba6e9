"""Checks of the headers that say what a body is; they come before the body is read and before `Accept`."""

import re
from typing import Final

from service.intake.words import listed, shown
from service.problems import Refused

_JSON: Final = "application/json"


_ACCEPT_POST: Final = {"Accept-Post": _JSON}


_ACCEPT_ENCODING: Final = {"Accept-Encoding": "identity"}


_CHARSETS: Final = ("utf-8", "utf8")


_COMMON: Final = (_JSON, "application/json; charset=utf-8", "application/json;charset=UTF-8")


def check_headers(
    content_type: str | None, content_encoding: str | None, content_length: str | None, most_bytes: int
) -> None:
    """Refuse a body that is not plain JSON or is too large, from its headers alone.

    Parameters
    ----------
    content_type : str or None
        The Content-Type header.
    content_encoding : str or None
        The Content-Encoding header.
    content_length : str or None
        The Content-Length header; its absence, or a text that is no number, is left to the server.
    most_bytes : int
        The largest body that is read. [byte]

    Raises
    ------
    Refused
        `unsupported-media-type`, `unsupported-encoding` or `body-too-large`.
    """
    if content_type not in _COMMON:
        _check_type(content_type)
    if content_encoding is not None:
        _check_encoding(content_encoding)
    if content_length is not None:
        _check_length(content_length, most_bytes)


def _check_type(content_type: str | None) -> None:
    if content_type is None:
        detail = "The request has no Content-Type header. Send Content-Type: application/json."
        raise Refused("unsupported-media-type", detail, headers=_ACCEPT_POST)
    media_type, *parameters = (part.strip() for part in content_type.split(";"))
    if media_type.lower() != _JSON or not all(_is_utf_8(parameter) for parameter in parameters):
        detail = f"The Content-Type is {shown(content_type)}. Send application/json, encoded as UTF-8."
        raise Refused("unsupported-media-type", detail, headers=_ACCEPT_POST)


def _is_utf_8(parameter: str) -> bool:
    """Take `charset=utf-8`, and the empty parameter after a last semicolon (RFC 9110, section 5.6.6)."""
    name, _, value = parameter.partition("=")
    return not parameter or (name.lower() == "charset" and value.strip('"').lower() in _CHARSETS)


def _check_encoding(content_encoding: str) -> None:
    codings = [coding.strip().lower() for coding in content_encoding.split(",")]
    if any(coding not in ("", "identity") for coding in codings):
        detail = f"The Content-Encoding is {shown(content_encoding)}. Send the body as it is, uncompressed."
        raise Refused("unsupported-encoding", detail, headers=_ACCEPT_ENCODING)


def _check_length(content_length: str, most_bytes: int) -> None:
    digits = content_length.strip().lstrip("0")
    if not (digits.isascii() and digits.isdigit()):
        return
    # More digits are more bytes, and Python reads no integer of more than 4,300 digits.
    if len(digits) > len(str(most_bytes)) or int(digits) > most_bytes:
        size = shown(digits, quotes=False)
        raise Refused(
            "body-too-large", f"The body has {size} bytes, {most_bytes} are read. Send less at a time."
        )


_ANY: Final = "*/*"


_WEIGHT: Final = re.compile(r"(?:0(?:\.\d{0,3})?|1(?:\.0{0,3})?)\Z")


def negotiate(accept: str | None, offered: tuple[str, ...]) -> str:
    """Choose a media type.

    Parameters
    ----------
    accept : str or None
        The Accept header; without one, everything is accepted.
    offered : tuple of str
        Media types that the address can send, the preferred one first.

    Returns
    -------
    media_type : str
        The offered type of highest weight; among equals the one that stands first.

    Raises
    ------
    Refused
        `not-acceptable`: no offered type has a weight above zero.

    Examples
    --------
    >>> negotiate("text/html;q=0.5, text/*;q=0.9", ("application/json", "text/html", "text/csv"))
    'text/csv'
    """
    if accept is None or accept in (_ANY, offered[0]) or not accept.strip():
        return offered[0]
    ranges = [_parsed(part) for part in accept.split(",") if part.strip()]
    # `max` keeps the first of equals, so the order of the offer decides between them.
    best = max(offered, key=lambda media_type: _weight(media_type, ranges))
    if _weight(best, ranges) > 0:
        return best
    detail = f"The Accept header {shown(accept)} leaves nothing. This address answers in {listed(offered)}."
    raise Refused("not-acceptable", detail)


def _parsed(part: str) -> tuple[str, float]:
    """Read one range and its weight; a weight that the grammar does not know counts as one."""
    media_range, *parameters = (piece.strip().lower() for piece in part.split(";"))
    for parameter in parameters:
        name, _, value = parameter.partition("=")
        if name.strip() == "q" and _WEIGHT.match(value.strip()):
            return media_range, float(value)
    return media_range, 1.0


def _weight(media_type: str, ranges: list[tuple[str, float]]) -> float:
    """Give the weight of the most specific range that holds a type, whatever their order."""
    bare = media_type.partition(";")[0].strip().lower()
    for wanted in (bare, f"{bare.partition('/')[0]}/*", _ANY):
        weights = [weight for media_range, weight in ranges if media_range == wanted]
        if weights:
            return max(weights)
    return 0.0
