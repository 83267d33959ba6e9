"""Where every figure comes from."""

from __future__ import annotations

from service.tables.reading import read_rows
from service.tables.rows import Source

KNOWN = ("seen", "memory", "trade-practice")
_COLUMNS = ("id", "title", "edition", "publisher", "clause", "known", "note")


def read_sources(text: str) -> dict[str, Source]:
    """Read ``sources.csv``.

    Parameters
    ----------
    text : str
        Contents of the file.

    Returns
    -------
    sources : dict of str to Source
        By id, in the order of the file.

    Raises
    ------
    TableError
        On a broken row, or a way of knowing that is not one of `KNOWN`.
    """
    rows = read_rows("sources.csv", text, columns=_COLUMNS, key=("id",))
    return {
        row.text("id"): Source(
            id=row.text("id"),
            title=row.text("title"),
            edition=row.optional("edition"),
            publisher=row.text("publisher"),
            clause=row.optional("clause"),
            known=row.one_of("known", KNOWN),
            note=row.text("note"),
        )
        for row in rows
    }
