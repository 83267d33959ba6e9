"""The caller's trace, as ``traceparent`` carries it.

W3C Trace Context, Recommendation of 23 November 2021.
"""

import re
from collections.abc import Iterable
from typing import Final, NamedTuple

_HEADER: Final = b"traceparent"
# Lower-case hexadecimal (section 3.2.2); a later version may only add behind a further dash (3.2.4).
_FORM: Final = re.compile(rb"([0-9a-f]{2})-([0-9a-f]{32})-([0-9a-f]{16})-([0-9a-f]{2})(-.*)?", re.DOTALL)
_FORBIDDEN_VERSION: Final = b"ff"
_FIRST_VERSION: Final = b"00"
_SAMPLED: Final = 0x01


class TraceContext(NamedTuple):
    """Where a request stands in a trace that its caller began."""

    trace_id: str
    """The whole trace; 32 hexadecimal digits."""

    parent_span_id: str
    """The caller's part of it; 16 hexadecimal digits."""

    sampled: bool
    """Whether the caller may have recorded its part."""


def trace_context_from(headers: Iterable[tuple[bytes, bytes]]) -> TraceContext | None:
    """Take the caller's trace context.

    Parameters
    ----------
    headers : iterable of (bytes, bytes)
        Header fields as ASGI hands them over, names in lower case.

    Returns
    -------
    context : TraceContext or None
        None without the field, with two of them, or where it is malformed: the receiver then goes on as if
        nothing had been sent. ``tracestate`` is not looked at.
    """
    sent = [value for name, value in headers if name == _HEADER]
    return _parsed(sent[0]) if len(sent) == 1 else None


def _parsed(value: bytes) -> TraceContext | None:
    form = _FORM.fullmatch(value.strip(b" \t"))
    if form is None:
        return None
    version, trace_id, parent_id, flags, later = form.groups()
    if version == _FORBIDDEN_VERSION or (version == _FIRST_VERSION and later is not None):
        return None
    # Identifiers of nothing but zeros are not valid (sections 3.2.2.3 and 3.2.2.4).
    if not trace_id.strip(b"0") or not parent_id.strip(b"0"):
        return None
    return TraceContext(trace_id.decode(), parent_id.decode(), bool(int(flags, 16) & _SAMPLED))
