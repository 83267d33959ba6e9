"""Room for open connections: each takes a file descriptor, and a process has a limit of them."""

import resource
from typing import Final

import structlog

OTHERS: Final = 64
"""Descriptors for all else: the log, the listener, the loop, modules that load late."""


def connections_with_room(wanted: int) -> int:
    """Make room for connections, as far as the machine allows.

    Parameters
    ----------
    wanted : int
        How many connections are to be open at once.

    Returns
    -------
    connections : int
        `wanted`, or as many as fit; the log then says so. Without descriptors the server could accept nobody,
        not even to refuse.
    """
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    needed = wanted + OTHERS
    if soft == resource.RLIM_INFINITY or soft >= needed:
        return wanted
    allowed = needed if hard == resource.RLIM_INFINITY else min(needed, hard)
    resource.setrlimit(resource.RLIMIT_NOFILE, (allowed, hard))
    if allowed < needed:
        fit = max(1, allowed - OTHERS)
        structlog.get_logger().warning("few-descriptors", limit=hard, connections=fit)
        return fit
    return wanted
