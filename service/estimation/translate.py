"""Readings, meters and priors: from the wire to SI."""

from __future__ import annotations

from msgspec import UNSET, UnsetType

from service.estimation.job import (
    AVERAGING,
    MeterSpec,
    PriorSpec,
)
from service.translate.wiring import celsius
from service.units import inside
from service.wire import readings as wire
from service.wire.optional import given


def instrument_of(meter: wire.Instrument | UnsetType) -> MeterSpec:
    """A meter by its sheet."""
    if isinstance(meter, UnsetType):
        return MeterSpec()
    volts, amps = meter.voltage_resolution, meter.current_resolution
    ohms, leads = meter.resistance_resolution, meter.lead_resistance
    return MeterSpec(
        averaging=meter.kind == AVERAGING,
        accuracy_percent=given(meter.accuracy_percent),
        counts=given(meter.counts),
        resolution_v=None if volts is UNSET else inside(volts.value, volts.unit),
        current_accuracy_percent=given(meter.current_accuracy_percent),
        current_counts=given(meter.current_counts),
        resolution_a=None if amps is UNSET else inside(amps.value, amps.unit),
        resistance_accuracy_percent=given(meter.resistance_accuracy_percent),
        resistance_counts=given(meter.resistance_counts),
        resolution_ohm=None if ohms is UNSET else inside(ohms.value, ohms.unit),
        lead_ohm=None if leads is UNSET else inside(leads.value, leads.unit),
    )


def priors_of(priors: wire.Priors | UnsetType) -> PriorSpec:
    """How far the wiring may be from what is said."""
    if isinstance(priors, UnsetType):
        return PriorSpec()
    warmth = priors.temperature_span
    both = None if warmth is UNSET else sorted((celsius(warmth.lowest), celsius(warmth.highest)))
    return PriorSpec(
        length_percent=given(priors.length_percent),
        temperatures_c=None if both is None else (both[0], both[1]),
        power_percent=given(priors.power_percent),
        winding_percent=given(priors.winding_percent),
        mains_percent=given(priors.mains_percent),
        resistance_percent=given(priors.resistance_percent),
    )


def capital(text: str) -> str:
    """A text with a capital letter in front; a caller's name inside it stays as it is."""
    return text[:1].upper() + text[1:]
