"""Supplies: from the wire to SI."""

from __future__ import annotations

from msgspec import UNSET, UnsetType

from service.circuit.job import CircuitSpec, JobPart, Mains, MeasuredOpenCircuit, Supply, WindingPlate
from service.translate.wiring import amount
from service.wire import supply as wire
from service.wire.supply import Battery, DcSupply


def supply_of(supply: wire.Supply, pointer: str) -> Supply:
    """A supply as the studies know it; `pointer` is where it stands in the request."""
    if isinstance(supply, DcSupply):
        return _dc_supply(supply, pointer)
    return _battery(supply, pointer) if isinstance(supply, Battery) else _transformer(supply, pointer)


def _transformer(supply: wire.Transformer, pointer: str) -> Supply:
    winding, primary, measured = supply.winding, supply.primary, supply.open_circuit
    return Supply(
        subject=JobPart(pointer),
        kind="transformer",
        rated_v=amount(supply.secondary),
        winding=None
        if winding is UNSET
        else WindingPlate(amount(winding.rating), winding.regulation_percent / 100.0),
        open_circuit=None
        if measured is UNSET
        else MeasuredOpenCircuit(
            amount(measured.voltage), None if measured.at_primary is UNSET else amount(measured.at_primary)
        ),
        mains=None if primary is UNSET else Mains(amount(primary.rated), amount(primary.actual)),
        taps_v=() if supply.taps is UNSET else tuple(amount(tap) for tap in supply.taps),
        circuits=circuits_of(supply.circuits, pointer),
        minimum_load_w=None if supply.minimum_load is UNSET else amount(supply.minimum_load),
        maximum_cable_m=None if supply.maximum_cable_length is UNSET else amount(supply.maximum_cable_length),
        class_2=supply.class_2 is True,
    )


def _dc_supply(supply: wire.DcSupply, pointer: str) -> Supply:
    return Supply(
        subject=JobPart(pointer),
        kind="dc-supply",
        rated_v=amount(supply.output),
        circuits=circuits_of(supply.circuits, pointer),
        internal_ohm=None if supply.internal_resistance is UNSET else amount(supply.internal_resistance),
        rating_w=None if supply.rating is UNSET else amount(supply.rating),
        minimum_load_w=None if supply.minimum_load is UNSET else amount(supply.minimum_load),
        maximum_cable_m=None if supply.maximum_cable_length is UNSET else amount(supply.maximum_cable_length),
        class_2=supply.class_2 is True,
    )


def _battery(supply: wire.Battery, pointer: str) -> Supply:
    return Supply(
        subject=JobPart(pointer),
        kind="battery",
        rated_v=amount(supply.nominal),
        circuits=circuits_of(supply.circuits, pointer),
        internal_ohm=None if supply.internal_resistance is UNSET else amount(supply.internal_resistance),
        maximum_cable_m=None if supply.maximum_cable_length is UNSET else amount(supply.maximum_cable_length),
        range_v=(amount(supply.lowest), amount(supply.highest)),
    )


def circuits_of(circuits: list[wire.Circuit] | UnsetType, pointer: str) -> tuple[CircuitSpec, ...]:
    """Circuits of what stands at `pointer`; none where they were left out."""
    if circuits is UNSET:
        return ()
    return tuple(
        CircuitSpec(
            JobPart(f"{pointer}/circuits/{index}"),
            circuit.name,
            None if circuit.limit is UNSET else amount(circuit.limit),
            circuit.listed_system is True,
        )
        for index, circuit in enumerate(circuits)
    )
