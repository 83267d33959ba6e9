"""What every search for a cause starts from: the model, how the readings follow it, and what was read."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterator

    from service.studies.readings.model import Change, Model, Taken
    from service.studies.readings.routes import Routes
    from service.studies.readings.slopes import Slopes

USUAL_LOG = 1.0
"""A resistance off by a factor of e surprises nobody. [-]"""


class Basis(NamedTuple):
    """The model, the readings and their slopes, nothing being wrong.

    `urge` says which way each reading pulls: its discrepancy over its variance. [1/V], [1/A]
    """

    model: Model
    routes: Routes
    taken: list[Taken]
    slopes: list[Slopes]
    urge: list[float]

    def cable_spans(self) -> Iterator[tuple[int, float]]:
        """Spans that somebody cut and joined, leads and strips apart, and their resistance. [ohm]"""
        for index, span in enumerate(self.model.connected.layout.spans):
            if span.cable_at:
                yield index, span.resistance_ohm


def fixed(change: Change, _: float) -> Change:
    """The change of a cause that has no size."""
    return change
