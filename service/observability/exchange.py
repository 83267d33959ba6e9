"""One request and its reply, as far as an operator is concerned."""

from dataclasses import dataclass
from typing import Any

STATE_KEY = "exchange"


@dataclass(slots=True)
class Exchange:
    """What becomes known about a request while it is answered. Never any of its content."""

    request_id: str
    """The id that the client sent, or a new one."""

    status: int = 0
    """The status of the reply; 0 until it starts."""

    problem: str | None = None
    """The code of the problem, where the reply is one."""

    disconnected: bool = False
    """Whether the client went away before its request was whole."""


def exchange_of(scope: Any) -> Exchange:  # noqa: ANN401  # each framework has a scope type of its own
    """Return the exchange that the envelope opened for this request.

    Parameters
    ----------
    scope : mapping
        The ASGI scope.

    Returns
    -------
    exchange : Exchange
        To be filled in by whoever learns something.
    """
    exchange: Exchange = scope["state"][STATE_KEY]
    return exchange
