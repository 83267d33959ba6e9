"""Every unit is checked against its definition, worked out by hand in exact fractions."""

from fractions import Fraction

import pytest

from service.units import DIMENSION_OF, DIMENSIONS, FACTORS, UNITS, from_inside, inside

# International yard and pound agreement, 1959: 1 yd = 0.9144 m exactly; 3 ft in a yard, 12 in in a foot.
YARD = Fraction(9144, 10_000)
FOOT = YARD / 3
INCH = FOOT / 12
# SI brochure, 9th edition, table 7: prefixes.
MILLI = Fraction(1, 1000)
KILO = Fraction(1000)

DEFINITIONS = {
    "m": Fraction(1),
    "cm": Fraction(1, 100),
    "mm": MILLI,
    "km": KILO,
    "in": INCH,
    "ft": FOOT,
    "yd": YARD,
    "V": Fraction(1),
    "mV": MILLI,
    "A": Fraction(1),
    "mA": MILLI,
    "W": Fraction(1),
    "kW": KILO,
    "VA": Fraction(1),
    "kVA": KILO,
    "ohm": Fraction(1),
    "mohm": MILLI,
    "ohm/m": Fraction(1),
    "ohm/km": 1 / KILO,
    "ohm/ft": 1 / FOOT,
    "ohm/kft": 1 / (KILO * FOOT),
    "W/m": Fraction(1),
    "W/ft": 1 / FOOT,
    "degC": Fraction(1),
    # NIST Special Publication 811, appendix B.8: t/degC = (t/degF - 32) / 1.8.
    "degF": Fraction(5, 9),
    "kWh": Fraction(1),
    "h": Fraction(1),
}


def test_every_unit_has_a_definition_here() -> None:
    assert set(DEFINITIONS) == set(FACTORS)


@pytest.mark.parametrize("unit", DEFINITIONS)
def test_factor_is_the_float_nearest_to_the_definition(unit: str) -> None:
    assert FACTORS[unit][0] == float(DEFINITIONS[unit])


def test_only_fahrenheit_has_an_offset() -> None:
    assert {unit: offset for unit, (_, offset) in FACTORS.items() if offset} == {
        "degF": float(Fraction(-160, 9))
    }


def test_fixed_points_of_fahrenheit_agree_with_celsius() -> None:
    # By definition of the scale: ice 32 degF, steam 212 degF; both scales meet at -40.
    assert inside(32.0, "degF") == 0.0
    assert inside(212.0, "degF") == 100.0
    assert inside(-40.0, "degF") == -40.0


def test_handbook_resistance_converts_to_ohm_per_metre() -> None:
    # NEC chapter 9 table 8 prints 12 AWG stranded copper as 1.98 ohm/kFT and 6.50 ohm/km.
    assert inside(1.98, "ohm/kft") == pytest.approx(6.50e-3, abs=0.005e-3)


@pytest.mark.parametrize("unit", [names[0] for names in DIMENSIONS.values()])
def test_value_in_the_inside_unit_comes_back_unchanged(unit: str) -> None:
    for value in (0.1, 1 / 3, 5e-324, 1.7e308):
        assert inside(value, unit) == value
        assert from_inside(value, unit) == value


@pytest.mark.parametrize("unit", DEFINITIONS)
def test_from_inside_undoes_inside(unit: str) -> None:
    assert from_inside(inside(123.456, unit), unit) == pytest.approx(123.456, rel=1e-15)


def test_apparent_and_real_power_are_two_dimensions() -> None:
    assert DIMENSION_OF["VA"] == "apparent-power"
    assert DIMENSION_OF["W"] == "real-power"


def test_no_unit_name_belongs_to_two_dimensions() -> None:
    assert len(UNITS) == sum(len(names) for names in DIMENSIONS.values()) == len(FACTORS)


def test_each_unit_names_the_unit_used_inside() -> None:
    assert {(unit.dimension, unit.inside_unit) for unit in UNITS} == {
        (dimension, names[0]) for dimension, names in DIMENSIONS.items()
    }


@pytest.mark.parametrize("text", ["9**9**9 m", "feet", "M", "", "150 ft"])
def test_text_that_is_no_unit_name_is_not_parsed(text: str) -> None:
    with pytest.raises(KeyError):
        inside(1.0, text)
