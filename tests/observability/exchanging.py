"""Requests through an envelope of our own, and what the registry says of them."""

import asyncio
from typing import Any

from service.observability.metrics import REGISTRY
from service.observability.middleware import Lifecycle, Message, Middleware, Receive, Scope, Send
from service.observability.watch import Observer

TEMPLATE = "/v1/thing"


def answering(status: int = 200, template: str | None = TEMPLATE) -> Any:
    async def application(scope: Scope, receive: Receive, send: Send) -> None:
        if template is not None:
            scope["path_template"] = template
        await receive()
        await send({"type": "http.response.start", "status": status, "headers": []})
        await send({"type": "http.response.body", "body": b"{}"})

    return application


def exchanged(application: Any, *observers: Observer, **scope: Any) -> list[Message]:
    """Send one request through an envelope with observers; return what reached the server."""
    sent: list[Message] = []

    async def receive() -> Message:
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: Message) -> None:
        sent.append(message)

    envelope = Middleware(application, {TEMPLATE}, Lifecycle(), lambda request_id: (500, request_id.encode()))
    envelope.watch.observers.extend(observers)
    request = {"type": "http", "method": "GET", "path": TEMPLATE, "headers": [], **scope}
    asyncio.run(envelope(request, receive, send))
    return sent


def counted(name: str, **labels: str) -> float:
    """Return the value of a series, 0 where it does not exist yet."""
    return REGISTRY.get_sample_value(name, labels) or 0.0
