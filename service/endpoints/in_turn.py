"""One sheet at a time is drawn, in a thread, while the event loop goes on answering.

Threads of one process share one interpreter: with as many as there are cores the loop got its turn so rarely
that questions about health waited for seconds, and no sheet was done any sooner.
"""

from asyncio import wait, wrap_future
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextvars import copy_context
from typing import Final, ParamSpec, TypeVar

from service.observability.metrics import count_shed
from service.problems import busy

P = ParamSpec("P")
Drawn = TypeVar("Drawn")

MAXIMUM_WAIT: Final = "maximum_wait_seconds"
"""The name under which the application's state holds how long a sheet may wait for those before it."""

_PEN: Final = ThreadPoolExecutor(max_workers=1, thread_name_prefix="pen")


async def in_turn(wait_seconds: float, draw: Callable[P, Drawn], *args: P.args, **kwargs: P.kwargs) -> Drawn:
    """Draw when those that came before are done.

    Parameters
    ----------
    wait_seconds : float
        How long they may take. [s]
    draw : callable
        What draws; it is called with the rest.

    Raises
    ------
    Refused
        ``busy``: its turn did not come in time, and it was not drawn.
    """
    context = copy_context()
    drawing = _PEN.submit(lambda: context.run(draw, *args, **kwargs))
    done = wrap_future(drawing)
    await wait([done], timeout=wait_seconds)
    if drawing.cancel():
        count_shed()
        raise busy()
    return await done
