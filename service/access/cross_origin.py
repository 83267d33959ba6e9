"""Pages of other sites: the CORS protocol (Fetch standard, section "CORS protocol").

A request without an ``Origin``, or with one that is not listed, is answered as ever, but the browser keeps
the answer from the page: CORS protects callers' pages from one another, not the service.
"""

from collections.abc import Collection
from typing import Final

from service.access.places import EMBEDDED, is_below

Fields = list[tuple[bytes, bytes]]

_ALLOW: Final = b"access-control-allow-origin"
_EXPOSED: Final = (
    b"access-control-expose-headers",
    b"ETag, RateLimit, RateLimit-Policy, Retry-After, X-Request-ID",
)
_VARIES: Final = (b"vary", b"Origin")

# Access to a private network is never granted: a page of the open web has no business with a service that
# only stands there. What is not said is refused by the browser.
_PREFLIGHT: Final[Fields] = [
    (b"access-control-allow-methods", b"GET, HEAD, POST"),
    (
        b"access-control-allow-headers",
        b"Authorization, Content-Type, If-None-Match, Traceparent, Tracestate, X-Request-ID",
    ),
    # Two hours, the longest that every browser keeps it; each request itself is judged anew.
    (b"access-control-max-age", b"7200"),
]


def shared_with(origin: str | None, path: str, origins: Collection[str], *, varies: bool) -> Fields:
    """Write the fields that tell a browser whether a page may read the reply.

    Parameters
    ----------
    origin : str, optional
        Of the page, where the request names one.
    path : str
        That is asked.
    origins : collection of str
        Those that may read.
    varies : bool
        Whether the reply to another origin may carry other fields. Caches must know so even of a reply to no
        origin at all.

    Returns
    -------
    fields : list of (bytes, bytes)
        For every reply to the request, refusals among them: a page can only mend what it can read.
    """
    if is_below(path, EMBEDDED):
        # Scripts and fonts that are the same for everybody, and that pages load with integrity checks.
        return [(_ALLOW, b"*"), _EXPOSED]
    vary = [_VARIES] if varies else []
    if origin is None or origin not in origins:
        return vary
    return [*vary, (_ALLOW, origin.encode("ascii")), _EXPOSED]


def is_preflight(method: str, origin: str | None, asked_method: bytes | None) -> bool:
    """Whether a browser asks before it sends; it cannot show a key when it does."""
    return method == "OPTIONS" and origin is not None and asked_method is not None


def is_shared(fields: Fields) -> bool:
    """Whether the fields let a page read the reply."""
    return any(name == _ALLOW for name, _ in fields)


def preflight_fields() -> Fields:
    """What a browser is told beside that: which requests it may send, and for how long it may believe so."""
    return list(_PREFLIGHT)
