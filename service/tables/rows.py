"""What one row of each table says."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Source:
    """Where a figure comes from; `known` is ``seen``, ``memory`` or ``trade-practice``."""

    id: str
    title: str
    edition: str
    publisher: str
    clause: str
    known: str
    note: str


@dataclass(frozen=True, slots=True)
class ListedConductor:
    """ONE conductor as the tables give it.

    Attributes
    ----------
    name, material, stranding : str
        What it is listed under, such as ``12 AWG``, ``copper``, ``stranded``.
    resistance_ohm_per_m : float
        Direct-current resistance of one conductor at `datum_c`. [ohm/m]
    datum_c : float
        Conductor temperature at which the table states resistance. [°C]
    coefficient_per_k : float
        Temperature coefficient that belongs to that datum and to no other. [1/K]
    area_mm2 : float
        Section: from the diameter for AWG, nominal for metric sizes. [mm²]
    source : str
        Id of the source of the printed resistance.
    sources : tuple of str
        Ids of all sources behind the figures: resistance, coefficient, derivations. [one each]
    derived : tuple of str
        Ids of the derivations that led here from the printed row, in order; empty if the table prints it.
    """

    name: str
    material: str
    stranding: str
    resistance_ohm_per_m: float
    datum_c: float
    coefficient_per_k: float
    area_mm2: float
    source: str
    sources: tuple[str, ...]
    derived: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Coefficient:
    """Temperature coefficient of resistance of a metal, in 1/K, good for one datum only."""

    material: str
    datum_c: float
    coefficient_per_k: float
    source: str


@dataclass(frozen=True, slots=True)
class Derivation:
    """How a conductor that no table prints follows from one that a table does print.

    `sizes` is ``AWG``, ``mm2`` or ``any``; `material` and `stranding` may be ``any``, `from_material` and
    `from_stranding` may be ``same``.
    """

    id: str
    sizes: str
    material: str
    stranding: str
    from_material: str
    from_stranding: str
    ratio: float
    source: str
    sentence: str


@dataclass(frozen=True, slots=True)
class Limit:
    """A current that is not to be passed, in A."""

    ampere: float
    source: str


@dataclass(frozen=True, slots=True)
class Constant:
    """One figure with the unit that its source states; ``1`` is a plain number."""

    value: float
    unit: str
    source: str


@dataclass(frozen=True, slots=True)
class MainsRange:
    """Lowest and highest mains voltage beside its nominal, all in `unit`; in unit ``1`` they are shares."""

    name: str
    lowest: float
    highest: float
    nominal: float
    unit: str
    source: str

    @property
    def lowest_ratio(self) -> float:
        """Lowest over nominal."""
        return self.lowest / self.nominal

    @property
    def highest_ratio(self) -> float:
        """Highest over nominal."""
        return self.highest / self.nominal


@dataclass(frozen=True, slots=True)
class CableConstant:
    """What the trade divides watts times feet by to find a drop on 12 V, in W·ft/V."""

    conductor: str
    watt_feet_per_volt: float
    source: str


@dataclass(frozen=True, slots=True)
class UsualRating:
    """An apparent power for which transformers are usually made, in VA."""

    rating_va: float
    source: str
