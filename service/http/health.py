"""Whether the process lives, and whether it should be sent work."""

from litestar import Request, get
from litestar.datastructures import State

from service import __version__
from service.circuit import self_check
from service.circuit.job import SOLVER_FORM
from service.extras import LAYOUT_BOUND
from service.http.tasks import WORKERS, HeavyWork
from service.observability.middleware import Lifecycle
from service.problems import Refused

LIFECYCLE = "lifecycle"
"""The name under which the application's state holds the `Lifecycle`."""


@get("/health/live", sync_to_thread=False)
def live() -> dict[str, str]:
    """Say that the process answers. Nothing else is looked at: a restart would mend nothing else."""
    return {"status": "live", "version": __version__}


@get("/health/ready", sync_to_thread=False)
def ready(request: Request[object, object, State]) -> dict[str, str]:
    """Say whether the process should be sent work.

    Raises
    ------
    Refused
        ``not-ready`` while the service is stopping or no worker can start, or when it no longer reproduces
        a published value: a calculator that is wrong must not be asked.
    """
    lifecycle: Lifecycle = request.app.state[LIFECYCLE]
    if lifecycle.draining:
        raise Refused("not-ready", "The service is stopping. Send the request to another instance.")
    workers: HeavyWork = request.app.state[WORKERS]
    if not workers.are_ready:
        raise Refused("not-ready", "No worker is up. Send the request to another instance.")
    if not self_check.published_value_holds():
        raise Refused(
            "not-ready", "The self-check did not reproduce its published value. Replace this build."
        )
    return {"status": "ready", "version": __version__, "solver": SOLVER_FORM, "layout": LAYOUT_BOUND}
