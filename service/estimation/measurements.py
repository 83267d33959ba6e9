"""From stated readings to measurements that can be judged: places, states, errors."""

from __future__ import annotations

from typing import NamedTuple

from service.circuit.job import Mains, ReadingsContradictoryError, Supply, usual_rated_v
from service.circuit.state import Connected
from service.circuit.supply import connect
from service.estimation.job import (
    ALL_ON,
    DISCONNECTED,
    LISTED,
    NO_LOAD,
    ReadingsJob,
    StatedReading,
    SwitchedState,
)
from service.estimation.model import Measurement, ReadState
from service.estimation.probes import Probe, Probes
from service.estimation.uncertainty import lead_resistance, meter_error, supply_measured, supply_uncertainty


class Placed(NamedTuple):
    """Readings with a state, and the states that they were taken in: alike ones are one."""

    measurements: list[Measurement]
    states: list[ReadState]


def place_readings(job: ReadingsJob, connected: Connected) -> Placed:
    """Find the places and the states of all readings.

    Raises
    ------
    ReadingsContradictoryError
        With every reading and every lit fixture that points at nothing.
    """
    places = Probes(connected)
    places.mistakes += job.mistakes
    states: list[ReadState] = []
    measurements = []
    for index, reading in enumerate(job.readings):
        probe = places.probe(reading)
        if reading.state is not None:
            state = _read_state(job, connected, places, reading.state)
            if state not in states:
                states.append(state)
            if probe is not None:
                number = states.index(state)
                measurements.append(_measurement(job, index, reading, _alone(probe, state), number))
    if places.mistakes:
        raise ReadingsContradictoryError(places.mistakes)
    return Placed(measurements, states)


def _measurement(
    job: ReadingsJob, index: int, reading: StatedReading, probe: Probe, state: int
) -> Measurement:
    error = meter_error(job.instrument, reading.quantity, reading.value)
    if probe.is_resistance:
        probe = probe._replace(lead_ohm=lead_resistance(job.instrument))
    return Measurement(index, probe, state, reading.value, error.own, error.gain)


def _alone(probe: Probe, state: ReadState) -> Probe:
    """A clamp round one fixture of several at a point, where not all of them are lit."""
    if probe.row is None or not probe.rows or state.shares is None:
        return probe
    return probe._replace(shared_by=probe.shared_by * (state.shares.get(probe.row, 0.0) or 1.0))


def _read_state(job: ReadingsJob, connected: Connected, places: Probes, state: SwitchedState) -> ReadState:
    """What was lit, and how many volts the supply gave."""
    shares = _shares(places, state)
    rows = len(connected.layout.fixtures)
    # A list of everything, or of nothing, is the state that has a name of its own.
    if shares and len(shares) == rows and all(share == 1.0 for share in shares.values()):
        shares = None
    on = ALL_ON if shares is None else LISTED if shares else NO_LOAD
    if state.on == DISCONNECTED:
        on = DISCONNECTED
    supply = job.circuit.supply
    measured = supply_measured(supply, state.mains_v)
    common, drift = supply_uncertainty(job, measured=measured)
    ratio = 1.0 if state.mains_v is None else mains_ratio(connected, supply, state.mains_v)
    return ReadState(on, shares, ratio, common, drift, state.mains_v)


def _shares(places: Probes, state: SwitchedState) -> dict[int, float] | None:
    """Share of each row that is lit; None where all are. [-]"""
    if state.on == ALL_ON:
        return None
    shares: dict[int, float] = {}
    named = set()
    for pointed in state.lit:
        # What is lit is not lit more by being named again.
        if pointed[:2] in named:
            continue
        lit = places.lit(pointed)
        if lit:
            named.add(pointed[:2])
        for row, share in lit.items():
            shares[row] = min(1.0, shares.get(row, 0.0) + share)
    return shares


def all_on(job: ReadingsJob) -> ReadState:
    """Everything on, at the mains that the job says."""
    common, drift = supply_uncertainty(job, measured=supply_measured(job.circuit.supply, None))
    return ReadState(ALL_ON, None, 1.0, common, drift)


def no_load(job: ReadingsJob) -> ReadState:
    """Nothing on, at the mains that the job says."""
    return all_on(job)._replace(on=NO_LOAD, shares={})


def mains_ratio(connected: Connected, supply: Supply, mains_v: float) -> float:
    """Open-circuit voltage at measured mains, over that which the job has by itself. [-]

    A no-load voltage that was measured without its mains belongs to the mains as stated; where
    none is stated, it cannot be scaled. A DC supply and a battery do not follow the mains.
    """
    if supply.direct_current:
        return 1.0
    stated, measured = supply.mains, supply.open_circuit
    if measured is not None and measured.at_primary_v is None:
        return 1.0 if stated is None else mains_v / stated.actual_v
    at_v = None if measured is None else measured.at_primary_v
    rated_v = stated.rated_v if stated is not None else at_v or usual_rated_v(mains_v)
    moved = supply._replace(mains=Mains(rated_v, mains_v))
    volts = connect(moved, connected.job.feeders()).open_circuit_v[0]
    return volts / connected.feed.open_circuit_v[0]
