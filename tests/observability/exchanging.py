"""Requests through an envelope of our own, and what the registry says of them."""

import asyncio
import json
from typing import Any

from service.observability.metrics import REGISTRY
from service.observability.middleware import Lifecycle, Message, Middleware, Receive, Scope, Send
from service.observability.watch import Observer

TEMPLATE = "/v1/thing"


JSON = [(b"content-type", b"application/json")]


def answering(status: int = 200, template: str | None = TEMPLATE, body: bytes = b"{}") -> Any:
    async def application(scope: Scope, receive: Receive, send: Send) -> None:
        if template is not None:
            scope["path_template"] = template
        await receive()
        headers = [*JSON, (b"content-length", b"%d" % len(body))]
        await send({"type": "http.response.start", "status": status, "headers": headers})
        await send({"type": "http.response.body", "body": body})

    return application


def exchanged(
    application: Any,
    *observers: Observer,
    received: Message | None = None,
    lifecycle: Lifecycle | None = None,
    **scope: Any,
) -> list[Message]:
    """Send one request through an envelope with observers; return what reached the server."""
    sent: list[Message] = []

    async def receive() -> Message:
        return received or {"type": "http.request", "body": b"a secret", "more_body": False}

    async def send(message: Message) -> None:
        sent.append(message)

    def last_resort(request_id: str) -> tuple[int, bytes]:
        return 500, json.dumps({"request_id": request_id}).encode()

    envelope = Middleware(application, {TEMPLATE}, lifecycle or Lifecycle(), last_resort)
    envelope.watch.observers.extend(observers)
    request = {"type": "http", "method": "GET", "path": TEMPLATE, "headers": [], **scope}
    asyncio.run(envelope(request, receive, send))
    return sent


def counted(name: str, **labels: str) -> float:
    """Return the value of a series, 0 where it does not exist yet."""
    return REGISTRY.get_sample_value(name, labels) or 0.0
