"""Counts the work of requests against their callers' quotas, between the gate and the application."""

from collections.abc import Collection
from typing import Final

from service.access.client_address import ClientAddresses
from service.access.keys import SHOWN_KEY, BrowserKey, Key
from service.access.places import routed_path
from service.access.quotas import Caller, Quotas, begin_meter
from service.observability.exchange import exchange_of
from service.observability.middleware import Application, Message, Receive, Scope, Send

_METERED: Final = ("POST", "GET")


class Metering:
    """Gives each request for a calculation a meter, and settles it whatever becomes of the request.

    Parameters
    ----------
    application : ASGI application
        What answers, and tells the meter what it is about to do.
    paths : collection of str
        Of the calculations. Catalogues cost nothing worth counting.
    quotas : Quotas
        Of all callers.
    addresses : ClientAddresses
        Tells callers apart where no secret does.
    """

    def __init__(
        self,
        application: Application,
        paths: Collection[str],
        quotas: Quotas,
        addresses: ClientAddresses,
    ) -> None:
        self._application = application
        self._paths = frozenset(paths)
        self._quotas = quotas
        self._addresses = addresses

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let the application answer, and charge for it."""
        is_metered = scope["type"] == "http" and scope["method"] in _METERED
        if not is_metered or routed_path(scope) not in self._paths:
            await self._application(scope, receive, send)
            return
        meter = self._quotas.meter(self._caller(scope))
        begin_meter(scope, meter)

        def settle() -> None:
            meter.settle(sum(exchange_of(scope).work.values()))

        async def reply(message: Message) -> None:
            if message["type"] == "http.response.start":
                settle()
                # A reply that may be kept would tell others, and later, what was true of one caller once.
                if scope["method"] == "POST":
                    exchange_of(scope).more_headers.extend(meter.fields())
            await send(message)

        try:
            await self._application(scope, receive, reply)
        finally:
            settle()

    def _caller(self, scope: Scope) -> Caller:
        key: Key | None = scope["state"].get(SHOWN_KEY)
        if key is not None and not isinstance(key, BrowserKey):
            return Caller(key.name, None)
        peer = scope.get("client")
        address = self._addresses.client(peer[0] if peer else None, scope["headers"])
        return Caller(key.name if key else None, address)
