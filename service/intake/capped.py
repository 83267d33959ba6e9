"""A list of errors that cannot grow with the request."""

from collections.abc import Iterable
from itertools import islice
from typing import Final

from service.problems import ErrorItem

MOST_ERRORS: Final = 100


def capped(errors: Iterable[ErrorItem]) -> list[ErrorItem]:
    """Take the first errors; a last item says when there are more.

    Parameters
    ----------
    errors : iterable of ErrorItem
        Errors in document order; no more are drawn than are kept.

    Returns
    -------
    errors : list of ErrorItem
        At most `MOST_ERRORS`, and one that says so.
    """
    kept = list(islice(errors, MOST_ERRORS + 1))
    if len(kept) > MOST_ERRORS:
        detail = f"There are more than {MOST_ERRORS} errors. Mend these and send the request again."
        kept[MOST_ERRORS] = ErrorItem("more-errors", "", detail)
    return kept


def summary(errors: list[ErrorItem]) -> str:
    """Say in one sentence what a list of errors says.

    Parameters
    ----------
    errors : list of ErrorItem
        At least one.

    Returns
    -------
    summary : str
        The error itself when it is alone.
    """
    if len(errors) == 1:
        return f"At {errors[0].pointer}: {errors[0].detail}" if errors[0].pointer else errors[0].detail
    if len(errors) > MOST_ERRORS:
        return f"More than {MOST_ERRORS} places of the request need a change; `errors` lists the first."
    return f"{len(errors)} places of the request need a change; `errors` lists each."
