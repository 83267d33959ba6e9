"""The body of a calculation, taken the same way for each."""

from typing import Any, Final

from litestar import Request

from service.endpoints.encoding import JSON
from service.intake import check_headers, negotiate
from service.studies.work import begin_request

MAXIMUM_BODY: Final = "maximum_body_bytes"
"""The name under which the application's state holds the largest body that is read."""

AnyRequest = Request[Any, Any, Any]


async def posted_body(request: AnyRequest, offered: tuple[str, ...] = (JSON,)) -> bytes:
    """The body of a calculation, once its headers have shown that it can be read and answered.

    `offered` are the media types in which it can be.

    Raises
    ------
    Refused
        415 before the body is read; 406 where none of the offered types is accepted.
    """
    headers = request.headers
    check_headers(
        headers.get("content-type"),
        headers.get("content-encoding"),
        headers.get("content-length"),
        request.app.state[MAXIMUM_BODY],
    )
    negotiate(headers.get("accept"), offered)
    begin_request()
    return await request.body()
