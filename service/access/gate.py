"""The gate before the application: hosts, origins of pages (Fetch standard, "CORS protocol"), and keys.

A request without an ``Origin``, or with one that is not listed, is answered as ever, but the browser keeps
the answer from the page: CORS protects callers' pages from one another, not the service.
"""

import re
from collections.abc import Callable, Collection
from dataclasses import dataclass
from typing import Final

from service.access.keys import SHOWN_KEY, BrowserKey, Key, KeyFile, KeyRing, read_keys
from service.access.origins import host_of, only, told_origin, values_of
from service.access.places import EMBEDDED, HEALTH, Places, is_below, is_free, routed_path
from service.observability.exchange import exchange_of
from service.observability.fields import Fields
from service.observability.middleware import Application, Message, OwnFields, Receive, Scope, Send
from service.problems import PROBLEM_MEDIA_TYPE, Refused, problem_bytes

_ALLOW: Final = b"access-control-allow-origin"


_EXPOSED: Final = (
    b"access-control-expose-headers",
    b"Deprecation, ETag, Link, RateLimit, RateLimit-Policy, Retry-After, Sunset, X-Request-ID",
)


_VARIES: Final = (b"vary", b"Origin")


# Access to a private network is never granted: a page of the open web has no business with a service that
# only stands there. What is not stated is refused by the browser.
_PREFLIGHT: Final[OwnFields] = [
    (b"access-control-allow-methods", b"GET, HEAD, POST"),
    (
        b"access-control-allow-headers",
        b"Authorization, Content-Type, If-None-Match, Traceparent, Tracestate, X-Request-ID",
    ),
    # Two hours, the longest that every browser keeps it; each request itself is judged anew.
    (b"access-control-max-age", b"7200"),
]


def shared_with(origin: str | None, path: str, origins: Collection[str], *, varies: bool) -> OwnFields:
    """Write the fields that tell a browser whether a page may read the reply.

    Parameters
    ----------
    origin : str, optional
        Of the page, where the request names one.
    path : str
        That is asked.
    origins : collection of str
        Those that may read.
    varies : bool
        Whether the reply to another origin may carry other fields. Caches must know so even of a reply to no
        origin at all.

    Returns
    -------
    fields : list of (bytes, bytes)
        For every reply to the request, refusals among them: a page can only mend what it can read.
    """
    if is_below(path, EMBEDDED):
        # Scripts and fonts that are the same for everybody, and that pages load with integrity checks.
        return [(_ALLOW, b"*"), _EXPOSED]
    vary = [_VARIES] if varies else []
    if origin is None or origin not in origins:
        return vary
    return [*vary, (_ALLOW, origin.encode("ascii")), _EXPOSED]


def is_preflight(method: str, origin: str | None, asked_method: bytes | None) -> bool:
    """Whether a browser asks before it sends; it cannot show a key when it does."""
    return method == "OPTIONS" and origin is not None and asked_method is not None


def is_shared(fields: OwnFields) -> bool:
    """Whether the fields let a page read the reply."""
    return any(name == _ALLOW for name, _ in fields)


def preflight_fields() -> OwnFields:
    """What a browser is told beside that: which requests it may send, and for how long it may believe so."""
    return list(_PREFLIGHT)


# The scheme in any case (RFC 9110, section 11.1); the form of the token is that of RFC 6750.
_BEARER: Final = re.compile(rb"bearer +([A-Za-z0-9._~+/-]+=*)[ \t]*\Z", re.IGNORECASE)


_SCHEME: Final = re.compile(rb"bearer\b", re.IGNORECASE)


# A request that shows no key is told what is wanted, one whose key is not good also that it is not
# (RFC 6750, section 3.1); neither is told how near it came.
CHALLENGE: Final = 'Bearer realm="lastlamp"'


_MISSING: Final = {"WWW-Authenticate": CHALLENGE}


_UNKNOWN: Final = {"WWW-Authenticate": f'{CHALLENGE}, error="invalid_token"'}


def key_of(headers: Fields, ring: KeyRing) -> Key:
    """Find the key of a request.

    Raises
    ------
    Refused
        ``key-missing`` or ``key-unknown``, with a challenge.
    """
    values = values_of(headers, b"authorization")
    if len(values) > 1:
        detail = "The request has more than one Authorization header. Send one, with one key."
        raise Refused("key-unknown", detail, headers=_UNKNOWN)
    if not values or not _SCHEME.match(values[0]):
        detail = "Send the header `Authorization: Bearer <key>`. The operator of this service gives out keys."
        raise Refused("key-missing", detail, headers=_MISSING)
    match = _BEARER.match(values[0])
    if match is None:
        detail = "What follows Bearer in the Authorization header is not one key. Send it as it was given."
        raise Refused("key-unknown", detail, headers=_UNKNOWN)
    key = ring.find(match[1])
    if key is None:
        detail = "The key is not one of those that are good here. Ask the operator of this service for one."
        raise Refused("key-unknown", detail, headers=_UNKNOWN)
    return key


@dataclass(frozen=True, slots=True)
class Policy:
    """Who may ask."""

    places: Places

    keys: Callable[[], KeyRing] | None = None
    """The keys that are good now; None where everybody may ask."""

    open_origins: frozenset[str] = frozenset()
    """Origins whose pages may read replies where everybody may ask."""

    hosts: frozenset[str] = frozenset()
    """Names under which the service answers; none where it answers under any."""

    @property
    def origins(self) -> frozenset[str]:
        """Origins whose pages may read replies."""
        return self.open_origins if self.keys is None else self.keys().origins

    @property
    def looks_at_origins(self) -> bool:
        """Whether replies to two origins may differ, now or once the keys are read again."""
        return self.keys is not None or bool(self.open_origins)


def keys_of(text: str, path: str, places: Places) -> Callable[[], KeyRing]:
    """Return what gives the keys: those of a text, or those of a file as it stands.

    Raises
    ------
    KeysError
        They cannot be used.
    """
    if path:
        return KeyFile(path, lambda content: read_keys(content, places.studies))
    ring = read_keys(text, places.studies)
    return lambda: ring


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
                told = _told(scope, origin) or "this origin"
                detail = f"Pages of {told} may not read what is answered here."
                raise Refused("origin-not-allowed", detail)
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
            told = _told(scope, origin)
            whence = "none of theirs" if told is None else f"{told}, which is none of theirs"
            detail = f"The key is for pages, and the request comes from {whence}. A program needs another."
            raise Refused("origin-not-allowed", detail)
        if not self._policy.places.may_ask(key.studies, path):
            studies = ", ".join(sorted(key.studies))
            detail = f"The key is for pages, which may ask {studies} and the catalogues, nothing else."
            raise Refused("study-not-allowed", detail, headers=_SCOPE)


def _origin(scope: Scope) -> str | None:
    """The origin of the page that asks, where one is named."""
    value = only(scope["headers"], b"origin")
    return None if value is None else value.decode("latin-1")


def _told(scope: Scope, origin: str | None) -> str | None:
    """The origin of a request that is refused for it; noted, since a browser tells its page nothing."""
    told = None if origin is None else told_origin(origin)
    exchange_of(scope).origin = told
    return told


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
