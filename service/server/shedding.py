"""Refuses at once what could only be answered late.

What is light is computed in the event loop, so what waits for its turn waits here: in tasks not yet started.
With twice the requests that a process can answer that queue, and every wait in it, would grow until clients
gave up, and the process would spend its time on answers that nobody reads any more. Two rules keep it short:
no more than so many requests may wait, however small; and one that has waited too long, behind large ones, is
not worth starting. A third keeps memory: bodies that still arrive take no place, but so many bytes at most.
"""

from collections.abc import Callable
from time import monotonic
from typing import Any, Final

import structlog
from uvicorn.protocols.http.httptools_impl import RequestResponseCycle

from service.observability.exchange import ARRIVED, request_id_from
from service.observability.fields import Fields
from service.observability.middleware import Application, Message, Receive, Scope, Send
from service.problems import BUSY_DETAIL, RETRY_AFTER_SECONDS, busy, problem_bytes
from service.server.bounds import FOR_ANY_PAGE, BoundedProtocol, whole_reply
from service.settings import Settings

SPARE_CONNECTIONS: Final = 32
"""Connections over the bound, held for questions about health: whoever asks them restarts what is silent."""


SMALL_BYTES: Final = 65_536
"""A body that is never refused for what others hold, or a few slow large ones would shut out all the rest."""


MOST_HELD_BYTES: Final = 134_217_728
"""Of all bodies together that wait or still arrive: few are as large as one may be."""


_HEALTH: Final = "/health/"


_IS_WAITING: Final = "is_waiting"


_HELD: Final = "held_bytes"


class Queue:
    """What waits for its turn in this process, and what was refused for want of room.

    Parameters
    ----------
    settings : Settings
        The bounds.
    count_shed : callable
        Called for each request that is refused.
    """

    def __init__(self, settings: Settings, count_shed: Callable[[], None]) -> None:
        self.maximum_in_progress = settings.maximum_in_progress
        self.maximum_wait_seconds = settings.maximum_wait_seconds
        self.maximum_connections = settings.maximum_connections
        self._most_held_bytes = min(
            settings.maximum_in_progress * settings.maximum_body_bytes,
            max(settings.maximum_body_bytes, MOST_HELD_BYTES),
        )
        self._waiting = 0
        self._held_bytes = 0
        self._count_shed = count_shed
        self._unlogged = 0
        self._logged_at = 0.0
        self._log = structlog.get_logger()

    @property
    def is_full(self) -> bool:
        """Whether as many requests wait as may."""
        return self._waiting >= self.maximum_in_progress

    def joined(self, state: Message) -> None:
        """Count a request that is whole; were others counted, slow clients could shut out the quick."""
        state[ARRIVED] = monotonic()
        state[_IS_WAITING] = True
        self._waiting += 1

    def left(self, state: Message) -> None:
        """Count a request no more, answered or not."""
        self._held_bytes -= state.pop(_HELD, 0)
        if state.pop(_IS_WAITING, False):
            self._waiting -= 1

    def take(self, state: Message, message: Message) -> None:
        """Look at a part of a body before the application gets it.

        Raises
        ------
        Refused
            ``busy``, which the application answers like any other refusal: the request is whole and waited
            too long, or is large where all together hold more than those that may wait could.
        """
        size = len(message.get("body", b""))
        state[_HELD] = state.get(_HELD, 0) + size
        self._held_bytes += size
        is_late = ARRIVED in state and monotonic() - state[ARRIVED] > self.maximum_wait_seconds
        is_too_much = self._held_bytes > self._most_held_bytes and state[_HELD] > SMALL_BYTES
        if is_late or is_too_much:
            self.note_shed()
            raise busy()

    def note_shed(self) -> None:
        """Count a refusal; the log has a line a second, since one for each would cost what it saves."""
        self._count_shed()
        self._unlogged += 1
        if (now := monotonic()) >= self._logged_at + 1.0:
            self._log.warning("shed", requests=self._unlogged)
            self._unlogged, self._logged_at = 0, now


class Turnstile:
    """The application, asked only for requests whose turn came in time.

    Parameters
    ----------
    application : ASGI application
        What answers.
    queue : Queue
        Shared with every connection.
    """

    def __init__(self, application: Application, queue: Queue) -> None:
        self._application = application
        self._queue = queue

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass one request on, looking at its clock when its body is whole."""
        if scope["type"] != "http":
            await self._application(scope, receive, send)
            return
        state = scope["state"]

        async def next_part() -> Message:
            message = await receive()
            if message["type"] == "http.request":
                self._queue.take(state, message)
            return message

        async def reply(message: Message) -> None:
            # Before the last bytes: with them the server starts the next request of the same connection.
            if message["type"] == "http.response.body" and not message.get("more_body", False):
                self._queue.left(state)
            await send(message)

        try:
            await self._application(scope, next_part, reply)
        finally:
            self._queue.left(state)


class SheddingProtocol(BoundedProtocol):
    """One connection that refuses a request for which there is no room, before a task is made for it."""

    queue: Queue

    def connection_made(self, transport: Any) -> None:  # noqa: ANN401  # as the library has it
        """Turn away what is over the bound; hold a few spare connections for health alone."""
        super().connection_made(transport)
        over = len(self.connections) - self.queue.maximum_connections
        self._is_spare = over > 0
        if over > SPARE_CONNECTIONS:
            self.queue.note_shed()
            transport.write(_busy_reply((), keep_alive=False, bodiless=False))
            transport.close()

    def on_message_complete(self) -> None:
        """Take a place in the queue, now that only the service is waited for."""
        super().on_message_complete()
        is_asked_for = all(waiting is not self.cycle for waiting, _ in self.pipeline)
        if is_asked_for and not self.cycle.response_complete:
            self.queue.joined(self.cycle.scope["state"])

    def _start_asgi_task(self, cycle: RequestResponseCycle, app: Any) -> None:  # noqa: ANN401  # as the library has it
        is_refused = self._is_spare or self.queue.is_full
        if is_refused and not cycle.scope["path"].startswith(_HEALTH):
            self._shed(cycle)
            return
        if not cycle.more_body:
            # It came whole while the one before it was answered.
            self.queue.joined(cycle.scope["state"])
        super()._start_asgi_task(cycle, app)

    def _shed(self, cycle: RequestResponseCycle) -> None:
        self.queue.note_shed()
        # Whoever sends on without waiting would be refused in a loop, each reply inside the last.
        keep_alive = cycle.keep_alive and not self._is_spare and not self.pipeline
        bodiless = cycle.scope["method"] == "HEAD"
        self.transport.write(_busy_reply(cycle.scope["headers"], keep_alive=keep_alive, bodiless=bodiless))
        cycle.response_started = cycle.response_complete = True
        if not keep_alive:
            self.transport.close()
        self.on_response_complete()


def _busy_reply(fields: Fields, *, keep_alive: bool, bodiless: bool) -> bytes:
    """Write a whole reply for a request that does not reach the application."""
    request_id = request_id_from(fields)
    status, body = problem_bytes("busy", BUSY_DETAIL, request_id)
    extra = [(b"retry-after", RETRY_AFTER_SECONDS.encode("ascii")), *FOR_ANY_PAGE]
    reply = whole_reply(status, body, request_id, extra, keep_alive=keep_alive)
    return reply.removesuffix(body) if bodiless else reply


def shedding(protocol: type[Any], queue: Queue) -> type[Any]:
    """Return the connection class with a queue, as the server library wants it."""
    return type("SheddingProtocol", (SheddingProtocol, protocol), {"queue": queue})
