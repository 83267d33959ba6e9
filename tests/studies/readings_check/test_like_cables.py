"""Which cable a resistance is like: by NEC chapter 9 table 8 and IEC 60228, as printed there."""

from __future__ import annotations

import pytest

from service.circuit.cables import resolve_cable
from service.circuit.job import CableSpec, Listed, MeasuredResistance
from service.studies.readings_check.words import like_cables, number
from service.tables import LEAD_SIZES

DATUM_C = 20.0


def like(name: str, ratio: float, uncertainty: float | None = 0.02, material: str | None = None) -> str:
    cable = resolve_cable(CableSpec(Listed(name, material, None), None, 1), DATUM_C)
    return like_cables(cable, ratio, uncertainty, DATUM_C)


@pytest.mark.parametrize(
    ("said", "ratio", "told"),
    [
        ("14 AWG", 4.99 / 3.14, "like 16 AWG"),
        ("12 AWG", 7.95 / 1.98, "like 18 AWG"),
        ("12 AWG", 1.24 / 1.98, "like 10 AWG"),
        ("2.5 mm2", 12.1 / 7.41, "like 1.5 mm2"),
        ("1.5 mm2", 18.1 / 12.1, "like 1 mm2"),
    ],
)
def test_a_resistance_of_the_table_is_told_by_its_size(said: str, ratio: float, told: str) -> None:
    assert like(said, ratio).split(", or ")[0] == told


def test_copper_clad_aluminium_is_told_of_copper_and_not_of_itself() -> None:
    # 15 % of copper by volume conducts about 0.64 of copper, which is 1.6 times the resistance: from memory.
    assert "like 14 AWG copper-clad aluminium" in like("14 AWG", 1.6, 0.05)
    assert "clad" not in like("14 AWG", 1.6, 0.05, material="copper-clad-aluminium")


@pytest.mark.parametrize(
    ("said", "ratio"), [("18 AWG", 10.15 * 1.03 / 6.54), ("16 AWG", 2.53), ("0.75 mm2", 36.0 / 24.5)]
)
def test_no_size_of_leads_is_told_of_a_cable_in_the_ground(said: str, ratio: float) -> None:
    told = like(said, ratio)
    assert not [size for size in LEAD_SIZES if f"like {size}" in told]
    assert told.endswith(" % more length")


def test_a_lead_may_be_like_another_size_of_leads() -> None:
    # 16.14 and 25.67 ohm/kft at 20 °C, solid; the same ratio of stranded ones.
    assert like("22 AWG", 25.67 / 16.14).startswith("like 24 AWG")
    assert like("24 AWG", 16.14 / 25.67).startswith("like 22 AWG")


def test_between_two_sizes_only_a_length_is_told() -> None:
    assert like("12 AWG", 1.25) == "like 25 % more length"
    assert like("12 AWG", 0.8) == "like 20 % less length"


def test_a_size_found_roughly_may_be_any_cable_within_its_uncertainty() -> None:
    assert like("14 AWG", 1.8, 0.15).startswith("like 16 AWG")
    assert like("14 AWG", 1.8, 0.02) == "like 80 % more length"


def test_a_measured_cable_has_no_size_to_be_mistaken_for() -> None:
    cable = resolve_cable(CableSpec(MeasuredResistance(0.005, DATUM_C, None), None, 1), DATUM_C)
    assert like_cables(cable, 1.6, None, DATUM_C) == "like 60 % more length"
    assert like_cables(None, 1.6, None, DATUM_C) == "like 60 % more length"


@pytest.mark.parametrize(
    ("value", "text"), [(0.0, "0"), (0.2397, "0.24"), (31.13, "31"), (99.6, "100"), (186.4, "186")]
)
def test_a_number_in_a_sentence_has_no_more_digits_than_are_known(value: float, text: str) -> None:
    assert number(value) == text
