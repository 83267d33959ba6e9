"""From a job to its solved state."""

from __future__ import annotations

from typing import TYPE_CHECKING

from service.physics.network import build_network
from service.physics.solve import solve
from service.studies.connected import connect_job
from service.studies.state import SolvedState
from service.studies.work import JOINED, LAID, charged, count, work_of

if TYPE_CHECKING:
    from service.physics.network import Network
    from service.studies.connected import Connected
    from service.studies.job import Job


def network_of(connected: Connected) -> Network:
    """The circuit of a connected job, all on."""
    layout = connected.layout
    network = build_network(
        layout.open_circuit_v,
        layout.network_spans(),
        layout.loads(all_in_phase=connected.job.all_in_phase),
        source_resistance=connected.feed.source_resistance,
    )
    count(LAID * network.points + JOINED * (network.effort - network.points))
    return network


def solve_connected(connected: Connected, network: Network) -> SolvedState:
    """Solve a connected job.

    Raises
    ------
    NoOperatingPointError
        The wiring cannot carry the load.
    WorkOverLimitError
        The request has spent the work that it may ask for.
    """
    with charged(work_of(network.effort)):
        point = solve(network)
    return SolvedState(connected.job, connected.feed, connected.layout, network, point)


def solve_job(job: Job) -> SolvedState:
    """Connect, lay and solve a job, all on.

    Raises
    ------
    NoOperatingPointError
        The wiring cannot carry the load.
    JobTooLargeError, WiringContradictoryError
        It cannot be laid.
    """
    connected = connect_job(job)
    return solve_connected(connected, network_of(connected))
