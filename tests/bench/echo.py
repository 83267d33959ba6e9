"""What the framework alone can do: the same body decoded by the same decoder, a stored reply of equal size.

Serves with the same server, wrapper and settings as the service, so that the difference is the calculation.
"""

import os
from pathlib import Path
from typing import Any

from litestar import Litestar, Request, Response, post
from litestar.datastructures import State

from service.http.refusals import HANDLERS, last_resort
from service.http.replies import MAXIMUM_BODY, posted_body
from service.intake import decode
from service.observability.logs import configure
from service.observability.middleware import Lifecycle, Middleware
from service.server.listening import open_socket
from service.server.serving import serve
from service.settings import read_settings
from service.studies.record import JSON
from service.studies.voltage_drop.request import VoltageDropRequest


def build(stored: bytes) -> Middleware:
    """The echo application."""

    @post("/v1/voltage-drop", status_code=200)
    async def echo(request: Request[Any, Any, Any]) -> Response[bytes]:
        decode(await posted_body(request), VoltageDropRequest)
        return Response(stored, media_type=JSON)

    settings = read_settings(os.environ)
    framework: Any = Litestar(
        [echo],
        exception_handlers=HANDLERS,
        openapi_config=None,
        state=State({MAXIMUM_BODY: settings.maximum_body_bytes}),
    )
    configure(settings.log_level)
    return Middleware(framework, {"/v1/voltage-drop"}, Lifecycle(), last_resort)


if __name__ == "__main__":
    asked = read_settings(os.environ)
    serve(build(Path(os.environ["STORED_REPLY"]).read_bytes()), asked, open_socket(asked.bind))
