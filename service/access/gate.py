"""The gate in front of the application: the host, the page's origin, the key, in this order.

It stands inside the envelope, so that a request which does not pass has its id, its line in the log and the
header fields of every reply; and before the router, so that not even a 404 tells what there is.
"""

from typing import Final

from service.access.bearer import CHALLENGE, key_of
from service.access.cross_origin import is_preflight, is_shared, preflight_fields, shared_with
from service.access.fields import only
from service.access.hosts import host_of
from service.access.keys import SHOWN_KEY, BrowserKey
from service.access.places import HEALTH, is_below, is_free, routed_path
from service.access.policy import Policy
from service.observability.envelope import Application, Message, Receive, Scope, Send
from service.observability.exchange import exchange_of
from service.problems import PROBLEM_MEDIA_TYPE, Refused, problem_bytes

NO_CONTENT: Final = 204

_SCOPE: Final = {"WWW-Authenticate": f'{CHALLENGE}, error="insufficient_scope"'}


class Gate:
    """Lets those requests through that may pass.

    Parameters
    ----------
    application : ASGI application
        What stands behind the gate.
    policy : Policy
        Who may ask.
    """

    def __init__(self, application: Application, policy: Policy) -> None:
        self._application = application
        self._policy = policy

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer in place of the application, or let it answer."""
        if scope["type"] != "http":
            await self._application(scope, receive, send)
            return
        try:
            answered_here = self._admit(scope)
        except Refused as refusal:
            await _refuse(scope, refusal, send)
            return
        if answered_here:
            start = {"type": "http.response.start", "status": NO_CONTENT, "headers": preflight_fields()}
            await send(start)
            await send({"type": "http.response.body", "body": b""})
            return
        needs_key = self._policy.keys is not None and not is_free(routed_path(scope))
        await self._application(scope, receive, _unshared(send) if needs_key else send)

    def _admit(self, scope: Scope) -> bool:
        """Let a request pass or refuse it; True where it is a preflight, of which nothing more is wanted."""
        path, origin = routed_path(scope), _origin(scope)
        self._check_host(scope, path)
        fields = shared_with(origin, path, self._policy.origins, varies=self._policy.looks_at_origins)
        exchange_of(scope).more_headers.extend(fields)
        if is_preflight(scope["method"], origin, only(scope["headers"], b"access-control-request-method")):
            if not is_shared(fields):
                raise Refused(
                    "origin-not-allowed", "Pages of this origin may not read what is answered here."
                )
            return True
        if not is_free(path):
            self._check_key(scope, path, origin)
        return False

    def _check_host(self, scope: Scope, path: str) -> None:
        """Refuse a host that the operator did not list; probes call by the address of the day."""
        if not self._policy.hosts or is_below(path, HEALTH):
            return
        if host_of(only(scope["headers"], b"host")) not in self._policy.hosts:
            detail = "The service does not answer under the host that the request names. Check the address."
            raise Refused("host-not-served", detail)

    def _check_key(self, scope: Scope, path: str, origin: str | None) -> None:
        if self._policy.keys is None:
            return
        key = key_of(scope["headers"], self._policy.keys())
        exchange_of(scope).key = key.name
        scope["state"][SHOWN_KEY] = key
        if not isinstance(key, BrowserKey):
            return
        if origin is None or origin not in key.origins:
            detail = (
                "The key is for pages, and the request comes from none of theirs. A program needs another."
            )
            raise Refused("origin-not-allowed", detail)
        if not self._policy.places.may_ask(key.studies, path):
            studies = ", ".join(sorted(key.studies))
            detail = f"The key is for pages, which may ask {studies} and the catalogues, nothing else."
            raise Refused("study-not-allowed", detail, headers=_SCOPE)


def _origin(scope: Scope) -> str | None:
    """The origin of the page that asks, where one is named."""
    value = only(scope["headers"], b"origin")
    return None if value is None else value.decode("latin-1")


def _unshared(send: Send) -> Send:
    """Keep an answer that needed a key from caches that give it to others (RFC 9111, section 3.5)."""

    async def reply(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = [
                (name, value.replace(b"public", b"private") if name.lower() == b"cache-control" else value)
                for name, value in message.get("headers", ())
            ]
            message = {**message, "headers": headers}
        await send(message)

    return reply


async def _refuse(scope: Scope, refusal: Refused, send: Send) -> None:
    exchange = exchange_of(scope)
    exchange.problem = refusal.code
    status, body = problem_bytes(refusal.code, refusal.detail, exchange.request_id)
    headers = [
        (b"content-type", PROBLEM_MEDIA_TYPE.encode("ascii")),
        (b"content-length", b"%d" % len(body)),
        *((name.lower().encode("ascii"), value.encode("ascii")) for name, value in refusal.headers.items()),
    ]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})
