"""Checks of the headers that say what a body is; they come before the body is read and before `Accept`."""

from typing import Final

from service.intake.words import shown
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
