"""The plain ASGI wrapper around the application.

A framework's middleware does not run for the 404 and 405 that its router answers, so whatever must hold for
every reply is done here, once: the request id, the header fields, HEAD, and telling the watch of each
request. It is told the route's template, never the path as sent, and nothing of the body.
"""

from collections.abc import Awaitable, Callable, Collection, MutableMapping
from typing import Any

from service.observability.exchange import CURRENT, STATE_KEY, UNMATCHED, Exchange, exchange_from
from service.observability.lifecycle import Lifecycle
from service.observability.reply_headers import dressed
from service.observability.watch import Watch

Message = MutableMapping[str, Any]
Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
Application = Callable[[Scope, Receive, Send], Awaitable[None]]
Problem = Callable[[str], tuple[int, bytes]]


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
    entrance : callable, optional
        From the application to an ASGI application before it, which may answer in its place.

    Attributes
    ----------
    watch : Watch
        Who is told of each request. A server adds observers, and tells it of what never got here.
    """

    def __init__(
        self,
        application: Application,
        templates: Collection[str],
        lifecycle: Lifecycle,
        last_resort: Problem,
        entrance: Callable[[Application], Application] = lambda application: application,
    ) -> None:
        self.application = application
        self._entrance = entrance(application)
        self.lifecycle = lifecycle
        self._templates = frozenset(templates)
        self._last_resort = last_resort
        self.watch = Watch()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or pass the server's lifespan through."""
        if scope["type"] != "http":
            await self.application(scope, receive, send)
            return
        method = scope["method"]
        exchange = exchange_from(scope["headers"], method)
        # In the server's own scope, where it finds the exchange when it must answer in our place.
        scope.setdefault("state", {})[STATE_KEY] = exchange
        inner: Scope = {**scope, "method": "GET" if method == "HEAD" else method}
        reply = self._sender(exchange, send, bodiless=method == "HEAD")
        self.watch.began(exchange)
        current = CURRENT.set(exchange)
        try:
            await self._entrance(inner, _receiver(exchange, receive), reply)
        except Exception:  # noqa: BLE001  # nothing stands above to catch it, and the client must get a reply
            self.watch.failed(exchange)
            await self._answer_last_resort(exchange, reply)
        finally:
            CURRENT.reset(current)
            exchange.route = self._route(inner, scope["path"])
            self.watch.ended(exchange)

    def _sender(self, exchange: Exchange, send: Send, *, bodiless: bool) -> Send:
        async def reply(message: Message) -> None:
            if message["type"] == "http.response.start":
                exchange.status = message["status"]
                headers = dressed([*message.get("headers", ()), *exchange.more_headers], exchange.request_id)
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
        return template or (path if path in self._templates else UNMATCHED)


def _receiver(exchange: Exchange, receive: Receive) -> Receive:
    async def noted() -> Message:
        message = await receive()
        if message["type"] == "http.disconnect" and not exchange.status:
            exchange.disconnected = True
        return message

    return noted
