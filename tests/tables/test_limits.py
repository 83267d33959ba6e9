"""Currents: ampacity and the device before a conductor."""

from __future__ import annotations

import pytest

from service.tables import (
    CABLE_SIZES,
    CONDUCTOR_NAMES,
    LEAD_SIZES,
    MATERIALS,
    Ampacity,
    Limit,
    ampacity_a,
    device_limit_a,
    source,
)


def ampere(limit: Ampacity | Limit | None) -> float | None:
    return None if limit is None else limit.ampere


@pytest.mark.parametrize(
    ("name", "copper", "aluminium"),
    [
        ("14 AWG", 15, None),
        ("12 AWG", 20, 15),
        ("10 AWG", 30, 25),
        ("8 AWG", 40, 35),
        ("6 AWG", 55, 40),
        ("4 AWG", 70, 55),
    ],
)
def test_awg_ampacity_is_the_60_degree_column(name: str, copper: float, aluminium: float | None) -> None:
    # NEC table 310.16, from memory.
    assert ampere(ampacity_a(name, "copper")) == copper
    assert ampere(ampacity_a(name, "aluminium")) == aluminium


@pytest.mark.parametrize(
    ("name", "material", "limit"),
    [
        ("18 AWG", "copper", 7),
        ("16 AWG", "copper", 10),
        ("14 AWG", "copper", 15),
        ("12 AWG", "copper", 20),
        ("10 AWG", "copper", 30),
        ("14 AWG", "copper-clad-aluminium", 10),
        ("12 AWG", "copper-clad-aluminium", 15),
        ("10 AWG", "aluminium", 25),
    ],
)
def test_small_conductors_stand_behind_small_devices(name: str, material: str, limit: float) -> None:
    # NEC 240.4(D): 14, 12, 10 AWG copper and 12, 10 AWG aluminium seen on public pages, others from memory.
    assert ampere(device_limit_a(name, material)) == limit


@pytest.mark.parametrize("material", MATERIALS)
@pytest.mark.parametrize("name", CONDUCTOR_NAMES)
def test_no_device_passes_more_than_its_conductor_carries(name: str, material: str) -> None:
    # IEC 60364-4-43, 433.1: In is not above Iz.
    carries, device = ampacity_a(name, material), device_limit_a(name, material)
    assert (carries is None) == (device is None)
    assert carries is None or device is None or device.ampere <= carries.ampere


@pytest.mark.parametrize("name", CABLE_SIZES)
def test_no_light_metal_carries_as_much_as_copper(name: str) -> None:
    copper = ampacity_a(name, "copper")
    assert copper is not None
    for material in ("aluminium", "copper-clad-aluminium"):
        limit = ampacity_a(name, material)
        assert limit is None or limit.ampere < copper.ampere


def test_metric_copper_in_the_ground_carries_what_its_section_and_soil_allow() -> None:
    # Losses rise with I²R, so by IEC 60287 current rises a little faster than the square root of the section:
    # table B.52.2 method D1 (from memory) follows a power between 0.5 and 0.6.
    thin, thick = ampacity_a("1.5 mm2", "copper"), ampacity_a("16 mm2", "copper")
    assert thin is not None
    assert thick is not None
    assert (16 / 1.5) ** 0.5 < thick.ampere / thin.ampere < (16 / 1.5) ** 0.6


@pytest.mark.parametrize(("name", "limit"), [("0.5 mm2", 3), ("0.75 mm2", 6), ("1 mm2", 10)])
def test_flexible_cords_carry_what_bs_7671_prints(name: str, limit: float) -> None:
    # BS 7671 table 4F3A as a supplier's page reproduces it.
    assert ampere(ampacity_a(name, "copper")) == limit


def test_each_ampacity_says_how_the_cable_is_laid_for_it() -> None:
    laid = {
        "nec-310-16": "raceway, cable or earth at 30 °C",
        "iec-60364-5-52": "D1, in a duct in soil at 20 °C",
        "bs-7671-4f3a": "flexible cord in air at 30 °C",
    }
    for name in CONDUCTOR_NAMES:
        limit = ampacity_a(name, "copper")
        if limit is not None and limit.source in laid:
            assert limit.installation_method == laid[limit.source]


def test_sizes_in_which_cable_is_laid_have_an_ampacity_in_copper_and_thin_awg_has_none() -> None:
    # NEC table 310.16 lists no current below 14 AWG, and 240.4(D) no device below 18 AWG.
    assert all(ampacity_a(name, "copper") for name in CABLE_SIZES)
    assert [name for name in LEAD_SIZES if ampacity_a(name, "copper") is None] == [
        "24 AWG",
        "22 AWG",
        "20 AWG",
    ]
    assert [name for name in CONDUCTOR_NAMES if name not in CABLE_SIZES] == list(LEAD_SIZES)


def test_what_no_table_lists_has_no_limit() -> None:
    assert ampacity_a("18 AWG", "aluminium") is None
    assert device_limit_a("1.5 mm2", "copper-clad-aluminium") is None
    assert ampacity_a("11 AWG", "copper") is None


def test_metric_clad_limits_say_that_they_are_practice() -> None:
    limit = ampacity_a("2.5 mm2", "copper-clad-aluminium")
    assert limit is not None
    assert source(limit.source).known == "trade-practice"
