"""Conductors that no standard prints."""

from __future__ import annotations

import math
from itertools import product

import pytest

from service.tables import (
    CONDUCTOR_NAMES,
    MATERIALS,
    STRANDINGS,
    NotListedError,
    conductor,
    conductors,
    source,
)
from service.tables.loading import load_tables, table_texts

CLAD = "copper-clad-aluminium"
THIN, AWG, METRIC = CONDUCTOR_NAMES[:3], CONDUCTOR_NAMES[3:11], CONDUCTOR_NAMES[11:]
DERIVATIONS = load_tables(table_texts()).derivations
COMBINATIONS = tuple(product(CONDUCTOR_NAMES, MATERIALS, STRANDINGS))


def resistance(name: str, material: str, stranding: str) -> float:
    return conductor(name, material, stranding).resistance_ohm_per_m


def rounded_up(ratio: float) -> float:
    return math.ceil(ratio * 100) / 100


@pytest.mark.parametrize(("name", "material", "stranding"), COMBINATIONS)
def test_every_combination_has_an_answer_that_says_whether_it_is_printed(
    name: str, material: str, stranding: str
) -> None:
    listed = conductor(name, material, stranding)
    assert (listed.name, listed.material, listed.stranding) == (name, material, stranding)
    assert bool(listed.derived) == (listed not in conductors())


@pytest.mark.parametrize(("name", "material", "stranding"), COMBINATIONS)
def test_a_conductor_names_every_source_that_its_figures_rest_on(
    name: str, material: str, stranding: str
) -> None:
    listed = conductor(name, material, stranding)
    steps = {DERIVATIONS[identity].source for identity in listed.derived}
    assert {listed.source} | steps <= set(listed.sources)
    assert all(source(identity).title for identity in listed.sources)


def test_clad_ratio_is_the_lowest_conductivity_of_the_ten_per_cent_class() -> None:
    # ASTM B566 class 10: at least 62.9 % IACS.
    assert DERIVATIONS[CLAD].ratio == rounded_up(100 / 62.9)


def test_clad_lies_between_copper_and_aluminium() -> None:
    for name in (*THIN, *AWG):
        assert (
            resistance(name, "copper", "stranded")
            < resistance(name, CLAD, "stranded")
            < resistance(name, "aluminium", "stranded")
        )


def test_flexible_ratio_is_the_largest_that_iec_60228_prints_in_the_range() -> None:
    printed = [
        resistance(name, "copper", "flexible") / resistance(name, "copper", "stranded") for name in METRIC
    ]
    assert METRIC[printed.index(max(printed))] == "1.5 mm2"
    assert DERIVATIONS["awg-flexible"].ratio == rounded_up(max(printed))


def test_ratios_of_thin_awg_are_the_largest_that_nec_table_8_prints() -> None:
    solid = [name for name in AWG if not conductor(name, "copper", "solid").derived]
    stranded = [
        resistance(name, "copper", "stranded") / resistance(name, "copper", "solid") for name in solid
    ]
    aluminium = [
        resistance(name, "aluminium", stranding) / resistance(name, "copper", stranding)
        for stranding, names in (("solid", solid), ("stranded", AWG))
        for name in names
    ]
    assert DERIVATIONS["awg-thin-stranded"].ratio == rounded_up(max(stranded))
    assert DERIVATIONS["awg-thin-aluminium"].ratio == rounded_up(max(aluminium))


def test_metric_aluminium_ratio_is_the_larger_of_the_two_that_iec_60228_prints() -> None:
    printed = [
        resistance(name, "aluminium", "stranded") / resistance(name, "copper", "stranded")
        for name in ("10 mm2", "16 mm2")
    ]
    assert DERIVATIONS["metric-aluminium"].ratio == rounded_up(max(printed))


@pytest.mark.parametrize(
    ("name", "material", "stranding", "printed", "steps"),
    [
        ("12 AWG", CLAD, "stranded", 1.98 * 1.59, (CLAD,)),
        ("12 AWG", CLAD, "flexible", 1.98 * 1.59 * 1.10, (CLAD, "awg-flexible")),
        ("6 AWG", CLAD, "solid", 0.491 * 1.59, (CLAD, "awg-solid-as-stranded")),
        ("12 AWG", "aluminium", "flexible", 3.25 * 1.10, ("awg-flexible",)),
        ("4 AWG", "aluminium", "solid", 0.508, ("awg-solid-as-stranded",)),
        ("4 AWG", "copper", "solid", 0.308, ("awg-solid-as-stranded",)),
        ("20 AWG", "copper", "stranded", 10.15 * 1.03, ("awg-thin-stranded",)),
        ("20 AWG", "copper", "flexible", 10.15 * 1.03 * 1.10, ("awg-flexible", "awg-thin-stranded")),
        ("22 AWG", "aluminium", "solid", 16.14 * 1.66, ("awg-thin-aluminium",)),
        ("24 AWG", CLAD, "stranded", 25.67 * 1.59 * 1.03, (CLAD, "awg-thin-stranded")),
    ],
)
def test_awg_derivations_chain_back_to_a_printed_row_in_ohm_per_thousand_feet(
    name: str, material: str, stranding: str, printed: float, steps: tuple[str, ...]
) -> None:
    listed = conductor(name, material, stranding)
    assert listed.resistance_ohm_per_m * 304.8 == pytest.approx(printed)
    assert listed.derived == steps


@pytest.mark.parametrize(
    ("name", "material", "stranding", "printed", "steps"),
    [
        ("2.5 mm2", "aluminium", "stranded", 7.41 * 1.69, ("metric-aluminium",)),
        ("10 mm2", "aluminium", "flexible", 1.91 * 1.69, ("metric-aluminium",)),
        ("10 mm2", "aluminium", "stranded", 3.08, ()),
        ("0.5 mm2", "aluminium", "flexible", 39.0 * 1.69, ("metric-aluminium",)),
        ("1.5 mm2", CLAD, "flexible", 13.3 * 1.59, (CLAD,)),
    ],
)
def test_metric_derivations_chain_back_to_a_printed_row_in_ohm_per_kilometre(
    name: str, material: str, stranding: str, printed: float, steps: tuple[str, ...]
) -> None:
    listed = conductor(name, material, stranding)
    assert listed.resistance_ohm_per_m * 1000 == pytest.approx(printed)
    assert listed.derived == steps


def test_a_clad_conductor_takes_the_coefficient_of_aluminium() -> None:
    clad = conductor("12 AWG", CLAD, "stranded")
    assert clad.coefficient_per_k == conductor("12 AWG", "aluminium", "stranded").coefficient_per_k
    assert "cca-coefficient" in clad.sources


@pytest.mark.parametrize(
    ("name", "material", "stranding", "kind", "asked"),
    [
        ("11 AWG", "copper", "solid", "conductor", "11 AWG"),
        ("12 AWG", "silver", "solid", "material", "silver"),
        ("12 AWG", "copper", "braided", "stranding", "braided"),
    ],
)
def test_an_unlisted_word_is_refused_with_the_words_that_are_listed(
    name: str, material: str, stranding: str, kind: str, asked: str
) -> None:
    with pytest.raises(NotListedError, match=f'no {kind} "{asked}". Use one of: ') as refused:
        conductor(name, material, stranding)
    assert (refused.value.kind, refused.value.asked) == (kind, asked)
    assert asked not in refused.value.listed
