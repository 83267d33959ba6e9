"""The envelope: from the studies to the wire."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import UNSET, UnsetType

from service.messages import envelope as wire
from service.messages.shown import ShownApparentPower
from service.translate.finding import subject_row
from service.translate.rounding import DECIMALS
from service.translate.rows import amps, volts

if TYPE_CHECKING:
    from service.studies.corners import Corner
    from service.studies.envelope import Envelope, Extreme, Range
    from service.translate.naming import Naming


def envelope_row(envelope: Envelope, naming: Naming) -> wire.Envelope:
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
    return wire.CornerState(corner.mains, corner.temperature, alone)


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
