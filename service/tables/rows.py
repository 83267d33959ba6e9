"""The tables: each is a class whose fields are its columns, with the rule that holds between its rows."""

from collections.abc import Mapping, Sequence
from typing import Annotated, Final, NamedTuple

from service.tables.reading import (
    KEY,
    ListedSize,
    ListedSource,
    MaybeText,
    Positive,
    Size,
    Text,
    one_of,
    sizes,
)

MATERIALS: Final = ("copper", "copper-clad-aluminium", "aluminium")


STRANDINGS: Final = ("solid", "stranded", "flexible")


# The international foot is 0.3048 m exactly.
_METRES_PER_UNIT: Final = {"ohm/kft": 304.8, "ohm/km": 1000.0}


LEAD_SIZES: Final = ("24 AWG", "22 AWG", "20 AWG", "0.5 mm2")
"""Of leads and strips; no cable is laid in them unless asked for (common practice, no published source)."""


def sizes_of(name: str) -> str:
    """Return the family of sizes that a name such as ``12 AWG`` belongs to: ``AWG`` or ``mm2``."""
    return name.rpartition(" ")[2]


class Source(NamedTuple):
    """``sources.csv``: where a figure comes from, and how that is known."""

    id: Annotated[Text, KEY]
    title: Text
    edition: MaybeText
    publisher: Text
    clause: MaybeText
    known: Annotated[str, one_of("seen", "memory", "trade-practice")]
    note: Text


class Coefficient(NamedTuple):
    """``coefficients.csv``: temperature coefficient of resistance, in 1/K, good for one datum in °C only."""

    material: Annotated[str, one_of(*MATERIALS), KEY]
    datum_c: Annotated[Positive, KEY]
    coefficient_per_k: Positive
    source: ListedSource


class PrintedConductor(NamedTuple):
    """``conductors.csv``: resistance of ONE conductor at its datum in °C, as a standard prints it.

    The section in mm² is that of the diameter for AWG, and the nominal one for metric sizes.
    """

    name: Annotated[Size, KEY]
    material: Annotated[str, one_of(*MATERIALS), KEY]
    stranding: Annotated[str, one_of(*STRANDINGS), KEY]
    resistance: Positive
    unit: Annotated[str, one_of(*_METRES_PER_UNIT)]
    datum_c: Positive
    area_mm2: Positive
    source: ListedSource
    note: MaybeText

    @property
    def resistance_ohm_per_m(self) -> float:
        """Resistance in SI. [ohm/m]"""
        return self.resistance / _METRES_PER_UNIT[self.unit]

    @property
    def column(self) -> tuple[str, str, str]:
        """The column of the standard that the row stands in, thin to thick."""
        return sizes_of(self.name), self.material, self.stranding


def conductor_mistake(
    coefficients: Mapping[tuple[str, float], Coefficient],
    row: PrintedConductor,
    above: Sequence[PrintedConductor],
) -> str | None:
    """A datum without coefficient, a size with two sections, or a column not in order, thin to thick."""
    if (row.material, row.datum_c) not in coefficients:
        return f"coefficients.csv has no row for {row.material} at {row.datum_c:g} °C. Add one there."
    if any(other.name == row.name and other.area_mm2 != row.area_mm2 for other in above):
        return f"{row.name} has another section in a row above. Write one of the two in both."
    thinner = next((each for each in reversed(above) if each.column == row.column), None)
    if thinner and row.area_mm2 <= thinner.area_mm2:
        return f"the section does not rise from {thinner.name} to {row.name}. Check both rows."
    if thinner and row.resistance_ohm_per_m >= thinner.resistance_ohm_per_m:
        return f"the resistance does not fall from {thinner.name} to {row.name}. Check both rows."
    return None


class Derivation(NamedTuple):
    """``derivations.csv``: how a conductor that no table prints follows from one that a table does print.

    Where two fit, the first in the file is taken first.
    """

    id: Annotated[Text, KEY]
    sizes: Annotated[str, sizes]
    material: Annotated[str, one_of(*MATERIALS, "any")]
    stranding: Annotated[str, one_of(*STRANDINGS, "any")]
    from_material: Annotated[str, one_of(*MATERIALS, "same")]
    from_stranding: Annotated[str, one_of(*STRANDINGS, "same")]
    ratio: Positive
    source: ListedSource
    sentence: Text

    def covers(self, name: str) -> bool:
        """Whether it is for a size."""
        return self.sizes in {"any", sizes_of(name)} or name in self.sizes.split("; ")


class Ampacity(NamedTuple):
    """``ampacities.csv``: the current that a conductor carries for good, in A, laid as stated."""

    name: Annotated[ListedSize, KEY]
    material: Annotated[str, one_of(*MATERIALS), KEY]
    ampere: Positive
    installation_method: Text
    source: ListedSource
    note: MaybeText


class Limit(NamedTuple):
    """``device_limits.csv``: the largest overcurrent device that may stand before a conductor, in A."""

    name: Annotated[ListedSize, KEY]
    material: Annotated[str, one_of(*MATERIALS), KEY]
    ampere: Positive
    source: ListedSource
    note: MaybeText


def limit_mistake(
    names: Sequence[str], row: Ampacity | Limit, above: Sequence[Ampacity | Limit]
) -> str | None:
    """A column that does not run thin to thick, or in which a thicker conductor carries no more."""
    column = sizes_of(row.name), row.material
    thinner = next((each for each in reversed(above) if (sizes_of(each.name), each.material) == column), None)
    if thinner and names.index(row.name) < names.index(thinner.name):
        return f"{row.name} stands below {thinner.name}. Write thin before thick."
    if thinner and row.ampere <= thinner.ampere:
        return f"the current does not rise from {thinner.name} to {row.name}. Check both rows."
    return None


class Constant(NamedTuple):
    """``constants.csv``: one figure with the unit that its source states; ``1`` is a plain number."""

    name: Annotated[Text, KEY]
    value: Positive
    unit: Annotated[str, one_of("1", "V", "A", "W", "VA", "VA/V", "ohm/m")]
    source: ListedSource
    note: MaybeText


class MainsRange(NamedTuple):
    """``mains_ranges.csv``: lowest and highest mains voltage beside its nominal; in unit ``1``, shares."""

    name: Annotated[Text, KEY]
    lowest: Positive
    highest: Positive
    nominal: Positive
    unit: Annotated[str, one_of("1", "V")]
    source: ListedSource
    note: MaybeText

    @property
    def lowest_ratio(self) -> float:
        """Lowest over nominal."""
        return self.lowest / self.nominal

    @property
    def highest_ratio(self) -> float:
        """Highest over nominal."""
        return self.highest / self.nominal


def range_mistake(row: MainsRange, _above: Sequence[MainsRange]) -> str | None:
    """A nominal voltage outside its own range."""
    if row.lowest < row.nominal < row.highest:
        return None
    return '"lowest", "nominal" and "highest" do not rise in that order. Check the row.'


class UsualRating(NamedTuple):
    """``usual_ratings.csv``: an apparent power for which transformers are usually made, in VA."""

    rating: Annotated[Positive, KEY]
    unit: Annotated[str, one_of("VA")]
    source: ListedSource
    note: MaybeText

    @property
    def rating_va(self) -> float:
        """The rating in the one unit that the table has. [VA]"""
        return self.rating


def rating_mistake(row: UsualRating, above: Sequence[UsualRating]) -> str | None:
    """A rating that is not larger than the one above it."""
    if above and row.rating < above[-1].rating:
        return '"rating" is below the one above it. Write small before large.'
    return None


class CableConstantEntry(NamedTuple):
    """``cable_constants.csv``: over what W·ft gives the drop on 12 V over copper, in W·ft/V."""

    conductor: Annotated[ListedSize, KEY]
    constant: Positive
    unit: Annotated[str, one_of("W.ft/V")]
    source: ListedSource
    note: MaybeText

    @property
    def watt_feet_per_volt(self) -> float:
        """The constant in the one unit that the table has. [W·ft/V]"""
        return self.constant


def cable_mistake(row: CableConstantEntry, above: Sequence[CableConstantEntry]) -> str | None:
    """A constant that is not larger than the one above it."""
    if above and row.constant <= above[-1].constant:
        return '"constant" is not above the one in the row above. Write thin before thick.'
    return None


class Currency(NamedTuple):
    """``currencies.csv``: a currency, fund or metal with a code, and the decimals of its minor unit."""

    code: Annotated[Text, KEY]
    minor_unit: Annotated[str, one_of("0", "2", "3", "4", "none")]
    name: Text
    source: ListedSource
    note: MaybeText

    @property
    def decimals(self) -> int | None:
        """Decimals of an amount; None where there is no minor unit."""
        return None if self.minor_unit == "none" else int(self.minor_unit)


class UnitCode(NamedTuple):
    """``unit_codes.csv``: the code under which trade counts in a unit."""

    unit: Annotated[Text, KEY]
    code: Text
    name: Text
    source: ListedSource
    note: MaybeText
