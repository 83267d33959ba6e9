"""The constants of the trade's shortcut, and what they leave out."""

from __future__ import annotations

import pytest

from service.tables import cable_constant, source
from service.tables.loading import load_tables, table_texts
from service.tables.reading import TableError

# One conductor at 20 °C of 100 % IACS copper, 1/58 ohm mm²/m (IEC 60028:1925), over the AWG area of ASTM
# B258, in ohm/kft, to the four digits in which reference pages print it.
IDEAL_OHM_PER_KFT = {18: 6.385, 16: 4.016, 14: 2.525, 12: 1.588, 10: 0.9989, 8: 0.6282}


def share_of_a_load_at_the_end(size: int) -> float:
    """The drop by the constant over that of the same current at the end: both conductors, all the way."""
    constant = cable_constant(f"{size} AWG")
    assert constant is not None
    return 12.0 / (2.0 * IDEAL_OHM_PER_KFT[size] / 1000.0) / constant.watt_feet_per_volt


@pytest.mark.parametrize("size", [12, 10, 8])
def test_thick_sizes_count_one_conductor_as_for_a_load_half_way(size: int) -> None:
    assert share_of_a_load_at_the_end(size) == pytest.approx(0.504, abs=0.001)


@pytest.mark.parametrize("size", [18, 16, 14])
def test_thin_sizes_take_the_load_for_two_thirds_of_the_way(size: int) -> None:
    assert share_of_a_load_at_the_end(size) == pytest.approx(0.68, abs=0.002)


def test_half_of_the_usual_constant_is_the_one_that_counts_both_conductors() -> None:
    # A nursery's tip sheet prints 7547 and 3700 for 12 AWG (common practice, no published source).
    constant = cable_constant("12 AWG")
    assert constant is not None
    assert constant.watt_feet_per_volt == pytest.approx(7547, rel=0.01)
    assert constant.watt_feet_per_volt / 2 == pytest.approx(3700, rel=0.02)


def test_the_constants_are_called_practice() -> None:
    constant = cable_constant("18 AWG")
    assert constant is not None
    assert (constant.watt_feet_per_volt, source(constant.source).known) == (1380.0, "trade-practice")


@pytest.mark.parametrize("name", ["6 AWG", "4 AWG", "2.5 mm2"])
def test_a_size_without_a_constant_has_none(name: str) -> None:
    assert cable_constant(name) is None


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("12 AWG,7500", "12 AWG,3000", "Write thin before thick"),
        ("12 AWG,7500", "13 AWG,7500", '"conductor" is "13 AWG"'),
        ("12 AWG,7500,W.ft/V", "12 AWG,7500,W/V", '"unit" is "W/V"'),
    ],
)
def test_a_broken_row_is_refused(old: str, new: str, words: str) -> None:
    texts = table_texts()
    broken = texts["cable_constants.csv"].replace(old, new)
    with pytest.raises(TableError, match=f"cable_constants.csv, line 5: .*{words}"):
        load_tables(texts | {"cable_constants.csv": broken})
