"""Loads times lengths: what is left at the end of each cable, lumped there and evenly spread along it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from service.physics.end_voltage import even_spread, lumped_end
from service.studies.cables import resolve_cable
from service.studies.connected import DEFAULT_TEMPERATURE_C
from service.studies.drop_chart_job import (
    MOST_CELLS,
    Cell,
    Chart,
    ChartedLine,
    ChartEnd,
    ChartTooLongError,
)
from service.studies.drop_chart_shortcut import constant_of, shortcut_end_v
from service.studies.window import REFERENCE_NOMINAL_V, led_bounds
from service.studies.work import CHARTED, charge, count, work_of_cells

if TYPE_CHECKING:
    from service.physics.end_voltage import EndState
    from service.studies.cables import Cable
    from service.studies.drop_chart_job import ChartJob, ChartLine
    from service.studies.window import Bounds


def drop_chart(job: ChartJob, *, most_cells: int = MOST_CELLS) -> Chart:
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
    bounds = led_bounds(nominal_v)
    lines = [_charted(job, line, bounds, nominal_v) for line in job.lines]
    return Chart(lines, bounds, _assumptions(job, lines), _sources(lines, bounds))


def _charted(job: ChartJob, line: ChartLine, bounds: Bounds, nominal_v: float) -> ChartedLine:
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

    def __init__(self, job: ChartJob, cable: Cable, bounds: Bounds) -> None:
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

    def _end(self, end: EndState | None, undropped_a: float) -> ChartEnd | None:
        if end is None:
            return None
        end_v, drop_ratio = self._job.open_circuit_v * end.voltage_ratio, 1.0 - end.voltage_ratio
        current_a = undropped_a * end.current_ratio
        return ChartEnd(end_v, drop_ratio, current_a, self._verdict(end_v, drop_ratio, current_a))

    def _verdict(self, end_v: float, drop_ratio: float, current_a: float) -> str:
        """The gravest of: a cable that overheats, a voltage outside its window, a drop over the limit."""
        ampacity_a, most_ratio = self._cable.ampacity_a, self._job.maximum_drop_ratio
        if ampacity_a is not None and current_a > ampacity_a:
            return "over-ampacity"
        window = self._bounds.verdict(end_v)
        if window not in {"below", "above"} and most_ratio is not None and drop_ratio > most_ratio:
            return "over-drop"
        return window


def _assumptions(job: ChartJob, lines: list[ChartedLine]) -> list[str]:
    """What the chart takes for granted, in the order of the other studies."""
    cables = {code for line in lines for code in line.cable.assumptions}
    held = {
        "supply-ideal": True,
        "fixtures-12-volt": job.nominal_v is None,
        "power-factor-one": job.power_factor is None,
        "window-default": True,
        "conductor-20-degrees": job.temperature_c is None,
        "conductor-copper": "conductor-copper" in cables,
        "conductor-stranded": "conductor-stranded" in cables,
        "conductor-derived": "conductor-derived" in cables,
    }
    return [code for code, holds in held.items() if holds]


def _sources(lines: list[ChartedLine], bounds: Bounds) -> list[str]:
    """Ids of the sources used, in the order of use."""
    used = [source for line in lines for source in (*line.cable.sources, line.cable.ampacity_source)]
    used += [line.constant.source for line in lines if line.constant is not None]
    used.append(bounds.source)
    return [source for source in dict.fromkeys(used) if source not in {"caller", ""}]
