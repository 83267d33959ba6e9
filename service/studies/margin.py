"""By what common factor all loads could grow, found by search where the caller asks for it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from service.physics.certificate import can_be_carried, largest_factor
from service.physics.solve import NoOperatingPointError, solve
from service.studies.outcome import Margin
from service.studies.state import SolvedState
from service.studies.work import WorkOverLimitError, charged, work_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from service.physics.network import Network
    from service.studies.job import Subject


def searched_margin(state: SolvedState, *, certain: float) -> Margin:
    """The largest factor that can be carried, and the one at which the first fixture leaves its window.

    Parameters
    ----------
    state : SolvedState
        Solved at factor 1.
    certain : float
        A factor that is known to be carried. [-]
    """
    if not any(placed.line.load.has_a_nose for placed in state.layout.fixtures):
        return Margin(at_least=certain, absent_because="no-load-that-can-collapse")
    try:
        exact = largest_factor(state.network, paid(can_be_carried), certain=certain)
        return Margin(exact=exact, first_out=first_out_of_window(state))
    except WorkOverLimitError:
        return Margin(at_least=certain, absent_because="work-over-limit")


def paid(holds: Callable[[Network], bool]) -> Callable[[Network], bool]:
    """A condition that costs the work of the state that it solves."""

    def held(network: Network) -> bool:
        with charged(work_of(network.effort)):
            return holds(network)

    return held


def first_out_of_window(state: SolvedState) -> tuple[float, Subject] | None:
    """The factor from which on some fixture is below its window, and that fixture; None where none ever is.

    More load never raises a voltage, so the search by halving is sound.
    """
    factor = largest_factor(
        state.network, paid(lambda network: lowest_outside(state, network) is None), certain=0.0
    )
    just_above = factor * (1.0 + 1.5e-2)
    outside = lowest_outside(state, state.network.scaled(just_above)) if factor > 0.0 else None
    return (factor, outside) if outside is not None else None


def lowest_outside(state: SolvedState, network: Network) -> Subject | None:
    """The fixture farthest below its window in another state of the network, if any is."""
    try:
        point = solve(network)
    except NoOperatingPointError:
        lowest = min(state.fixtures(state.voltages()), key=lambda row: row.voltage_v)
        return lowest.subject
    other = SolvedState(state.job, state.feed, state.layout, network, point)
    below = [
        (row.voltage_v - state.bounds(row.placed.line).lowest_v, index, row.subject)
        for index, row in enumerate(other.fixtures(other.voltages()))
        if row.verdict == "below"
    ]
    return min(below)[2] if below else None
