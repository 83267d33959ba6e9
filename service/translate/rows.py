"""Rows that several replies share: volts, amperes, watts, supply, solution, margin, extremes."""

from __future__ import annotations

from collections.abc import Iterable
from math import floor, log10

from msgspec import UNSET, UnsetType

from service.circuit import job
from service.circuit.corners import Corner
from service.circuit.envelope import EnvelopeResult, Extreme, Range
from service.circuit.limits import over_circuit, over_rating
from service.circuit.reading import CircuitResult, EndResult, Margin, SupplyResult
from service.circuit.state import Proof
from service.translate.naming import PlaceNames
from service.translate.rounding import DECIMALS, rounded, rounded_all
from service.units import from_inside
from service.wire import reply as wire
from service.wire.quantities import (
    ShownApparentPower,
    ShownCurrent,
    ShownLength,
    ShownRealPower,
    ShownVoltage,
)
from service.wire.reply import (
    CarriedEnd,
    CircuitState,
    CollapsedEnd,
    EndState,
    FirstOutOfWindow,
    LoadMargin,
    Solution,
    Subject,
    SupplyState,
    TapState,
)

METHODS = {True: "exact", False: "best-found"}
"""How a choice was found: whether it is proved that none is better."""


def solution(proof: Proof) -> Solution:
    """The evidence that the equations are solved."""
    return Solution(proof.iterations, residual(proof.residual_a), proof.method)


def load_margin(margin: Margin) -> LoadMargin:
    """By what factor the loads could grow, never more than was found."""
    first = margin.first_out
    return LoadMargin(
        UNSET if margin.at_least is None else _floor(margin.at_least),
        UNSET if margin.exact is None else _floor(margin.exact),
        UNSET
        if first is None
        else FirstOutOfWindow(
            _floor(first[0]), first[1].pointer, UNSET if first[1].number is None else first[1].number
        ),
        UNSET if margin.absent_because is None else margin.absent_because,
    )


def _floor(factor: float) -> float:
    """Four significant digits, never more than was found."""
    if factor <= 0.0:
        return 0.0
    decimals = 3 - floor(log10(factor))
    return rounded(factor, decimals, -1)


VOLT_DECIMALS, AMP_DECIMALS, WATT_DECIMALS = DECIMALS["V"], DECIMALS["A"], DECIMALS["W"]


TOWARDS_FAILING = {"below": -1, "low": -1, "inside": 0, "above": 1}
"""Which way a fixture's voltage may not be rounded away from."""


def volts(value: float, towards: int = 0) -> ShownVoltage:
    """A voltage for show. [V]"""
    return ShownVoltage(
        rounded(value, VOLT_DECIMALS, towards) if towards else round(value, VOLT_DECIMALS), "V"
    )


def amps(value: float, towards: int = 0) -> ShownCurrent:
    """A current for show. [A]"""
    return ShownCurrent(rounded(value, AMP_DECIMALS, towards) if towards else round(value, AMP_DECIMALS), "A")


def volts_of(values: list[float]) -> list[ShownVoltage]:
    """A column of voltages for show. [V]"""
    return [ShownVoltage(each, "V") for each in rounded_all(values, VOLT_DECIMALS)]


def amps_of(values: list[float]) -> list[ShownCurrent]:
    """A column of currents for show. [A]"""
    return [ShownCurrent(each, "A") for each in rounded_all(values, AMP_DECIMALS)]


def watts_of(values: list[float]) -> list[ShownRealPower]:
    """A column of real powers for show. [W]"""
    return [ShownRealPower(each, "W") for each in rounded_all(values, WATT_DECIMALS)]


def residual(value: float) -> ShownCurrent:
    """A current that should be zero: three digits, however small it is. [A]"""
    return ShownCurrent(_digits(value), "A")


def watts(value: float, towards: int = 0) -> ShownRealPower:
    """Real power for show. [W]"""
    return ShownRealPower(
        rounded(value, WATT_DECIMALS, towards) if towards else round(value, WATT_DECIMALS), "W"
    )


def volt_amperes(value: float, towards: int = 0) -> ShownApparentPower:
    """Apparent power for show. [VA]"""
    return ShownApparentPower(rounded(value, DECIMALS["VA"], towards), "VA")


def supply_state(supply: SupplyResult, usual_ratio: float | None) -> SupplyState:
    """The supply under load, and its loading at a usual power factor where that is another."""
    loading, current = supply.loading_ratio, supply.current_ratio
    over = int(over_rating(loading))
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
        circuits=circuit_states(supply.circuits),
        loading_ratio=UNSET if loading is None else rounded(loading, 5, over),
        current_ratio=UNSET if current is None else rounded(current, 5, int(over_rating(current))),
        loading_ratio_at_usual_power_factor=UNSET
        if usual_ratio is None
        else rounded(usual_ratio, 5, int(over_rating(usual_ratio))),
    )


def circuit_states(circuits: Iterable[CircuitResult]) -> list[CircuitState]:
    """Each circuit under load."""
    return [
        CircuitState(
            circuit.name,
            amps(circuit.current_a, _over(circuit)),
            UNSET if circuit.limit_a is None else amps(circuit.limit_a),
        )
        for circuit in circuits
    ]


def _over(circuit: CircuitResult) -> int:
    return int(over_circuit(circuit.current_a, circuit.limit_a))


def _digits(value: float, digits: int = 3) -> float:
    """A value to significant digits."""
    return 0.0 if value == 0.0 else round(value, digits - 1 - floor(log10(abs(value))))


def envelope_row(envelope: EnvelopeResult, naming: PlaceNames) -> wire.Envelope:
    """The extremes over every corner."""
    return wire.Envelope(
        fixtures=[
            wire.FixtureEnvelope(
                subject.pointer,
                naming.fixture_at(subject),
                extreme_volts(extremes.lowest),
                extreme_volts(extremes.highest),
                UNSET if subject.id is None else subject.id,
                UNSET if subject.number is None else subject.number,
            )
            for subject, extremes in envelope.fixtures.items()
            if extremes.lowest is not None and extremes.highest is not None
        ],
        circuits=[
            wire.CircuitEnvelope(
                name, wire.ExtremeCurrent(amps(extremes.highest.value), corner_row(extremes.highest.corner))
            )
            for name, extremes in envelope.circuits.items()
            if extremes.highest is not None
        ],
        collapsed=[corner_row(corner) for corner, _ in envelope.collapsed],
        supply=_supply(envelope.open_circuit_v, envelope.terminal_v, envelope.apparent_va),
    )


def corner_row(corner: Corner) -> wire.CornerState:
    """One corner in words."""
    alone = UNSET if corner.on is None else subject_row(corner.on)
    return wire.CornerState(corner.mains, corner.temperature, alone, corner.battery or UNSET)


def _supply(open_circuit_v: Range, terminal_v: Range, apparent_va: Range) -> wire.SupplyEnvelope | UnsetType:
    top, low, high, power = (
        open_circuit_v.highest,
        terminal_v.lowest,
        terminal_v.highest,
        apparent_va.highest,
    )
    if top is None or low is None or high is None or power is None:
        return UNSET
    shown = ShownApparentPower(round(power.value, DECIMALS["VA"]), "VA")
    return wire.SupplyEnvelope(
        extreme_volts(top),
        extreme_volts(low),
        extreme_volts(high),
        wire.ExtremeApparentPower(shown, corner_row(power.corner)),
    )


def extreme_volts(extreme: Extreme) -> wire.ExtremeVoltage:
    """A voltage and its corner."""
    return wire.ExtremeVoltage(volts(extreme.value), corner_row(extreme.corner))


def end_row(end: EndResult | None) -> EndState:
    """One end, or that it collapses."""
    if end is None:
        return CollapsedEnd()
    return CarriedEnd(
        volts(end.end_v, TOWARDS_FAILING[end.verdict]),
        end.verdict,
        volts(end.terminal_v),
        volts(end.terminal_v - end.end_v),
        rounded(100.0 * end.drop_ratio, DECIMALS["%"]),
        amps(end.current_a),
        watts(end.cable_loss_w),
        UNSET if end.error_v is None else volts(end.error_v, 1),
    )


def length_in(length_m: float, unit: str) -> ShownLength:
    """A length for show. [m] -> [unit]"""
    return ShownLength(rounded(from_inside(length_m, unit), DECIMALS[unit]), unit)  # type: ignore[arg-type]  # lengths of a job are in m or ft


def subject_row(subject: job.JobPart) -> Subject:
    """What a finding is about."""
    return Subject(
        subject.pointer,
        UNSET if subject.id is None else subject.id,
        UNSET if subject.number is None else subject.number,
    )
