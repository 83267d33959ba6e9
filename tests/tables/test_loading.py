"""Broken tables are refused with a sentence, and sound ones load alike each time."""

from __future__ import annotations

from hashlib import sha256
from importlib.resources import files

import pytest

from service.tables import TABLES_VERSION
from service.tables.loading import TABLE_NAMES, load_tables, table_texts
from service.tables.reading import TableError

COPPER_12 = "12 AWG,copper,solid,1.93,ohm/kft,75,3.3088,nec-9-8,uncoated\n"


def load_with(table: str, old: str, new: str) -> None:
    """Load the shipped tables with one passage changed."""
    texts = table_texts()
    assert texts[table].count(old) == 1
    load_tables(texts | {table: texts[table].replace(old, new)})


@pytest.mark.parametrize("table", [name for name in TABLE_NAMES if name != "sources.csv"])
def test_an_unknown_source_is_refused_in_every_table(table: str) -> None:
    texts = table_texts()
    header, first, rest = texts[table].split("\n", 2)
    place = header.split(",").index("source")
    cells = first.split(",")
    # The first derivation has a quoted sentence behind its source, so cells before it split on plain commas.
    cells[place] = "hearsay"
    texts[table] = "\n".join((header, ",".join(cells), rest))
    with pytest.raises(TableError, match=rf'{table}, line 2: source "hearsay" is not in sources.csv. Add it'):
        load_tables(texts)


@pytest.mark.parametrize("table", TABLE_NAMES)
def test_a_row_that_stands_twice_is_refused_in_every_table(table: str) -> None:
    texts = table_texts()
    lines = texts[table].splitlines()
    texts[table] = "\n".join([*lines, lines[1]])
    with pytest.raises(
        TableError, match=rf"{table}, line {len(lines) + 1}: .* stands in line 2 already. Remove"
    ):
        load_tables(texts)


@pytest.mark.parametrize(
    ("table", "doubled"),
    [
        ("coefficients.csv", "copper,75.0,0.00323,nec-9-8"),
        ("usual_ratings.csv", "060,VA,usual-ratings,"),
        ("constants.csv", "Filament_current_exponent,0.6,1,lamp-rerating,"),
        ("sources.csv", "NEC-9-8,Code,2020,NFPA,,seen,another spelling"),
    ],
)
def test_a_row_that_stands_twice_in_two_spellings_is_refused(table: str, doubled: str) -> None:
    texts = table_texts()
    header, first, rest = texts[table].split("\n", 2)
    texts[table] = f"{header}\n{first}\n{doubled}\n{rest}"
    with pytest.raises(TableError, match=f"{table}, line 3: .* stands in line 2 already"):
        load_tables(texts)


@pytest.mark.parametrize(
    "name", ["12.0 AWG", "012 AWG", "12  AWG", "12 awg", ".5 mm2", "twelve AWG", "0 mm2"]
)
def test_a_size_has_one_spelling(name: str) -> None:
    with pytest.raises(TableError, match=f'"name" is "{name}". Write a number, a space, and AWG or mm2'):
        load_with("conductors.csv", COPPER_12, COPPER_12.replace("12 AWG", name))


@pytest.mark.parametrize("table", TABLE_NAMES)
def test_another_header_is_refused_in_every_table(table: str) -> None:
    texts = table_texts()
    with pytest.raises(TableError, match=rf'{table}: the header is "X.*". Write "'):
        load_tables(texts | {table: "X" + texts[table]})


@pytest.mark.parametrize("table", TABLE_NAMES)
def test_a_table_without_rows_is_refused(table: str) -> None:
    texts = table_texts()
    with pytest.raises(TableError, match=rf"{table}: there are no rows below the header"):
        load_tables(texts | {table: texts[table].splitlines()[0]})


@pytest.mark.parametrize("table", TABLE_NAMES)
def test_an_empty_file_is_refused(table: str) -> None:
    with pytest.raises(TableError, match=rf'{table}: the header is ""'):
        load_tables(table_texts() | {table: ""})


@pytest.mark.parametrize("table", TABLE_NAMES)
def test_a_row_with_a_cell_too_many_is_refused(table: str) -> None:
    texts = table_texts()
    line = len(texts[table].splitlines())
    with pytest.raises(TableError, match=rf"{table}, line {line}: there are \d+ cells. Write \d+."):
        load_tables(texts | {table: texts[table].rstrip("\n") + ",more\n"})


@pytest.mark.parametrize(
    "cell", ["", "about 2", "nan", "inf", "-1.93", "0", "0.0", "1,93", "1_9", " 1.93", "1e0", "٣", "9" * 400]
)
def test_a_resistance_that_is_not_a_plain_number_above_zero_is_refused(cell: str) -> None:
    with pytest.raises(
        TableError, match=r'conductors.csv, line 8: "resistance" is ".*". Write a decimal number'
    ):
        load_with("conductors.csv", COPPER_12, COPPER_12.replace("1.93", f'"{cell}"'))


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        ("1.93", "3.07", "the resistance does not fall from 14 AWG to 12 AWG"),
        ("12 AWG", "twelve", r'"name" is "twelve". Write a number, a space, and AWG or mm2'),
        ("12 AWG", "", r'"name" is empty'),
        ("copper", "silver", r'"material" is "silver". Write one of: copper, '),
        ("solid", "braided", r'"stranding" is "braided". Write one of: solid, '),
        ("ohm/kft", "ohm/mile", r'"unit" is "ohm/mile". Write one of: ohm/kft, ohm/km'),
        (",75,", ",25,", "coefficients.csv has no row for copper at 25 °C"),
        ("3.3088", "2.0809", "the section does not rise from 14 AWG to 12 AWG"),
        ("3.3088", "3.3", "12 AWG has another section in a row above"),
        ("uncoated", '"un"coated', "this is not CSV"),
    ],
)
def test_a_broken_conductor_is_refused(old: str, new: str, sentence: str) -> None:
    broken = COPPER_12.replace(old, new)
    with pytest.raises(TableError, match=rf"conductors.csv, line \d+: {sentence}"):
        load_with("conductors.csv", COPPER_12, broken)


@pytest.mark.parametrize(
    ("table", "old", "new", "sentence"),
    [
        (
            "ampacities.csv",
            "12 AWG,copper,20",
            "12 AWG,copper,15",
            "current does not rise from 14 AWG to 12 AWG",
        ),
        (
            "device_limits.csv",
            "12 AWG,copper,20",
            "11 AWG,copper,20",
            '"name" is "11 AWG". Write one of: 24 AWG',
        ),
        ("device_limits.csv", "10 AWG,copper,30", "13 AWG,copper,30", '"name" is "13 AWG"'),
        (
            "derivations.csv",
            "24 AWG; 22",
            "25 AWG; 22",
            '"sizes" is "25 AWG". Write one of: AWG, mm2, any, 24',
        ),
        ("ampacities.csv", "D1, in a duct in soil at 20 °C", "", '"installation_method" is empty'),
        ("constants.csv", "0.55,1,", "0.55,K,", '"unit" is "K". Write one of: 1, V, A, W, VA, VA/V, ohm/m'),
        ("mains_ranges.csv", "110,126,120", "121,126,120", '"lowest", "nominal" and "highest" do not rise'),
        (
            "sources.csv",
            "ASTM International,definition of the series,seen",
            "ASTM,x,rumour",
            '"known" is "rumour"',
        ),
        ("coefficients.csv", "aluminium,75,0.00330,nec-9-8\n", "aluminium,74,0.00330,nec-9-8\n", "at 75 °C"),
    ],
)
def test_a_broken_fact_is_refused(table: str, old: str, new: str, sentence: str) -> None:
    texts = table_texts()
    broken = texts | {table: texts[table].replace(old, new, 1)}
    assert broken != texts
    with pytest.raises(TableError, match=sentence):
        load_tables(broken)


def test_thick_before_thin_is_refused() -> None:
    texts = table_texts()
    swapped = (
        texts["ampacities.csv"].replace("16 AWG,copper,10", "17 AWG,copper,10").replace("18 AWG", "16 AWG")
    )
    with pytest.raises(TableError, match=r"18 AWG stands below 16 AWG\. Write thin before thick"):
        load_tables(texts | {"ampacities.csv": swapped.replace("17 AWG", "18 AWG")})


def test_a_combination_that_nothing_leads_to_is_refused() -> None:
    texts = table_texts()
    kept = [line for line in texts["derivations.csv"].splitlines() if not line.startswith("metric-aluminium")]
    with pytest.raises(TableError, match=r"nothing leads from 0\.5 mm2, aluminium, solid to a printed row\."):
        load_tables(texts | {"derivations.csv": "\n".join(kept)})


def test_derivations_that_lead_in_a_circle_are_refused() -> None:
    texts = table_texts()
    circle = texts["derivations.csv"].replace("any,flexible,same,stranded", "any,flexible,same,solid")
    circle = circle.replace("any,solid,same,stranded", "any,solid,same,flexible")
    with pytest.raises(TableError, match="nothing leads from 6 AWG, copper, solid to a printed row"):
        load_tables(texts | {"derivations.csv": circle})


def test_a_derived_conductor_without_coefficient_is_refused() -> None:
    row = "copper-clad-aluminium,20,0.00403,cca-coefficient\n"
    sentence = "24 AWG in copper-clad-aluminium needs a coefficient at 20 °C. Add it to coefficients.csv"
    with pytest.raises(TableError, match=sentence):
        load_with("coefficients.csv", row, "")


def test_loading_twice_gives_equal_tables() -> None:
    assert load_tables(table_texts()) == load_tables(table_texts())


def test_version_is_the_digest_of_the_shipped_bytes() -> None:
    room = files("service.tables")
    whole = b"".join(room.joinpath(name).read_bytes() for name in sorted(TABLE_NAMES))
    assert sha256(whole).hexdigest()[:12] == TABLES_VERSION


def test_version_changes_with_any_figure() -> None:
    texts = table_texts()
    changed = texts | {"constants.csv": texts["constants.csv"].replace("0.55", "0.54")}
    assert load_tables(changed).version != TABLES_VERSION
