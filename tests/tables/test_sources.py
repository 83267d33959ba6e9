"""Every figure has a source, and every source has a reason to be listed."""

from __future__ import annotations

import csv
from importlib.resources import files
from io import StringIO

import pytest

from service.tables import NotListedError, source, sources
from service.tables.loading import TABLE_NAMES, table_texts

FIGURES = [name for name in TABLE_NAMES if name != "sources.csv"]


def cited(table: str) -> set[str]:
    return {row["source"] for row in csv.DictReader(StringIO(table_texts()[table]))}


@pytest.mark.parametrize("table", FIGURES)
def test_every_row_names_a_listed_source(table: str) -> None:
    assert cited(table) <= {known.id for known in sources()}


def test_every_source_is_cited_or_says_why_not() -> None:
    used = set().union(*(cited(table) for table in FIGURES))
    silent = [
        known.id for known in sources() if known.id not in used and "No table row cites it" not in known.note
    ]
    assert silent == []


def test_a_source_that_says_it_is_not_cited_is_not() -> None:
    used = set().union(*(cited(table) for table in FIGURES))
    assert [
        known.id for known in sources() if known.id in used and "No table row cites it" in known.note
    ] == []


def test_trade_practice_is_never_called_a_published_rule() -> None:
    for known in sources():
        practice = known.known == "trade-practice"
        assert practice == (known.publisher == "common practice, no published source")
        assert not (practice and known.clause)


def test_no_source_carries_an_address() -> None:
    assert [known.id for known in sources() if "://" in f"{known.title} {known.clause} {known.note}"] == []


def test_the_directory_holds_exactly_the_tables_that_are_loaded() -> None:
    shipped = sorted(path.name for path in files("service.tables").iterdir() if path.name.endswith(".csv"))
    assert shipped == sorted(TABLE_NAMES)


def test_an_unknown_source_is_refused() -> None:
    with pytest.raises(NotListedError, match='no source "hearsay"'):
        source("hearsay")
