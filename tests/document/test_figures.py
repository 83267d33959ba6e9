"""Figures of the tables in the words of the messages, which know no table: the two agree."""

from pathlib import Path

import pytest

from service import tables
from service.tables.rows import MainsRange

TEXT = (Path(__file__).parents[2] / "openapi" / "openapi.json").read_text(encoding="utf-8")


def in_words(row: MainsRange) -> str:
    if row.unit == "1":
        return f"`{row.name}`: {100 * row.lowest:g} to {100 * row.highest:g} %"
    return f"`{row.name}`: {row.lowest:g} to {row.highest:g} of {row.nominal:g} V"


@pytest.mark.parametrize("name", ["outlet", "outlet-108", "service", "en-50160"])
def test_a_range_of_mains_that_may_be_named_is_told_as_the_table_has_it(name: str) -> None:
    assert in_words(tables.mains_range(name)) in TEXT


def test_the_share_of_a_continuous_load_is_told_as_the_table_has_it() -> None:
    share = f"{100 * tables.constant('continuous_load_ratio').value:g} %"
    assert f"Left of {share} of the limit" in TEXT
    assert f"Whether no circuit is above {share} of its limit" in TEXT


def test_the_usual_power_factor_is_told_as_the_table_has_it() -> None:
    assert f"had a power factor of {tables.constant('usual_power_factor').value:g}, usual" in TEXT
