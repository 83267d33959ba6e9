"""Rows of an answer: from SI floats to shown quantities."""

from __future__ import annotations

from math import floor, log10
from typing import TYPE_CHECKING

from msgspec import UNSET

from service.messages.shown import (
    ShownApparentPower,
    ShownCurrent,
    ShownLength,
    ShownRealPower,
    ShownResistance,
    ShownVoltage,
)
from service.messages.voltage_drop import CircuitState, FixtureRow, RunRow, SpanRow, SupplyState, TapState
from service.translate.rounding import DECIMALS, rounded

if TYPE_CHECKING:
    from service.studies import outcome
    from service.studies.layout import LaidSpan
    from service.translate.naming import Naming

VOLT_DECIMALS, AMP_DECIMALS, WATT_DECIMALS = DECIMALS["V"], DECIMALS["A"], DECIMALS["W"]

TOWARDS_FAILING = {"below": -1, "low": -1, "inside": 0, "high": 1, "above": 1}
"""Which way a fixture's voltage may not be rounded away from."""


def volts(value: float, towards: int = 0) -> ShownVoltage:
    """A voltage for show. [V]"""
    return ShownVoltage(
        rounded(value, VOLT_DECIMALS, towards) if towards else round(value, VOLT_DECIMALS), "V"
    )


def amps(value: float, towards: int = 0) -> ShownCurrent:
    """A current for show. [A]"""
    return ShownCurrent(rounded(value, AMP_DECIMALS, towards) if towards else round(value, AMP_DECIMALS), "A")


def residual(value: float) -> ShownCurrent:
    """A current that should be nought: three digits, however small it is. [A]"""
    return ShownCurrent(_digits(value), "A")


def watts(value: float, towards: int = 0) -> ShownRealPower:
    """Real power for show. [W]"""
    return ShownRealPower(
        rounded(value, WATT_DECIMALS, towards) if towards else round(value, WATT_DECIMALS), "W"
    )


def supply_state(supply: outcome.SupplyState) -> SupplyState:
    """The supply under load."""
    loading = supply.loading_ratio
    over = 1 if loading is not None and loading > 1.0 else 0
    return SupplyState(
        open_circuit=volts(supply.open_circuit_v),
        terminal=volts(supply.terminal_v),
        current=amps(supply.current_a),
        real_power=watts(supply.real_w, -1 if supply.below_minimum else 0),
        apparent_power=ShownApparentPower(rounded(supply.apparent_va, DECIMALS["VA"], over), "VA"),
        taps=[
            TapState(
                volts(tap.rated_v), volts(tap.open_circuit_v), volts(tap.terminal_v), amps(tap.current_a)
            )
            for tap in supply.taps
        ],
        circuits=[
            CircuitState(circuit.name, amps(circuit.current_a, _over(circuit)), amps(circuit.limit_a))
            for circuit in supply.circuits
        ],
        loading_ratio=UNSET if loading is None else rounded(loading, 5, over),
    )


def fixture_row(row: outcome.FixtureState, naming: Naming) -> FixtureRow:
    """One fixture under load."""
    placed = row.placed
    subject = row.subject
    towards = TOWARDS_FAILING[row.verdict]
    return FixtureRow(
        subject.pointer,
        naming.fixture(placed.line, placed.number),
        ShownLength(naming.length(placed.at_m), naming.length_unit),  # type: ignore[arg-type]
        volts(row.start_v, max(0, towards) if placed.rail else towards),
        row.verdict,
        volts(row.cable_drop_v),
        volts(row.total_drop_v),
        rounded(100.0 * row.drop_ratio, DECIMALS["%"], int(row.drop_over)),
        amps(row.current_a),
        watts(row.real_w),
        UNSET if subject.id is None else subject.id,
        UNSET if placed.number is None else placed.number,
        UNSET if placed.pieces == 1 else placed.pieces,
        UNSET if placed.lamp_point == placed.cable_point else volts(row.splice_v),
        volts(row.far_v, min(0, towards)) if placed.rail else UNSET,
    )


def span_row(row: outcome.SpanState, naming: Naming) -> SpanRow:
    """One span under load."""
    laid = row.laid
    return SpanRow(
        naming.points[laid.start],
        naming.points[laid.end],
        ShownLength(naming.length(laid.length_m), naming.length_unit),  # type: ignore[arg-type]
        ShownResistance(round(laid.resistance_ohm, DECIMALS["ohm"]), "ohm"),
        amps(row.current_a),
        volts(row.drop_v),
        watts(row.loss_w),
        laid.subject.pointer,
        UNSET if laid.subject.id is None else laid.subject.id,
        UNSET if laid.cable is None else _cables(laid),
    )


def run_row(row: outcome.RunState, naming: Naming) -> RunRow:
    """One run under load."""
    lowest = row.lowest
    towards = 0 if lowest is None else TOWARDS_FAILING[lowest.verdict]
    return RunRow(
        row.subject.pointer,
        naming.run(row.subject),
        amps(row.current_a),
        volts(row.lowest_v, towards),
        volts(row.end_v),
        watts(row.cable_loss_w),
        UNSET if row.subject.id is None else row.subject.id,
        UNSET if lowest is None else lowest.subject.pointer,
        UNSET if lowest is None or lowest.subject.number is None else lowest.subject.number,
    )


def _over(circuit: outcome.CircuitState) -> int:
    return 1 if circuit.current_a > circuit.limit_a else 0


def _cables(laid: LaidSpan) -> str:
    """The conductor of a span, and how many leads alike stand for it."""
    name = "" if laid.cable is None else laid.cable.name
    return name if laid.pieces == 1 else f"{laid.pieces} x {name}"


def _digits(value: float, digits: int = 3) -> float:
    """A value to significant digits."""
    return 0.0 if value == 0.0 else round(value, digits - 1 - floor(log10(abs(value))))
