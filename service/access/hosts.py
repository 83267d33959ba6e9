"""Names of hosts: as an operator lists them, and as a request names one (RFC 9110, section 7.2)."""

import re
from ipaddress import IPv6Address
from typing import Final

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
