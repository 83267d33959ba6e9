"""A client that calls an ASGI application directly, for every room that answers over HTTP."""

import asyncio
from typing import Any

import httpx


class Client:
    """Sends one request at a time and returns the whole reply.

    Parameters
    ----------
    app : ASGI application
        What is called.
    peer : str, optional
        The address from which it is.
    """

    def __init__(self, app: Any, peer: str = "127.0.0.1") -> None:
        self._transport = httpx.ASGITransport(app=app, raise_app_exceptions=False, client=(peer, 40_123))

    def request(self, method: str, path: str, **options: Any) -> httpx.Response:
        async def send() -> httpx.Response:
            async with httpx.AsyncClient(transport=self._transport, base_url="http://test") as client:
                return await client.request(method, path, **options)

        return asyncio.run(send())

    def get(self, path: str, **options: Any) -> httpx.Response:
        return self.request("GET", path, **options)

    def post(self, path: str, **options: Any) -> httpx.Response:
        return self.request("POST", path, **options)
