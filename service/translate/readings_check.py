"""Readings: from the wire to what a study is asked."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import UNSET, UnsetType

from service.messages import readings as wire
from service.studies.job import Subject
from service.studies.readings.asked import (
    ALL_ON,
    AVERAGING,
    CURRENT,
    LISTED,
    NO_LOAD,
    VOLTAGE,
    Instrument,
    Pointed,
    Priors,
    Reading,
    ReadingsJob,
    SwitchedState,
    Terminal,
)
from service.translate.cable import celsius
from service.translate.fixture import said
from service.translate.job import job_of
from service.units import inside

if TYPE_CHECKING:
    from service.messages.readings_check import ReadingsCheckRequest


def asked_of(request: ReadingsCheckRequest) -> ReadingsJob:
    """The wiring and the readings of it; what a corner or a limit would add is not asked here."""
    readings = tuple(
        _reading(reading, f"/readings/{index}") for index, reading in enumerate(request.readings)
    )
    job = job_of(request)._replace(corners=None, maximum_drop_ratio=None)
    return ReadingsJob(job, instrument_of(request.instrument), priors_of(request.priors), readings)


def _reading(reading: wire.Reading, pointer: str) -> Reading:
    place, quantity = reading.subject, reading.quantity
    where: Pointed | Terminal
    if isinstance(place, wire.AtTerminal):
        tap_v = None if place.tap is UNSET else inside(place.tap.value, place.tap.unit)
        where = Terminal(tap_v, said(place.circuit), f"{pointer}/subject")
    else:
        where = _pointed(place, f"{pointer}/subject")
    return Reading(
        subject=Subject(pointer, said(reading.id)),
        where=where,
        quantity=VOLTAGE if isinstance(quantity, wire.VoltageRead) else CURRENT,
        value=inside(quantity.value.value, quantity.value.unit),
        state=None if isinstance(reading.state, UnsetType) else _state(reading.state, f"{pointer}/state"),
    )


def _pointed(part: wire.Wired | wire.LitPart, at: str) -> Pointed:
    return Pointed(part.pointer, None if part.number is UNSET else int(part.number), at)


def _state(state: wire.ReadingState, pointer: str) -> SwitchedState:
    mains_v = None if state.mains is UNSET else inside(state.mains.value, state.mains.unit)
    if isinstance(state, wire.ListedState):
        lit = tuple(_pointed(part, f"{pointer}/lit/{index}") for index, part in enumerate(state.lit))
        return SwitchedState(LISTED, lit, mains_v)
    return SwitchedState(NO_LOAD if isinstance(state, wire.NoLoadState) else ALL_ON, (), mains_v)


def instrument_of(meter: wire.Instrument | UnsetType) -> Instrument:
    """A meter by its sheet."""
    if isinstance(meter, UnsetType):
        return Instrument()
    volts, amps = meter.voltage_resolution, meter.current_resolution
    return Instrument(
        averaging=meter.kind == AVERAGING,
        accuracy_percent=said(meter.accuracy_percent),
        counts=said(meter.counts),
        resolution_v=None if volts is UNSET else inside(volts.value, volts.unit),
        current_accuracy_percent=said(meter.current_accuracy_percent),
        current_counts=said(meter.current_counts),
        resolution_a=None if amps is UNSET else inside(amps.value, amps.unit),
    )


def priors_of(priors: wire.Priors | UnsetType) -> Priors:
    """How far the wiring may be from what is said."""
    if isinstance(priors, UnsetType):
        return Priors()
    warmth = priors.temperature_span
    both = None if warmth is UNSET else sorted((celsius(warmth.lowest), celsius(warmth.highest)))
    return Priors(
        length_percent=said(priors.length_percent),
        temperatures_c=None if both is None else (both[0], both[1]),
        power_percent=said(priors.power_percent),
        winding_percent=said(priors.winding_percent),
        mains_percent=said(priors.mains_percent),
        resistance_percent=said(priors.resistance_percent),
    )
