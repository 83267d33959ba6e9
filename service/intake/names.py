"""Checks of texts that must be one of a list of names, units among them."""

import re
from collections.abc import Iterator, Sequence
from typing import Final

from service.intake.nearest import nearest_name, nearest_unit
from service.intake.words import listed, shown, spoken
from service.problems import ErrorItem
from service.units import DIMENSION_OF, DIMENSIONS

_NUMBER: Final = re.compile(r"\d+(?:\.\d+)?")


def in_order(names: Sequence[str]) -> list[str]:
    """Put names in the order of a table: units as the contract lists them, sizes by number.

    Parameters
    ----------
    names : sequence of str
        Names in any order.

    Returns
    -------
    names : list of str
        The same names.

    Examples
    --------
    >>> in_order(["10 AWG", "2.5 mm2", "4 AWG"])
    ['4 AWG', '10 AWG', '2.5 mm2']
    """
    if all(name in DIMENSION_OF for name in names):
        return [unit for unit in DIMENSION_OF if unit in names]
    return sorted(names, key=_rank)


def _rank(name: str) -> tuple[str, float, str]:
    found = _NUMBER.match(name)
    return (name[found.end() :], float(found[0]), name) if found else (name, 0.0, name)


def name_faults(value: object, names: Sequence[str], pointer: str) -> Iterator[ErrorItem]:
    """Check that a value is one of the names.

    Parameters
    ----------
    value : object
        The value from the request.
    names : sequence of str
        What may be written.
    pointer : str
        Where the value stands.

    Yields
    ------
    error : ErrorItem
        `wrong-type`, `null-not-allowed`, `unknown-name`, `wrong-unit` or `wrong-dimension`.
    """
    if isinstance(value, str) and value in names:
        return
    allowed = in_order(names)
    if not isinstance(value, str):
        code = "null-not-allowed" if value is None else "wrong-type"
        yield ErrorItem(code, pointer, f"Send {listed(allowed)} here, not {spoken(value)}.", allowed)
    elif allowed[0] in DIMENSION_OF:
        yield _unit_fault(value, allowed, pointer)
    else:
        yield _name_fault(value, allowed, pointer)


def _name_fault(text: str, allowed: list[str], pointer: str) -> ErrorItem:
    meant = nearest_name(text, allowed)
    asked = f" Did you mean {shown(meant)}?" if meant else ""
    detail = f"{shown(text)} is not one of the names for this member.{asked} Use {listed(allowed)}."
    return ErrorItem("unknown-name", pointer, detail, allowed)


def _unit_fault(text: str, allowed: list[str], pointer: str) -> ErrorItem:
    needed = DIMENSION_OF[allowed[0]]
    meant = _meant_unit(text, allowed)
    if meant is not None and meant not in DIMENSIONS[needed]:
        measured = _spoken(DIMENSION_OF[meant])
        detail = f"{shown(text)} measures {measured}; {_spoken(needed)} is needed here: {listed(allowed)}."
        return ErrorItem("wrong-dimension", pointer, detail, allowed)
    asked = f" Did you mean {shown(meant)}?" if meant in allowed else ""
    detail = (
        f"{shown(text)} is not one of the units here.{asked} Write {_spoken(needed)} in {listed(allowed)}."
    )
    return ErrorItem("wrong-unit", pointer, detail, allowed)


def _meant_unit(text: str, allowed: list[str]) -> str | None:
    if text in DIMENSION_OF:
        return text
    return nearest_unit(text, allowed) or nearest_unit(text, list(DIMENSION_OF))


def _spoken(dimension: str) -> str:
    return dimension.replace("-", " ")
