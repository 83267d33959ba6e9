"""The plain ASGI wrapper around the application, what every reply carries, and whether new work is wanted.

A framework's middleware does not run for the 404 and 405 that its router answers, so whatever must hold for
every reply is done here, once: the request id, the header fields, HEAD, and telling the watch of each
request. It is told the route's template, never the path as sent, and nothing of the body.
"""

from collections.abc import Awaitable, Callable, Collection, MutableMapping
from dataclasses import dataclass
from typing import Any

from service.observability.exchange import CURRENT, HEADER, STATE_KEY, UNMATCHED, Exchange, exchange_from
from service.observability.fields import Fields
from service.observability.watch import Watch

Message = MutableMapping[str, Any]


Scope = MutableMapping[str, Any]


Receive = Callable[[], Awaitable[Message]]


Send = Callable[[Message], Awaitable[None]]


Application = Callable[[Scope, Receive, Send], Awaitable[None]]


OwnFields = list[tuple[bytes, bytes]]
"""Header fields that are written."""


Problem = Callable[[str], tuple[int, bytes]]


def _receiver(exchange: Exchange, receive: Receive) -> Receive:
    async def noted() -> Message:
        message = await receive()
        if message["type"] == "http.disconnect" and not exchange.status:
            exchange.disconnected = True
        return message

    return noted


@dataclass(slots=True)
class Lifecycle:
    """The one thing that changes while the service runs.

    On SIGTERM readiness flips first and requests are still answered for a while: a proxy that has not noticed
    yet would otherwise send them to a closed port.
    """

    draining: bool = False
    """True from the moment that the service was asked to stop."""


class Middleware:
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
        The observers of each request. A server adds more, and reports what never got here.
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


_ALWAYS: OwnFields = [(b"x-content-type-options", b"nosniff"), (b"referrer-policy", b"no-referrer")]


# A reply that is not a page has nothing to load, run or be framed by.
_NOT_A_PAGE = (b"content-security-policy", b"default-src 'none'; frame-ancestors 'none'")


# An answer is true for the tables of today; only what says otherwise may be kept.
_NOT_KEPT = (b"cache-control", b"no-store")


def dressed(headers: Fields, request_id: str) -> OwnFields:
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
    reply: OwnFields = []
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
