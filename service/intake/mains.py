"""The one slip that deserves its own words: the mains voltage where the secondary belongs."""

from typing import Final

from service.problems import ErrorItem
from service.units import DIMENSIONS, inside

_MAINS_V: Final = (90.0, 480.0)


def say_mains(error: ErrorItem, secondary: object) -> ErrorItem:
    """Say that a secondary out of bounds looks like the mains.

    Parameters
    ----------
    error : ErrorItem
        An error found in the secondary voltage.
    secondary : object
        The secondary as the request has it.

    Returns
    -------
    error : ErrorItem
        `secondary-is-mains` when the voltage lies between 90 V and 480 V, else the error itself.
    """
    if error.code != "out-of-range" or not isinstance(secondary, dict):
        return error
    # An error about bounds is about a number, so `value` is one; `unit` may be anything.
    value, unit = float(secondary["value"]), secondary.get("unit")
    if unit not in DIMENSIONS["voltage"] or not _MAINS_V[0] <= inside(value, unit) <= _MAINS_V[1]:
        return error
    detail = (
        f"{value:.12g} {unit} is a mains voltage. Send the low voltage that the transformer gives at rated "
        "load; the mains belong in primary. Leave work on the mains side to a licensed electrician."
    )
    return ErrorItem("secondary-is-mains", error.pointer, detail, error.allowed)
