"""Cables, loads, windows and supplies in words, as the request gives them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import UnsetType

from service.messages.cable import ListedCable, ListedConductor
from service.messages.fixture import ConstantCurrent, ConstantPower, ConstantResistance, Filament, Strip
from service.messages.supply import Battery, DcSupply
from service.sheets.figures import NOTHING, asked, plain, said, temperature

if TYPE_CHECKING:
    from collections.abc import Iterator

    from service.messages.cable import Cable, Conductor
    from service.messages.fixture import FixtureLoad, Lead, Window
    from service.messages.supply import Circuit, Supply, Transformer


def cable_words(cable: Cable) -> str:
    """A cable by what it is made of."""
    conductor = conductor_words(cable)
    if not isinstance(cable.other_conductor, UnsetType):
        conductor = f"{conductor} and {conductor_words(cable.other_conductor)}"
    side_by_side = said(cable.cables_in_parallel)
    return conductor if side_by_side is None else f"{plain(side_by_side)} x {conductor}"


def conductor_words(conductor: Cable | Conductor) -> str:
    """One conductor; what the request leaves open is among the assumptions."""
    material = said(conductor.material)
    if isinstance(conductor, ListedCable | ListedConductor):
        parts = [conductor.conductor, material, said(conductor.stranding)]
    else:
        measured = f"{asked(conductor.resistance)} a conductor at {temperature(conductor.at_temperature)}"
        parts = [measured, material]
    return ", ".join(part for part in parts if part)


def load_words(load: FixtureLoad) -> str:
    """How a fixture draws."""
    if isinstance(load, ConstantPower):
        return ", ".join(_constant_power(load))
    if isinstance(load, ConstantCurrent):
        factor = said(load.power_factor)
        return f"{asked(load.current)} at any voltage" + (f", power factor {plain(factor)}" if factor else "")
    if isinstance(load, ConstantResistance | Filament):
        kind = "filament" if isinstance(load, Filament) else "resistor"
        return f"{kind}, {asked(load.power)} at {asked(load.rated_voltage)}"
    if isinstance(load, Strip):
        own = said(load.resistance_per_length)
        rails = "" if own is None else f", {asked(own)} both rails"
        return f"strip of {asked(load.length)}, {asked(load.power_per_length)}{rails}"
    return (
        f"at {asked(load.rated_voltage)}: {asked(load.constant_power_part)} constant power,"
        f" {asked(load.constant_current_part)} constant current,"
        f" {asked(load.constant_resistance_part)} resistance"
    )


def _constant_power(load: ConstantPower) -> Iterator[str]:
    yield asked(load.power)
    if (factor := said(load.power_factor)) is not None:
        yield f"power factor {plain(factor)}"
    if (apparent := said(load.apparent_power)) is not None:
        yield asked(apparent)


def window_words(window: Window | UnsetType) -> str:
    """Between which volts a fixture is made to work."""
    stated = said(window)
    if stated is None:
        return "usual"
    return f"{plain(stated.minimum.value)} to {plain(stated.maximum.value)} V"


def lead_words(lead: Lead | UnsetType) -> str:
    """The pigtail of a fixture."""
    stated = said(lead)
    return NOTHING if stated is None else f"{asked(stated.length)} {cable_words(stated.cable)}"


def supply_facts(supply: Supply) -> list[tuple[str, str]]:
    """What feeds the wiring."""
    if isinstance(supply, DcSupply):
        facts = [("Supply", "DC supply"), ("Output", asked(supply.output))]
        if (rating := said(supply.rating)) is not None:
            facts.append(("Rating", asked(rating)))
        if (least := said(supply.minimum_load)) is not None:
            facts.append(("Least load", asked(least)))
        return [*facts, *_inner(supply), *_further(supply)]
    if isinstance(supply, Battery):
        range_v = (
            f"{plain(supply.lowest.value)}, {plain(supply.nominal.value)}, {plain(supply.highest.value)} V"
        )
        facts = [("Supply", "battery"), ("Lowest, nominal, highest", range_v)]
        return [*facts, *_inner(supply), *_further(supply)]
    return [("Supply", "transformer"), *_transformer_facts(supply), *_further(supply)]


def _transformer_facts(supply: Transformer) -> Iterator[tuple[str, str]]:
    yield "Secondary at rated load and mains", asked(supply.secondary)
    if (winding := said(supply.winding)) is not None:
        yield "Rating", asked(winding.rating)
        yield "Regulation", f"{plain(winding.regulation_percent)} %"
    if (primary := said(supply.primary)) is not None:
        yield "Mains, rated and actual", f"{asked(primary.rated)}, {asked(primary.actual)}"
    if (measured := said(supply.open_circuit)) is not None:
        at_primary = said(measured.at_primary)
        told = "" if at_primary is None else f" at {asked(at_primary)} mains"
        yield "Measured open circuit", asked(measured.voltage) + told
    if (taps := said(supply.taps)) is not None:
        yield "Taps offered", ", ".join(plain(tap.value) for tap in taps) + " V"
    if (least := said(supply.minimum_load)) is not None:
        yield "Least load", asked(least)


def _inner(supply: DcSupply | Battery) -> Iterator[tuple[str, str]]:
    if (inner := said(supply.internal_resistance)) is not None:
        yield "Internal resistance", asked(inner)


def _further(supply: Supply) -> Iterator[tuple[str, str]]:
    if (circuits := said(supply.circuits)) is not None:
        yield "Circuits", circuit_words(circuits)
    if (longest := said(supply.maximum_cable_length)) is not None:
        yield "Longest cable allowed", asked(longest)
    if not isinstance(supply, Battery) and said(supply.class_2) is not None:
        yield "Class 2 source", "yes" if supply.class_2 else "no"


def circuit_words(circuits: list[Circuit]) -> str:
    """Circuits with their devices."""
    told = []
    for circuit in circuits:
        limit = said(circuit.limit)
        told.append(f"{circuit.name} ({'25 A' if limit is None else asked(limit)})")
    return ", ".join(told)
