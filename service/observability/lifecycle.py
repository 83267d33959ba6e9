"""Whether this process still wants new work."""

from dataclasses import dataclass


@dataclass(slots=True)
class Lifecycle:
    """The one thing that changes while the service runs.

    On SIGTERM readiness flips first and requests are still answered for a while: a proxy that has not noticed
    yet would otherwise send them to a closed port.
    """

    draining: bool = False
    """True from the moment that the service was asked to stop."""
