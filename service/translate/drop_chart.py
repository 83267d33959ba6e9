"""Drop chart: a query into a request, a request into a chart to solve, the solved chart into a reply."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import UNSET, UnsetType

from service import tables
from service.messages import drop_chart as wire
from service.messages.cable import ListedCable
from service.messages.job import Limits
from service.messages.quantities import Celsius, Length, NominalVoltage, RealPower, SecondaryVoltage
from service.studies.connected import DEFAULT_TEMPERATURE_C
from service.studies.drop_chart_job import ChartJob, ChartLine
from service.studies.job import Subject
from service.studies.version import CALCULATION_VERSION
from service.studies.window import REFERENCE_NOMINAL_V
from service.translate.cable import cable_spec, celsius
from service.translate.drop_chart_rows import cable_row, limits_row
from service.translate.finding import CAUTION_ROWS, assumption_rows, source_rows
from service.translate.fixture import amount, said
from service.translate.job import METRIC
from service.translate.rows import volts

if TYPE_CHECKING:
    from service.messages.drop_chart_query import DropChartQuery
    from service.studies.drop_chart_job import Chart

SHORTCUT_NOTE = (
    "The shortcut divides watts times feet by a constant of the cable: common practice, no published source."
    " The constants follow two conventions. Those of 12, 10 and 8 AWG count one conductor, as for a load"
    " half-way or spread evenly; those of 18, 16 and 14 AWG give about two thirds of the drop of a load at"
    " the end. Both flatter a load at the end, and none knows that an LED lamp draws more current at less"
    " voltage."
)

QUERY, BODY = "?conductor", "/cables"
"""Where the cables stand in either form of the request."""


def request_of(query: DropChartQuery) -> wire.DropChartRequest:
    """The request that stands for the parameters of an address."""
    if isinstance(query.feet, UnsetType):
        assert not isinstance(query.metres, UnsetType)  # noqa: S101  # the reader asks for exactly one of the two
        lengths = [Length(length, "m") for length in query.metres]
    else:
        lengths = [Length(length, "ft") for length in query.feet]
    nominal, temperature, drop = query.nominal_volts, query.temperature_degc, query.maximum_drop_percent
    return wire.DropChartRequest(
        cables=[wire.ChartCable(ListedCable(name)) for name in query.conductor],
        powers=[RealPower(power, "W") for power in query.watts],
        lengths=lengths,
        open_circuit=SecondaryVoltage(query.volts, "V"),
        nominal_voltage=UNSET if nominal is UNSET else NominalVoltage(nominal, "V"),
        power_factor=query.power_factor,
        conductor_temperature=UNSET if temperature is UNSET else Celsius(temperature),
        limits=UNSET if drop is UNSET else Limits(maximum_drop_percent=drop),
    )


def chart_job_of(request: wire.DropChartRequest, cables_at: str = BODY) -> ChartJob:
    """The chart that a request asks to be solved; `cables_at` is where its cables stand."""
    temperature = request.conductor_temperature
    drop_percent = UNSET if request.limits is UNSET else request.limits.maximum_drop_percent
    return ChartJob(
        lines=tuple(
            ChartLine(Subject(f"{cables_at}/{index}", said(each.id)), said(each.name), cable_spec(each.cable))
            for index, each in enumerate(request.cables)
        ),
        powers_w=tuple(amount(power) for power in request.powers),
        lengths_m=tuple(amount(length) for length in request.lengths),
        open_circuit_v=amount(request.open_circuit),
        nominal_v=None if request.nominal_voltage is UNSET else request.nominal_voltage.value,
        power_factor=said(request.power_factor),
        temperature_c=None if temperature is UNSET else celsius(temperature),
        maximum_drop_ratio=None if drop_percent is UNSET else drop_percent / 100.0,
    )


def chart_reply_of(
    request: wire.DropChartRequest, job: ChartJob, chart: Chart, sha256: str
) -> wire.DropChartReply:
    """The reply to a request.

    Parameters
    ----------
    request : DropChartRequest
    job : ChartJob
        What was solved.
    chart : Chart
        What the study found.
    sha256 : str
        Of the request as it came.
    """
    unit = _length_unit(request)
    temperature_c = DEFAULT_TEMPERATURE_C if job.temperature_c is None else job.temperature_c
    shortcut = any(line.constant is not None for line in chart.lines)
    return wire.DropChartReply(
        open_circuit=volts(job.open_circuit_v),
        nominal_voltage=volts(REFERENCE_NOMINAL_V if job.nominal_v is None else job.nominal_v),
        conductor_temperature=wire.ShownTemperature(round(temperature_c, 2), "degC"),
        power_factor=1.0 if job.power_factor is None else job.power_factor,
        limits=limits_row(chart.bounds, job),
        cables=[cable_row(line, unit) for line in chart.lines],
        assumptions=assumption_rows(chart.assumptions),
        sources=source_rows(chart.sources),
        cautions=CAUTION_ROWS,
        calculation_version=CALCULATION_VERSION,
        tables_version=tables.TABLES_VERSION,
        request_sha256=sha256,
        title=request.title,
        shortcut_note=SHORTCUT_NOTE if shortcut else UNSET,
        id=request.id,
    )


def _length_unit(request: wire.DropChartRequest) -> str:
    if request.units is not UNSET:
        return "m" if request.units == "metric" else "ft"
    return "m" if request.lengths[0].unit in METRIC else "ft"
