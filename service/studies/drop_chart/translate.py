"""Drop chart: a query into a request, a request into a chart to solve, the solved chart into a reply."""

from __future__ import annotations

from msgspec import UNSET, UnsetType

from service.circuit.job import JobPart
from service.circuit.state import DEFAULT_TEMPERATURE_C
from service.circuit.windows import REFERENCE_NOMINAL_V, WindowBounds
from service.findings.rows import closing
from service.studies.drop_chart.reply import (
    CableConstant,
    CarriedLoad,
    ChartCell,
    ChartedCable,
    ChartEnd,
    ChartLimits,
    DropChartReply,
    ShortcutEnd,
    ShownTemperature,
    UncarriedLoad,
)
from service.studies.drop_chart.request import ChartCable, DropChartQuery, DropChartRequest
from service.studies.drop_chart.study import Cell, ChartedLine, ChartJob, ChartLine, ChartResult, SolvedEnd
from service.translate.job import METRIC
from service.translate.rounding import DECIMALS, rounded
from service.translate.rows import TOWARDS_FAILING, amps, volts, watts
from service.translate.wiring import amount, cable_spec, celsius
from service.units import from_inside
from service.wire.cable import ListedCable
from service.wire.job import Limits
from service.wire.optional import given
from service.wire.quantities import (
    Celsius,
    Length,
    NominalVoltage,
    RealPower,
    SecondaryVoltage,
    ShownLength,
    ShownVoltage,
)

SHORTCUT_NOTE = (
    "The shortcut divides watts times feet by a constant of the cable: common practice, no published source."
    " The constants follow two conventions. Those of 12, 10 and 8 AWG count one conductor, as for a load"
    " half-way or spread evenly; those of 18, 16 and 14 AWG give about two thirds of the drop of a load at"
    " the end. Both flatter a load at the end, and none knows that an LED lamp draws more current at less"
    " voltage."
)


QUERY, BODY = "?conductor", "/cables"
"""Where the cables stand in either form of the request."""


def request_of(query: DropChartQuery) -> DropChartRequest:
    """The request that stands for the parameters of an address."""
    if isinstance(query.feet, UnsetType):
        assert not isinstance(query.metres, UnsetType)  # noqa: S101  # the reader asks for exactly one of the two
        lengths = [Length(length, "m") for length in query.metres]
    else:
        lengths = [Length(length, "ft") for length in query.feet]
    nominal, temperature, drop = query.nominal_volts, query.temperature_degc, query.maximum_drop_percent
    return DropChartRequest(
        cables=[ChartCable(ListedCable(name)) for name in query.conductor],
        powers=[RealPower(power, "W") for power in query.watts],
        lengths=lengths,
        open_circuit=SecondaryVoltage(query.volts, "V"),
        nominal_voltage=UNSET if nominal is UNSET else NominalVoltage(nominal, "V"),
        power_factor=query.power_factor,
        conductor_temperature=UNSET if temperature is UNSET else Celsius(temperature),
        limits=UNSET if drop is UNSET else Limits(maximum_drop_percent=drop),
    )


def job_of(request: DropChartRequest, cables_at: str = BODY) -> ChartJob:
    """The chart that a request asks to be solved; `cables_at` is where its cables stand."""
    temperature = request.conductor_temperature
    drop_percent = UNSET if request.limits is UNSET else request.limits.maximum_drop_percent
    return ChartJob(
        lines=tuple(
            ChartLine(
                JobPart(f"{cables_at}/{index}", given(each.id)), given(each.name), cable_spec(each.cable)
            )
            for index, each in enumerate(request.cables)
        ),
        powers_w=tuple(amount(power) for power in request.powers),
        lengths_m=tuple(amount(length) for length in request.lengths),
        open_circuit_v=amount(request.open_circuit),
        nominal_v=None if request.nominal_voltage is UNSET else request.nominal_voltage.value,
        power_factor=given(request.power_factor),
        temperature_c=None if temperature is UNSET else celsius(temperature),
        maximum_drop_ratio=None if drop_percent is UNSET else drop_percent / 100.0,
    )


def reply_of(request: DropChartRequest, job: ChartJob, chart: ChartResult, sha256: str) -> DropChartReply:
    """The reply to a request.

    Parameters
    ----------
    request : DropChartRequest
    job : ChartJob
        What was solved.
    chart : ChartResult
        What the study found.
    sha256 : str
        Of the request as it came.
    """
    unit = _length_unit(request)
    temperature_c = DEFAULT_TEMPERATURE_C if job.temperature_c is None else job.temperature_c
    shortcut = any(line.constant is not None for line in chart.lines)
    return DropChartReply(
        open_circuit=volts(job.open_circuit_v),
        nominal_voltage=volts(REFERENCE_NOMINAL_V if job.nominal_v is None else job.nominal_v),
        conductor_temperature=ShownTemperature(round(temperature_c, 2), "degC"),
        power_factor=1.0 if job.power_factor is None else job.power_factor,
        limits=limits_row(chart.bounds, job),
        cables=[cable_row(line, unit) for line in chart.lines],
        title=request.title,
        shortcut_note=SHORTCUT_NOTE if shortcut else UNSET,
        **closing(chart.assumptions, chart.sources, sha256=sha256, caller_id=request.id),
    )


def _length_unit(request: DropChartRequest) -> str:
    if request.units is not UNSET:
        return "m" if request.units == "metric" else "ft"
    return "m" if request.lengths[0].unit in METRIC else "ft"


TOWARDS = {**TOWARDS_FAILING, "over-drop": -1, "over-ampacity": 0}
"""Which way the voltage of an end may not be rounded away from."""


def limits_row(bounds: WindowBounds, job: ChartJob) -> ChartLimits:
    """By what the ends are judged."""
    most_ratio = job.maximum_drop_ratio
    return ChartLimits(
        below=volts(bounds.lowest_v),
        low=volts(bounds.low_v),
        high=volts(bounds.highest_v),
        above=volts(bounds.highest_v),
        source=bounds.source,
        maximum_drop_percent=UNSET if most_ratio is None else round(100.0 * most_ratio, DECIMALS["%"]),
        over_drop=UNSET if most_ratio is None else volts(job.open_circuit_v * (1.0 - most_ratio)),
    )


def cable_row(charted: ChartedLine, length_unit: str) -> ChartedCable:
    """One cable with its cells; the unit is m or ft."""
    line, cable, constant = charted.line, charted.cable, charted.constant
    return ChartedCable(
        pointer=line.subject.pointer,
        name=cable.name if line.name is None else line.name,
        conductor=cable.name,
        cells=[_cell_row(cell, length_unit) for cell in charted.cells],
        id=UNSET if line.subject.id is None else line.subject.id,
        ampacity=UNSET if cable.ampacity_a is None else amps(cable.ampacity_a),
        installation_method=cable.installation_method or UNSET,
        shortcut_constant=UNSET if constant is None else CableConstant(constant.watt_feet_per_volt, "W.ft/V"),
    )


def _cell_row(cell: Cell, unit: str) -> ChartCell:
    length = rounded(from_inside(cell.length_m, unit), DECIMALS[unit])
    return ChartCell(
        watts(cell.power_w),
        ShownLength(length, unit),  # type: ignore[arg-type]  # m or ft
        _end_row(cell.lumped),
        _end_row(cell.spread),
        UNSET if cell.shortcut_v is None else _shortcut_row(cell.shortcut_v, cell),
    )


def _end_row(end: SolvedEnd | None) -> ChartEnd:
    if end is None:
        return UncarriedLoad()
    over_drop, over_ampacity = end.verdict == "over-drop", end.verdict == "over-ampacity"
    return CarriedLoad(
        volts(end.end_v, TOWARDS[end.verdict]),
        rounded(100.0 * end.drop_ratio, DECIMALS["%"], 1 if over_drop else 0),
        amps(end.current_a, 1 if over_ampacity else 0),
        end.verdict,
    )


def _shortcut_row(shortcut_v: float, cell: Cell) -> ShortcutEnd:
    return ShortcutEnd(
        volts(shortcut_v), _difference(shortcut_v, cell.lumped), _difference(shortcut_v, cell.spread)
    )


def _difference(shortcut_v: float, end: SolvedEnd | None) -> ShownVoltage | UnsetType:
    return UNSET if end is None else volts(shortcut_v - end.end_v)
