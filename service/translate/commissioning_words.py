"""Names and sentences of a commissioning sheet: stages, places and columns."""

from __future__ import annotations

from typing import TYPE_CHECKING

from service.physics.network import TERMINAL
from service.studies.commissioning.stages import FIXTURE
from service.studies.job import Graph, Subject
from service.studies.readings.asked import VOLTAGE, Terminal
from service.translate.commissioning_catalogue import COLUMNS, INSTRUCTIONS, PLACES, STAGE_NAMES
from service.translate.readings_reply import listed

if TYPE_CHECKING:
    from service.studies.commissioning.columns import Column
    from service.studies.commissioning.stages import ReadPoint, Stage
    from service.studies.connected import Connected
    from service.translate.naming import Naming


class Wording:
    """Finds the words of one sheet.

    Parameters
    ----------
    connected : Connected
    naming : Naming
    """

    __slots__ = ("_connected", "_graph", "_naming", "_spans")

    def __init__(self, connected: Connected, naming: Naming) -> None:
        self._connected, self._naming = connected, naming
        self._graph = isinstance(connected.job.wiring, Graph)
        spans = connected.layout.spans
        self._spans = {span.subject.pointer: span for span in spans} if self._graph else {}

    def column(self, column: Column) -> str:
        """What a column is for."""
        mains = "" if column.mains_v is None else f"{column.mains_v:.12g} V"
        return COLUMNS[column.code].format(mains=mains)

    def stage(self, stage: Stage) -> str:
        """The name of a stage."""
        return _capital(STAGE_NAMES[stage.code].format(run=self._part(stage)))

    def instruction(self, stage: Stage) -> str:
        """What to do before reading."""
        return INSTRUCTIONS[stage.code].format(run=self._part(stage))

    def place(self, point: ReadPoint) -> str:
        """The name of a place to read."""
        where = point.where
        if isinstance(where, Terminal):
            return self._terminal(where, point.quantity)
        if point.kind == FIXTURE:
            return _capital(self._naming.fixture_at(point.subject))
        if self._graph:
            return self._span(where.pointer)
        return PLACES[point.kind].format(run=self._run(Subject(where.pointer)))

    def _terminal(self, where: Terminal, quantity: str) -> str:
        tap = "" if where.tap_v is None else f"{where.tap_v:.12g} V"
        if where.circuit is not None:
            return PLACES["circuit"].format(circuit=where.circuit)
        if quantity == VOLTAGE:
            return PLACES["tap" if tap else "terminals"].format(tap=tap)
        return PLACES["leaving-tap" if tap else "leaving"].format(tap=tap)

    def _part(self, stage: Stage) -> str:
        """What alone is connected: a run, or all cables of a graph that lead from the supply to one part."""
        if stage.part is None:
            return ""
        if not self._graph:
            return self._run(stage.part.subject)
        spans = [self._spans[start.pointer] for start in stage.part.starts]
        ends = [self._naming.points[span.start + span.end - TERMINAL] for span in spans]
        return f"the cable{'s' if len(ends) > 1 else ''} to {listed(ends)}"

    def _run(self, subject: Subject) -> str:
        """What a run is called."""
        name = self._naming.run(subject)
        return name if name.startswith(("run ", "the ")) else f'"{name}"'

    def _span(self, pointer: str) -> str:
        span, names = self._spans[pointer], self._naming.points
        return PLACES["span"].format(start=names[span.start], end=names[span.end])


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
