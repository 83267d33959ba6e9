"""What is left at the end of each cable, for loads times lengths, beside the trade's shortcut.

Each estimate follows the charges of its study, with as many points as the wiring may need at most. What a
state takes beyond the usual because it is near its limit is not foreseen.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final, NamedTuple

from service import tables
from service.circuit.cables import Cable, resolve_cable
from service.circuit.estimate import (
    Estimate,
    estimate_of,
)
from service.circuit.job import CableSpec, JobPart, Listed
from service.circuit.limits import over_ampacity, over_drop
from service.circuit.state import DEFAULT_TEMPERATURE_C
from service.circuit.windows import REFERENCE_NOMINAL_V, WindowBounds, usual_bounds
from service.circuit.work import (
    CHARTED,
    MAXIMUM_WORK,
    WORK_OF_A_CELL,
    charge,
    count,
    work_of_cells,
)
from service.findings.assumptions import (
    CONDUCTOR_20_DEGREES,
    CONDUCTOR_COPPER,
    CONDUCTOR_DERIVED,
    CONDUCTOR_STRANDED,
    FIXTURES_12_VOLT,
    POWER_FACTOR_ONE,
    SUPPLY_IDEAL,
    TAKEN,
    WINDOW_DEFAULT,
    AssumptionKind,
)
from service.physics.end_voltage import EndState, even_spread, lumped_end
from service.problems.catalogue import WORK_OVER_LIMIT
from service.problems.unanswered import UnansweredError


def drop_chart_work(job: ChartJob) -> Estimate:
    """Of a chart: its cells."""
    return estimate_of(work_of_cells(len(job.lines) * len(job.powers_w) * len(job.lengths_m)), 0)


def _charted(job: ChartJob, line: ChartLine, bounds: WindowBounds, nominal_v: float) -> ChartedLine:
    """One cable at its temperature, load by load."""
    temperature_c = DEFAULT_TEMPERATURE_C if job.temperature_c is None else job.temperature_c
    cable = resolve_cable(line.cable, temperature_c)
    constant = constant_of(line.cable, nominal_v)
    judge = _Judge(job, cable, bounds)
    cells = [
        judge.cell(
            power_w,
            length_m,
            None
            if constant is None
            else shortcut_end_v(job.open_circuit_v, constant, power_w=power_w, length_m=length_m),
        )
        for power_w in job.powers_w
        for length_m in job.lengths_m
    ]
    return ChartedLine(line, cable, constant, cells)


class _Judge:
    """Solves and judges the cells of one cable."""

    __slots__ = ("_bounds", "_cable", "_job", "_power_factor", "_spread")

    def __init__(self, job: ChartJob, cable: Cable, bounds: WindowBounds) -> None:
        self._job, self._cable, self._bounds = job, cable, bounds
        self._power_factor = 1.0 if job.power_factor is None else job.power_factor
        self._spread = even_spread(self._power_factor)

    def cell(self, power_w: float, length_m: float, shortcut_v: float | None) -> Cell:
        """One load at one length, both ways. [W], [m], [V]"""
        open_circuit_v = self._job.open_circuit_v
        undropped_a = power_w / self._power_factor / open_circuit_v
        burden = self._cable.ohm_per_m * length_m * undropped_a / open_circuit_v
        return Cell(
            power_w,
            length_m,
            self._end(lumped_end(burden, power_factor=self._power_factor), undropped_a),
            self._end(self._spread.end(burden), undropped_a),
            shortcut_v,
        )

    def _end(self, end: EndState | None, undropped_a: float) -> SolvedEnd | None:
        if end is None:
            return None
        end_v, drop_ratio = self._job.open_circuit_v * end.voltage_ratio, 1.0 - end.voltage_ratio
        current_a = undropped_a * end.current_ratio
        return SolvedEnd(end_v, drop_ratio, current_a, self._verdict(end_v, drop_ratio, current_a))

    def _verdict(self, end_v: float, drop_ratio: float, current_a: float) -> str:
        """The gravest of: a cable that overheats, a voltage outside its window, a drop over the limit."""
        if over_ampacity(current_a, self._cable.ampacity_a):
            return "over-ampacity"
        window = self._bounds.verdict(end_v)
        if window not in {"below", "above"} and over_drop(drop_ratio, self._job.maximum_drop_ratio):
            return "over-drop"
        return window


def _assumptions(job: ChartJob, lines: list[ChartedLine]) -> list[AssumptionKind]:
    """What the chart takes for granted, in the order of the other studies."""
    taken = {TAKEN[remark] for line in lines for remark in line.cable.remarks}
    held = {
        SUPPLY_IDEAL: True,
        FIXTURES_12_VOLT: job.nominal_v is None,
        POWER_FACTOR_ONE: job.power_factor is None,
        WINDOW_DEFAULT: True,
        CONDUCTOR_20_DEGREES: job.temperature_c is None,
        CONDUCTOR_COPPER: CONDUCTOR_COPPER in taken,
        CONDUCTOR_STRANDED: CONDUCTOR_STRANDED in taken,
        CONDUCTOR_DERIVED: CONDUCTOR_DERIVED in taken,
    }
    return [kind for kind, holds in held.items() if holds]


def _sources(lines: list[ChartedLine], bounds: WindowBounds) -> list[str]:
    """Ids of the sources used, in the order of use."""
    used = [source for line in lines for source in (*line.cable.sources, line.cable.ampacity_source)]
    used += [line.constant.source for line in lines if line.constant is not None]
    used.append(bounds.source)
    return [source for source in dict.fromkeys(used) if source not in {"caller", ""}]


MOST_CELLS = MAXIMUM_WORK // WORK_OF_A_CELL
"""Cells of one chart: a load and a length on one cable each."""


def drop_chart(job: ChartJob, *, most_cells: int = MOST_CELLS) -> ChartResult:
    """Solve every cell of a chart.

    Parameters
    ----------
    job : ChartJob
    most_cells : int
        How many cells are answered.

    Raises
    ------
    ChartTooLongError
        The chart has more.
    """
    cells = len(job.lines) * len(job.powers_w) * len(job.lengths_m)
    if cells > most_cells:
        raise ChartTooLongError(cells, most_cells)
    charge(work_of_cells(cells))
    count(CHARTED * cells)
    nominal_v = REFERENCE_NOMINAL_V if job.nominal_v is None else job.nominal_v
    bounds = usual_bounds("led", nominal_v)
    lines = [_charted(job, line, bounds, nominal_v) for line in job.lines]
    return ChartResult(lines, bounds, _assumptions(job, lines), _sources(lines, bounds))


MOST_CELLS_TOGETHER = 500
"""Cells of one chart among others in one request, whose replies stand in memory together."""


CHART_TOO_LONG: Final = replace(
    WORK_OVER_LIMIT,
    detail="The chart has {error.cells} cells, a load and a length on one cable each; {error.most} are"
    " answered at a time here. Ask for fewer cables, loads or lengths, or send the chart by itself.",
)


class ChartTooLongError(UnansweredError):
    """A chart of more cells than one request may ask for."""

    def __init__(self, cells: int, most: int) -> None:
        super().__init__(CHART_TOO_LONG, f"{cells} cells, at most {most}")
        self.cells = cells
        self.most = most


class ChartLine(NamedTuple):
    """A cable of the chart, with what its caller calls it."""

    subject: JobPart
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


class SolvedEnd(NamedTuple):
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
    lumped: SolvedEnd | None
    spread: SolvedEnd | None
    shortcut_v: float | None


class ChartedLine(NamedTuple):
    """One cable with its cells: load by load, each at every length."""

    line: ChartLine
    cable: Cable
    constant: tables.CableConstantEntry | None
    cells: list[Cell]


class ChartResult(NamedTuple):
    """All cables, the window that was judged by, and what was assumed and used."""

    lines: list[ChartedLine]
    bounds: WindowBounds
    assumptions: list[AssumptionKind]
    sources: list[str]


FOOT_M = 0.3048
"""International foot, exact. [m]"""


def constant_of(cable: CableSpec, nominal_v: float) -> tables.CableConstantEntry | None:
    """The constant of a cable; only for fixtures of 12 V and a plain pair of listed copper. [V]"""
    conductor = cable.conductor
    plain = cable.other is None and cable.in_parallel == 1
    if nominal_v != REFERENCE_NOMINAL_V or not plain or not isinstance(conductor, Listed):
        return None
    return tables.cable_constant(conductor.name) if conductor.material in {None, "copper"} else None


def shortcut_end_v(
    open_circuit_v: float, constant: tables.CableConstantEntry, *, power_w: float, length_m: float
) -> float:
    """What the shortcut leaves at the end, which may be less than nothing. [V]

    Examples
    --------
    60 W at 75 ft of 14 AWG (common practice, no published source):

    >>> constant = tables.cable_constant("14 AWG")
    >>> round(shortcut_end_v(12.0, constant, power_w=60.0, length_m=22.86), 2)
    10.71
    """
    return open_circuit_v - power_w * (length_m / FOOT_M) / constant.watt_feet_per_volt
