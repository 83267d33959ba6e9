"""The ratings in which transformers for lighting are usually sold."""

from __future__ import annotations

from collections.abc import Collection

from service.tables.reading import read_rows
from service.tables.rows import UsualRating

_COLUMNS = ("rating", "unit", "source", "note")


def read_usual_ratings(text: str, sources: Collection[str]) -> tuple[UsualRating, ...]:
    """Read ``usual_ratings.csv``.

    Parameters
    ----------
    text : str
        Contents of the file.
    sources : collection of str
        Ids that ``sources.csv`` lists.

    Returns
    -------
    ratings : tuple of UsualRating
        The smallest first. [VA]

    Raises
    ------
    TableError
        On a broken row, or a rating that is not larger than the one above it.
    """
    ratings: list[UsualRating] = []
    for row in read_rows("usual_ratings.csv", text, columns=_COLUMNS, key=("rating",)):
        row.one_of("unit", ("VA",))
        rating = UsualRating(row.number("rating"), row.source(sources))
        if ratings and rating.rating_va < ratings[-1].rating_va:
            row.refuse('"rating" is below the one above it. Write small before large.')
        ratings.append(rating)
    return tuple(ratings)
