"""The header fields that every reply carries, whoever wrote it."""

from collections.abc import Iterable

from service.observability.request_id import HEADER

Headers = list[tuple[bytes, bytes]]

_ALWAYS: Headers = [(b"x-content-type-options", b"nosniff"), (b"referrer-policy", b"no-referrer")]
# A reply that is not a page has nothing to load, run or be framed by.
_NOT_A_PAGE = (b"content-security-policy", b"default-src 'none'; frame-ancestors 'none'")
# An answer is true for the tables of today; only what says otherwise may be kept.
_NOT_KEPT = (b"cache-control", b"no-store")


def dressed(headers: Iterable[tuple[bytes, bytes]], request_id: str) -> Headers:
    """Add what every reply carries to the header fields of one.

    Parameters
    ----------
    headers : iterable of (bytes, bytes)
        What the application wrote. A policy for content or for caches that stands there is left alone.
    request_id : str
        Returned as ``X-Request-ID``.

    Returns
    -------
    headers : list of (bytes, bytes)
        Names in lower case. ``Allow`` names HEAD wherever it names GET, since the envelope answers it, and
        everything that a reply varies by stands in one ``Vary``, since some caches read only one.
    """
    reply: Headers = []
    varies: list[bytes] = []
    kept = page = policed = False
    for original_name, original_value in headers:
        name, value = original_name.lower(), original_value
        if name == b"content-type":
            page = value.startswith((b"text/html", b"image/svg"))
        elif name == b"content-security-policy":
            policed = True
        elif name == b"cache-control":
            kept = True
        elif name == b"allow":
            value = _with_head(value)
        elif name == b"vary":
            varies.append(value)
            continue
        reply.append((name, value))
    if varies:
        reply.append((b"vary", b", ".join(varies)))
    reply += _ALWAYS
    reply.append((HEADER, request_id.encode("ascii")))
    if not (page or policed):
        reply.append(_NOT_A_PAGE)
    if not kept:
        reply.append(_NOT_KEPT)
    return reply


def _with_head(allow: bytes) -> bytes:
    methods = {method.strip() for method in allow.split(b",")}
    return b", ".join(sorted(methods | {b"HEAD"} if b"GET" in methods else methods))
