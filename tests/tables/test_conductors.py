"""Printed conductors against geometry, other standards and the other columns of the same standard."""

from __future__ import annotations

import math

import pytest

from service.tables import CONDUCTOR_NAMES, MATERIALS, STRANDINGS, coefficient, conductor, conductors

METRES_PER_KFT = 304.8
THIN = ("24 AWG", "22 AWG", "20 AWG")
AWG_SOLID = ("18 AWG", "16 AWG", "14 AWG", "12 AWG", "10 AWG", "8 AWG")
AWG = (*AWG_SOLID, "6 AWG", "4 AWG")
METRIC = ("0.5 mm2", "0.75 mm2", "1 mm2", "1.5 mm2", "2.5 mm2", "4 mm2", "6 mm2", "10 mm2", "16 mm2")


def ohm_per_kft(name: str, material: str, stranding: str) -> float:
    return conductor(name, material, stranding).resistance_ohm_per_m * METRES_PER_KFT


def ohm_per_km(name: str, material: str, stranding: str) -> float:
    return conductor(name, material, stranding).resistance_ohm_per_m * 1000


def awg_section_mm2(name: str) -> float:
    """ASTM B258: 36 AWG is 0.127 mm thick, and 39 equal ratios lead to 0000 AWG, 92 times as thick."""
    number = int(name.removesuffix(" AWG"))
    diameter_mm = 0.127 * math.pow(92, (36 - number) / 39)
    return math.pi / 4 * diameter_mm**2


def test_names_run_from_24_to_4_awg_and_then_up_in_square_millimetres() -> None:
    assert (*THIN, *AWG, *METRIC) == CONDUCTOR_NAMES


@pytest.mark.parametrize("name", AWG_SOLID)
def test_solid_awg_copper_is_annealed_copper_of_its_diameter_at_75_degrees(name: str) -> None:
    # IEC 60028: 100 % IACS is 1/58 ohm·mm²/m at 20 °C with 0.00393 per kelvin. One per cent covers the three
    # digits of the table (up to 0.4 %) and the rounded diameters behind it.
    ideal_ohm_per_m = 1 / 58 / awg_section_mm2(name) * (1 + 0.00393 * 55)
    assert conductor(name, "copper", "solid").resistance_ohm_per_m == pytest.approx(ideal_ohm_per_m, rel=0.01)


@pytest.mark.parametrize(("name", "printed"), [("20 AWG", 10.15), ("22 AWG", 16.14), ("24 AWG", 25.67)])
def test_thin_awg_copper_is_what_reference_pages_print_and_annealed_copper_of_its_diameter(
    name: str, printed: float
) -> None:
    # A university's reference page prints these at 20 °C. IEC 60028 over ASTM B258 agrees within four digits.
    listed = conductor(name, "copper", "solid")
    assert ohm_per_kft(name, "copper", "solid") == pytest.approx(printed)
    assert listed.datum_c == 20.0
    assert listed.resistance_ohm_per_m == pytest.approx(1 / 58 / awg_section_mm2(name), rel=5e-4)


def test_thin_awg_goes_on_where_nec_table_8_begins() -> None:
    # ASTM B258: two sizes are 92^(2/39) of the diameter, and the section goes with its square. Both at 75 °C.
    thin, thick = conductor("20 AWG", "copper", "solid"), conductor("18 AWG", "copper", "solid")
    at_75 = thin.resistance_ohm_per_m * (1 + thin.coefficient_per_k * 55)
    assert at_75 / thick.resistance_ohm_per_m == pytest.approx(92 ** (4 / 39), rel=0.01)


@pytest.mark.parametrize("name", [*THIN, *AWG])
def test_awg_section_follows_from_the_diameter_that_astm_b258_defines(name: str) -> None:
    assert conductor(name, "copper", "stranded").area_mm2 == pytest.approx(awg_section_mm2(name), rel=1e-4)


@pytest.mark.parametrize("name", METRIC)
def test_metric_section_is_the_nominal_one(name: str) -> None:
    assert conductor(name, "copper", "stranded").area_mm2 == float(name.removesuffix(" mm2"))


@pytest.mark.parametrize("name", AWG_SOLID)
def test_strand_lay_adds_two_per_cent_to_awg_copper(name: str) -> None:
    # The range that NEC chapter 9 table 8 itself shows.
    ratio = ohm_per_kft(name, "copper", "stranded") / ohm_per_kft(name, "copper", "solid")
    assert 1.018 <= ratio <= 1.026


@pytest.mark.parametrize("name", AWG_SOLID)
def test_strand_lay_adds_two_per_cent_to_awg_aluminium(name: str) -> None:
    # The stranded column is from memory; at 8 AWG the printed digits (1.26, 1.28) leave it
    # ±0.8 % wide.
    ratio = ohm_per_kft(name, "aluminium", "stranded") / ohm_per_kft(name, "aluminium", "solid")
    assert 1.015 <= ratio <= 1.026


@pytest.mark.parametrize(
    ("name", "stranding"),
    [
        *((name, "solid") for name in AWG_SOLID),
        *((name, "stranded") for name in AWG),
    ],
)
def test_awg_aluminium_is_61_per_cent_copper(name: str, stranding: str) -> None:
    # EC aluminium is 61 % IACS, so 1.64 at 20 °C; at 75 °C a little more, since aluminium rises faster.
    ratio = ohm_per_kft(name, "aluminium", stranding) / ohm_per_kft(name, "copper", stranding)
    assert 1.64 <= ratio <= 1.66


@pytest.mark.parametrize(
    ("name", "stranding", "ohm_per_km_text", "kft_digit"),
    [
        ("18 AWG", "solid", "25.5", 0.01),
        ("18 AWG", "stranded", "26.1", 0.01),
        ("16 AWG", "solid", "16.0", 0.01),
        ("16 AWG", "stranded", "16.4", 0.01),
        ("14 AWG", "solid", "10.1", 0.01),
        ("14 AWG", "stranded", "10.3", 0.01),
        ("12 AWG", "solid", "6.34", 0.01),
        ("12 AWG", "stranded", "6.50", 0.01),
    ],
)
def test_awg_agrees_with_the_kilometre_column_within_the_rounding_of_both(
    name: str, stranding: str, ohm_per_km_text: str, kft_digit: float
) -> None:
    # NEC chapter 9 table 8 rounds its ohm/km column separately (seen in an unofficial copy).
    km_digit = 10.0 ** -len(ohm_per_km_text.partition(".")[2])
    rounding = kft_digit / 2 / 0.3048 + km_digit / 2
    assert ohm_per_km(name, "copper", stranding) == pytest.approx(float(ohm_per_km_text), abs=rounding)


@pytest.mark.parametrize(
    ("name", "millivolt", "digit"),
    [
        ("1 mm2", 44, 1),
        ("1.5 mm2", 29, 1),
        ("2.5 mm2", 18, 1),
        ("4 mm2", 11, 1),
        ("6 mm2", 7.3, 0.1),
        ("10 mm2", 4.4, 0.1),
        ("16 mm2", 2.8, 0.1),
    ],
)
def test_metric_copper_gives_the_two_core_drops_of_bs_7671(name: str, millivolt: float, digit: float) -> None:
    # BS 7671 table 4D2B, two-core cable at 70 °C, mV/A/m, from memory. One unit of its last digit: at 6 mm²
    # it prints 7.3 where IEC 60228 gives 7.37.
    listed = conductor(name, "copper", "stranded")
    at_70 = listed.resistance_ohm_per_m * (1 + listed.coefficient_per_k * (70 - listed.datum_c))
    assert 2 * at_70 * 1000 == pytest.approx(millivolt, abs=digit)


@pytest.mark.parametrize(
    ("name", "class_2", "class_5"),
    [
        ("0.5 mm2", 36.0, 39.0),
        ("0.75 mm2", 24.5, 26.0),
        ("1 mm2", 18.1, 19.5),
        ("1.5 mm2", 12.1, 13.3),
        ("2.5 mm2", 7.41, 7.98),
        ("4 mm2", 4.61, 4.95),
        ("6 mm2", 3.08, 3.30),
        ("10 mm2", 1.83, 1.91),
        ("16 mm2", 1.15, 1.21),
    ],
)
def test_metric_copper_is_what_iec_60228_prints(name: str, class_2: float, class_5: float) -> None:
    # IEC 60228:2004 tables 1 to 3, plain copper, ohm/km at 20 °C (seen on cable makers' pages).
    assert ohm_per_km(name, "copper", "solid") == pytest.approx(class_2)
    assert ohm_per_km(name, "copper", "stranded") == pytest.approx(class_2)
    assert ohm_per_km(name, "copper", "flexible") == pytest.approx(class_5)
    assert conductor(name, "copper", "stranded").datum_c == 20


@pytest.mark.parametrize("name", METRIC)
def test_metric_copper_is_worse_than_pure_copper_of_its_nominal_section(name: str) -> None:
    # IEC 60228 limits resistance, not section: its limit lies a few per cent above (1/58)/S, never below.
    listed = conductor(name, "copper", "stranded")
    assert 1.04 <= listed.resistance_ohm_per_m * listed.area_mm2 * 58 <= 1.08


@pytest.mark.parametrize(("material", "zero_c"), [("copper", 234.5), ("aluminium", 228.1)])
def test_both_datums_of_a_metal_describe_one_straight_line(material: str, zero_c: float) -> None:
    # Zero-resistance temperatures of IEC 60287 practice, from memory; two coefficients of three digits each.
    for datum_c in (20.0, 75.0):
        assert coefficient(material, datum_c).coefficient_per_k == pytest.approx(
            1 / (zero_c + datum_c), rel=0.002
        )


def test_copper_coefficient_at_75_degrees_follows_from_the_one_at_20() -> None:
    at_20 = coefficient("copper", 20.0).coefficient_per_k
    assert at_20 / (1 + at_20 * 55) == pytest.approx(0.0032315, abs=5e-8)
    assert round(at_20 / (1 + at_20 * 55), 5) == coefficient("copper", 75.0).coefficient_per_k


@pytest.mark.parametrize("stranding", STRANDINGS)
@pytest.mark.parametrize("material", MATERIALS)
@pytest.mark.parametrize("name", CONDUCTOR_NAMES)
def test_every_conductor_keeps_the_coefficient_of_its_own_datum(
    name: str, material: str, stranding: str
) -> None:
    listed = conductor(name, material, stranding)
    assert listed.datum_c == (75 if name in AWG else 20)
    assert listed.coefficient_per_k == coefficient(material, listed.datum_c).coefficient_per_k


@pytest.mark.parametrize("stranding", STRANDINGS)
@pytest.mark.parametrize("material", MATERIALS)
@pytest.mark.parametrize("names", [(*THIN, *AWG), METRIC])
def test_resistance_falls_with_size(names: tuple[str, ...], material: str, stranding: str) -> None:
    resistances = [conductor(name, material, stranding).resistance_ohm_per_m for name in names]
    assert resistances == sorted(set(resistances), reverse=True)


def test_printed_conductors_are_answered_as_they_stand() -> None:
    assert len(conductors()) == 62
    for listed in conductors():
        assert listed.derived == ()
        assert conductor(listed.name, listed.material, listed.stranding) is listed
