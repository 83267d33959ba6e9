"""The plain ASGI wrapper around the application.

A framework's middleware does not run for the 404 and 405 that its router answers, so whatever must hold for
every reply is done here, once: the request id, the header fields, HEAD, and one log line a request. The line
names the route's template, never the path as sent, and nothing of the body.
"""

from collections.abc import Awaitable, Callable, Collection, MutableMapping
from time import perf_counter
from typing import Any

import structlog

from service.observability.exchange import STATE_KEY, Exchange
from service.observability.lifecycle import Lifecycle
from service.observability.reply_headers import dressed
from service.observability.request_id import request_id_from

Message = MutableMapping[str, Any]
Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
Application = Callable[[Scope, Receive, Send], Awaitable[None]]
Problem = Callable[[str], tuple[int, bytes]]

CLIENT_LEFT = 499
"""What the log says in place of a status when nobody was left to read it (customary, no registered code)."""

FAILED = 500


class Envelope:
    """The application as a server sees it.

    Parameters
    ----------
    application : ASGI application
        What answers.
    templates : collection of str
        The route templates, to name a path whose method is not allowed.
    lifecycle : Lifecycle
        Shared with whoever stops the service; while it drains, replies ask clients to reconnect elsewhere.
    last_resort : callable
        From a request id to status and body of the problem for an error that the application let through.
    """

    def __init__(
        self, application: Application, templates: Collection[str], lifecycle: Lifecycle, last_resort: Problem
    ) -> None:
        self.application = application
        self.lifecycle = lifecycle
        self._templates = frozenset(templates)
        self._last_resort = last_resort
        self._log = structlog.get_logger().bind()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or pass the server's lifespan through."""
        if scope["type"] != "http":
            await self.application(scope, receive, send)
            return
        started = perf_counter()
        method = scope["method"]
        exchange = Exchange(request_id_from(scope["headers"]))
        inner: Scope = {**scope, "method": "GET" if method == "HEAD" else method}
        inner["state"] = {**scope.get("state", {}), STATE_KEY: exchange}
        reply = self._sender(exchange, send, bodiless=method == "HEAD")
        try:
            await self.application(inner, _receiver(exchange, receive), reply)
        except Exception:  # noqa: BLE001  # nothing stands above to catch it, and the client must get a reply
            self._log.exception("unhandled", request_id=exchange.request_id)
            await self._answer_last_resort(exchange, reply)
        finally:
            self._write_line(exchange, method, self._route(inner, scope["path"]), perf_counter() - started)

    def _sender(self, exchange: Exchange, send: Send, *, bodiless: bool) -> Send:
        async def reply(message: Message) -> None:
            if message["type"] == "http.response.start":
                exchange.status = message["status"]
                headers = dressed(message.get("headers", ()), exchange.request_id)
                if self.lifecycle.draining:
                    headers.append((b"connection", b"close"))
                message = {**message, "headers": headers}
            elif bodiless:
                message = {**message, "body": b""}
            await send(message)

        return reply

    async def _answer_last_resort(self, exchange: Exchange, reply: Send) -> None:
        if exchange.status:
            return
        exchange.problem = "internal-error"
        status, body = self._last_resort(exchange.request_id)
        headers = [(b"content-type", b"application/problem+json"), (b"content-length", b"%d" % len(body))]
        await reply({"type": "http.response.start", "status": status, "headers": headers})
        await reply({"type": "http.response.body", "body": body})

    def _route(self, inner: Scope, path: str) -> str:
        template: str | None = inner.get("path_template")
        return template or (path if path in self._templates else "unmatched")

    def _write_line(self, exchange: Exchange, method: str, route: str, seconds: float) -> None:
        line = {
            "method": method,
            "route": route,
            "status": CLIENT_LEFT if exchange.disconnected else exchange.status,
            "duration_ms": round(seconds * 1000, 3),
            "request_id": exchange.request_id,
        }
        if exchange.problem and not exchange.disconnected:
            line["problem"] = exchange.problem
        # Not ready (503) is an ordinary answer; only a failure of ours should wake somebody.
        write = self._log.error if exchange.status == FAILED else self._log.info
        write("request", **line)


def _receiver(exchange: Exchange, receive: Receive) -> Receive:
    async def noted() -> Message:
        message = await receive()
        if message["type"] == "http.disconnect" and not exchange.status:
            exchange.disconnected = True
        return message

    return noted
