"""The order in which a garden is walked: along each run outwards, each branch where it leaves."""

from __future__ import annotations

from typing import TYPE_CHECKING

from service.physics.network import TERMINAL

if TYPE_CHECKING:
    from service.studies.layout import LaidSpan, Layout

RETURN_LEG = "/return_leg"


def walk(layout: Layout) -> list[int]:
    """The turn at which each point is reached, one per point."""
    leaving: list[list[tuple[tuple[int, bool, int, int], int]]] = [[] for _ in layout.places]
    for index, span in enumerate(layout.spans):
        order = _order(span, index)
        leaving[span.start].append((order, span.end))
        leaving[span.end].append((order, span.start))
    turn_of: dict[int, int] = {}
    waiting = [TERMINAL]
    while waiting:
        point = waiting.pop()
        if point not in turn_of:
            turn_of[point] = len(turn_of)
            waiting += [far for _, far in sorted(leaving[point], reverse=True)]
    return [turn_of.get(point, len(turn_of)) for point in range(len(layout.places))]


def _order(span: LaidSpan, index: int) -> tuple[int, bool, int, int]:
    """Run by run; what brings a loop back last; a branch before what lies beyond it."""
    pointer = span.subject.pointer
    return span.feeder, pointer.endswith(RETURN_LEG), -pointer.count("/"), index
