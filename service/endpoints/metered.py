"""The work of a request as its caller's quota sees it: what it may cost is held before it is done."""

from typing import Any

from litestar import Request

from service.access.quotas import Caller, meter_of
from service.studies.work import HEAVY_WORK, begin_request

AnyRequest = Request[Any, Any, Any]


def begin(request: AnyRequest, size: int) -> None:
    """Begin to count the work of a request, before it is read.

    Parameters
    ----------
    request : Request
    size : int
        Of what it asks with. [bytes]

    Raises
    ------
    Refused
        ``quota-spent``.
    """
    begin_request()
    meter = meter_of(request.scope)
    if meter is not None:
        meter.admit(size)


def reserve(request: AnyRequest, work: int) -> None:
    """Hold what the answer may cost at most, before it is worked out.

    Raises
    ------
    Refused
        ``quota-spent`` or ``heavy-in-progress``.
    """
    meter = meter_of(request.scope)
    if meter is not None:
        meter.reserve(work, is_heavy=work > HEAVY_WORK)


def caller_of(request: AnyRequest) -> Caller | None:
    """Whose request it is; None where nobody tells callers apart."""
    meter = meter_of(request.scope)
    return None if meter is None else meter.caller
