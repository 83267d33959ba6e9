"""The id that ties a reply, a log line and a caller's own records together."""

import re
import secrets
from collections.abc import Iterable

HEADER = b"x-request-id"

_WELL_FORMED = re.compile(rb"[A-Za-z0-9._-]{1,64}\Z")


def request_id_from(headers: Iterable[tuple[bytes, bytes]]) -> str:
    """Take the request id that the client sent, or make one.

    Parameters
    ----------
    headers : iterable of (bytes, bytes)
        Header fields as ASGI hands them over, names in lower case.

    Returns
    -------
    request_id : str
        1 to 64 of ``A-Z a-z 0-9 . _ -``. Anything else that was sent is not repeated: it would reach the log
        and the reply as it stands.
    """
    for name, value in headers:
        if name == HEADER and _WELL_FORMED.match(value):
            return value.decode("ascii")
    return secrets.token_hex(16)
