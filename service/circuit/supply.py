"""The supply as the wiring sees it: an open-circuit voltage for each tap behind one shared resistance."""

from __future__ import annotations

from typing import NamedTuple

from service.circuit.job import Feeder, Supply
from service.physics.supply import SeriesWinding, open_circuit_voltage, winding_resistance

NO_RESISTANCE_OHM = 1e-9
"""A source below this is ideal, and a joint is no joint. [ohm]"""


class FedCircuit(NamedTuple):
    """A circuit in use or declared, and the limit of its device, None where no device is stated. [A]"""

    name: str
    limit_a: float | None = None
    declared: bool = True
    listed_system: bool = False


class Feed(NamedTuple):
    """What the feeders are connected to.

    Parameters
    ----------
    taps_v : tuple of float
        Rated voltage of each tap in use; the secondary first. [V]
    open_circuit_v : tuple of float
        Of each tap in use. [V]
    source_resistance : float
        Winding or internal resistance over the square of its open-circuit voltage. [1/W]
    circuits : tuple of FedCircuit
        Those declared, then those that only feeders name.
    tap_of, circuit_of : tuple of int
        Index into `taps_v` and `circuits`, one per feeder.
    """

    taps_v: tuple[float, ...]
    open_circuit_v: tuple[float, ...]
    source_resistance: float
    circuits: tuple[FedCircuit, ...]
    tap_of: tuple[int, ...]
    circuit_of: tuple[int, ...]


def connect(supply: Supply, feeders: tuple[Feeder, ...]) -> Feed:
    """Connect the feeders to the taps and circuits that they name, else to the first of each."""
    circuits = [
        FedCircuit(each.name, each.limit_a, listed_system=each.listed_system) for each in supply.circuits
    ]
    if not circuits and all(feeder.circuit is None for feeder in feeders):
        circuits = [FedCircuit("1")]
    index_of = {circuit.name: index for index, circuit in reversed(list(enumerate(circuits)))}
    taps_v = [supply.rated_v]
    tap_of, circuit_of = [], []
    for feeder in feeders:
        tap_v = supply.rated_v if feeder.tap_v is None or supply.direct_current else feeder.tap_v
        if tap_v not in taps_v:
            taps_v.append(tap_v)
        tap_of.append(taps_v.index(tap_v))
        if feeder.circuit is not None and feeder.circuit not in index_of:
            index_of[feeder.circuit] = len(circuits)
            circuits.append(FedCircuit(feeder.circuit, declared=not supply.circuits))
        if feeder.circuit is None and not circuits:
            circuits.append(FedCircuit("1"))
        circuit_of.append(0 if feeder.circuit is None else index_of[feeder.circuit])
    secondary_v = _open_circuit(supply)
    return Feed(
        taps_v=tuple(taps_v),
        open_circuit_v=tuple(secondary_v * tap_v / supply.rated_v for tap_v in taps_v),
        source_resistance=_resistance_ohm(supply) / (secondary_v * secondary_v),
        circuits=tuple(circuits),
        tap_of=tuple(tap_of),
        circuit_of=tuple(circuit_of),
    )


def _open_circuit(supply: Supply) -> float:
    """No-load voltage of the rated secondary at the actual mains. [V]"""
    if supply.standing_v is not None:
        return supply.standing_v
    measured = supply.open_circuit
    if measured is not None:
        if measured.at_primary_v is None or supply.mains is None:
            return measured.voltage_v
        return measured.voltage_v * supply.mains.actual_v / measured.at_primary_v
    mains_ratio = 1.0 if supply.mains is None else supply.mains.actual_v / supply.mains.rated_v
    regulation_ratio = 0.0 if supply.winding is None else supply.winding.regulation_ratio
    return open_circuit_voltage(supply.rated_v, regulation_ratio=regulation_ratio, mains_ratio=mains_ratio)


def _resistance_ohm(supply: Supply) -> float:
    """Series resistance seen from the rated secondary; no measured voltage changes it. [ohm]"""
    ohm = supply.internal_ohm or 0.0
    if supply.winding is not None:
        ohm = winding_resistance(supply.rated_v, winding=SeriesWinding(*supply.winding))
    # The reciprocal of a subnormal number is infinite, and nobody can tell so little from zero.
    return ohm if ohm >= NO_RESISTANCE_OHM else 0.0
