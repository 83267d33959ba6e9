"""A chart that is asked for and the chart that is answered, in SI floats."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from service.studies.work import MAXIMUM_WORK, WORK_OF_A_CELL

if TYPE_CHECKING:
    from service import tables
    from service.studies.cables import Cable
    from service.studies.job import CableSpec, Subject
    from service.studies.window import Bounds

MOST_CELLS = MAXIMUM_WORK // WORK_OF_A_CELL
"""Cells of one chart: a load and a length on one cable each."""

MOST_CELLS_TOGETHER = 500
"""Cells of one chart among others in one request, whose replies stand in memory together."""


class ChartTooLongError(Exception):
    """A chart of more cells than one request may ask for."""

    def __init__(self, cells: int, most: int) -> None:
        super().__init__(f"{cells} cells, at most {most}")
        self.cells = cells
        self.most = most


class ChartLine(NamedTuple):
    """A cable of the chart, with what its caller calls it."""

    subject: Subject
    name: str | None
    cable: CableSpec


class ChartJob(NamedTuple):
    """Loads times lengths for some cables. [W], [m], [V]

    What the caller left open is None: the nominal voltage of the fixtures [V], the power factor [-], the
    temperature of the conductors [°C], the largest drop over the open-circuit voltage [-].
    """

    lines: tuple[ChartLine, ...]
    powers_w: tuple[float, ...]
    lengths_m: tuple[float, ...]
    open_circuit_v: float
    nominal_v: float | None
    power_factor: float | None
    temperature_c: float | None
    maximum_drop_ratio: float | None


class ChartEnd(NamedTuple):
    """What a load gets at the end of its cable [V], what it loses there [-], and the current it draws. [A]"""

    end_v: float
    drop_ratio: float
    current_a: float
    verdict: str


class Cell(NamedTuple):
    """One load at one length [W], [m]; an end is None where the cable cannot carry the load.

    `shortcut_v` is what the trade's constant makes of it; None where there is no constant. [V]
    """

    power_w: float
    length_m: float
    lumped: ChartEnd | None
    spread: ChartEnd | None
    shortcut_v: float | None


class ChartedLine(NamedTuple):
    """One cable with its cells: load by load, each at every length."""

    line: ChartLine
    cable: Cable
    constant: tables.CableConstant | None
    cells: list[Cell]


class Chart(NamedTuple):
    """All cables, the window that was judged by, and what was assumed and used."""

    lines: list[ChartedLine]
    bounds: Bounds
    assumptions: list[str]
    sources: list[str]
