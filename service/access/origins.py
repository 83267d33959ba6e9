"""What a request says of where it comes from and whom it asks: origins of pages, and hosts.

The form is that of the HTML standard, "serialization of an origin". ``null`` is the origin of every page that
hides its own, so it can stand for nobody.
"""

import re
from ipaddress import IPv6Address
from typing import Final

from service.observability.fields import Fields

WANTED_ORIGINS: Final = (
    "origins such as https://shop.example or http://localhost:3000: a scheme, a host, a port where it is not"
    " the usual one, and no path; neither null nor *"
)


_ORIGIN: Final = re.compile(r"(https?)://([^/?#@\s:]+|\[[^/?#@\s]+\])(?::(\d{1,5}))?\Z", re.IGNORECASE)


_USUAL_PORTS: Final = {"http": 80, "https": 443}


_HIGHEST_PORT: Final = 65_535


def read_origin(text: str) -> str:
    """Read one origin.

    Returns
    -------
    origin : str
        As a browser would write it.

    Raises
    ------
    ValueError
        The text is no origin of a page on the web.
    """
    match = _ORIGIN.match(text)
    if match is None:
        raise ValueError(WANTED_ORIGINS)
    scheme, host, port = match[1].lower(), match[2], int(match[3] or 0)
    if match[3] and not 1 <= port <= _HIGHEST_PORT:
        raise ValueError(WANTED_ORIGINS)
    try:
        written = f"{scheme}://{read_host(host)}"
    except ValueError:
        raise ValueError(WANTED_ORIGINS) from None
    return written if port in (0, _USUAL_PORTS[scheme]) else f"{written}:{port}"


# What a browser writes: a scheme, a name of 253 characters (RFC 1035, section 2.3.4) and a port.
_TOLD: Final = re.compile(r"(?:null|[A-Za-z][A-Za-z0-9+.-]{0,19}://[A-Za-z0-9:.\[\]_-]{1,259})\Z")


def told_origin(text: str) -> str | None:
    """An origin as it was sent, where it can stand in a sentence and in a log; None where it cannot."""
    return text if _TOLD.match(text) else None


WANTED_HOSTS: Final = "host names or addresses without a port, such as lamp.example, 10.0.0.5 or [::1]"


_NAME: Final = re.compile(r"[a-z0-9_-]{1,63}(\.[a-z0-9_-]{1,63})*\Z")


_FIELD: Final = re.compile(rb"(\[[0-9A-Fa-f:.]{2,45}\]|[A-Za-z0-9_.-]{1,255})(:\d{0,5})?\Z")


def read_host(text: str) -> str:
    """Read the name of a host, or its address, an IPv6 address in brackets.

    Returns
    -------
    host : str
        In the one form in which two spellings of a host are equal.

    Raises
    ------
    ValueError
        The text is neither.
    """
    lowered = text.lower()
    if lowered.startswith("[") and lowered.endswith("]") and "%" not in lowered:
        return f"[{IPv6Address(lowered[1:-1])}]"
    if not _NAME.match(lowered):
        raise ValueError(WANTED_HOSTS)
    return lowered


def host_of(field: bytes | None) -> str | None:
    """The host that a ``Host`` header field names, without its port; None where it names none."""
    match = _FIELD.match(field or b"")
    if match is None:
        return None
    try:
        return read_host(match[1].decode("ascii"))
    except ValueError:
        return None


def values_of(headers: Fields, name: bytes) -> list[bytes]:
    """Every value under a name, in lower case as ASGI hands it over."""
    return [value for each, value in headers if each == name]


def only(headers: Fields, name: bytes) -> bytes | None:
    """The value under a name; None where there is none, or several, of which neither can be trusted."""
    values = values_of(headers, name)
    return values[0] if len(values) == 1 else None
