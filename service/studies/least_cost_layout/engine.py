"""What solves a linear programme: the engine of the optional extra ``layout``, if it is installed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple, Protocol

from service.extras import LAYOUT_BOUND
from service.studies.least_cost_layout.programme import Bounds, Programme, Standing

RELAXATION = "relaxation"
"""What a bound is proven by with it."""


def available() -> bool:
    """Whether the packages of the extra are installed."""
    return LAYOUT_BOUND == RELAXATION


class Solved(NamedTuple):
    """A point of least cost, the multipliers of rows by their index, and the iterations that it took.

    `infeasible`: there is no such point, and the multipliers are those that show it, or none.
    """

    values: Sequence[float]
    multipliers: Mapping[int, float]
    iterations: int
    infeasible: bool = False


class Engine(Protocol):
    """Solves a programme, again and again while rows are added to it."""

    def fix(self, bounds: Bounds) -> None:
        """Fix columns of a branch, and free all others."""

    def stand(self, standing: Standing) -> None:
        """Let rows stand as they do in a case, and all others as they are."""

    def solve(self, most_iterations: int) -> Solved | None:
        """The programme as it stands; None where there is none of its clear answers."""


def engine_of(programme: Programme) -> Engine:
    """The engine, which is loaded here and nowhere else: it takes megabytes."""
    from service.studies.least_cost_layout.highs import Highs  # noqa: PLC0415  # an optional extra

    return Highs(programme)
