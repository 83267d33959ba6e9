"""How the process stops: not ready first, then deaf, then gone."""

import signal
from time import monotonic
from types import FrameType

import uvicorn

from service.observability.lifecycle import Lifecycle


class DrainingServer(uvicorn.Server):
    """A server that goes on answering for a while after SIGTERM.

    A proxy learns from readiness that the instance is leaving; until then it sends requests, and a closed
    port would fail them. SIGINT, which a person sends, stops at once; a second one also leaves behind the
    requests in flight.

    Parameters
    ----------
    config : uvicorn.Config
        How to serve.
    lifecycle : Lifecycle
        Flipped to draining by either signal.
    drain_seconds : float
        How long to go on answering. [s]
    """

    def __init__(self, config: uvicorn.Config, lifecycle: Lifecycle, drain_seconds: float) -> None:
        super().__init__(config)
        self._lifecycle = lifecycle
        self._drain_seconds = drain_seconds
        self._deaf_at: float | None = None

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """Take a signal. The library's own record is left empty, so that a clean stop exits with 0."""
        del frame
        self._lifecycle.draining = True
        if sig == signal.SIGINT:
            self.force_exit = self.should_exit
            self.should_exit = True
        elif self._deaf_at is None:
            self._deaf_at = monotonic() + self._drain_seconds

    async def on_tick(self, counter: int) -> bool:
        """Stop listening once the time to drain is over; the library asks ten times a second."""
        if self._deaf_at is not None and monotonic() >= self._deaf_at:
            self.should_exit = True
        return await super().on_tick(counter)
