"""Slips that a caller makes in a request that is right otherwise, and the refusal that each deserves."""

import copy
import json
from collections.abc import Callable, Iterator
from typing import Any, Final, NamedTuple

LENGTHS: Final = ("m", "cm", "mm", "km", "in", "ft", "yd")


class Place(NamedTuple):
    """A member of a request, and the JSON Pointer to it."""

    holder: Any
    key: Any
    pointer: str


class Slipped(NamedTuple):
    """A body, the code and the pointer of its one error, and the code of the problem."""

    body: bytes
    code: str
    pointer: str
    problem: str = "request-invalid"


Slip = Callable[[Any], Slipped | None]
"""From a sound request to one with the slip; None where it has no such member."""


def members(value: Any, pointer: str = "") -> Iterator[Place]:
    """Every member and item, in document order."""
    pairs = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, part in list(pairs):
        here = f"{pointer}/{str(key).replace('~', '~0').replace('/', '~1')}"
        yield Place(value, key, here)
        yield from members(part, here)


def replacing(
    wanted: Callable[[Place], bool], new: Any, code: str, *, raw: str | None = None, problem: str = ""
) -> Slip:
    """Make a slip that replaces the first member of a kind, by a raw text where JSON has no value."""

    def slip(request: Any) -> Slipped | None:
        changed = copy.deepcopy(request)
        place = next((one for one in members(changed) if wanted(one)), None)
        if place is None:
            return None
        place.holder[place.key] = "the place" if raw else new
        body = json.dumps(changed)
        body = body.replace('"the place"', raw) if raw else body
        return Slipped(body.encode(), code, place.pointer, problem or "request-invalid")

    return slip


def adding(new: str, code: str, name: str, problem: str = "request-invalid") -> Slip:
    """Make a slip that writes a member before all others."""

    def slip(request: Any) -> Slipped:
        first = next(iter(request))
        body = "{" + new.replace("FIRST", first) + ", " + json.dumps(request)[1:]
        return Slipped(body.encode(), code, "/" + name.replace("FIRST", first), problem)

    return slip


def is_value(place: Place) -> bool:
    """The number of a quantity."""
    return place.key == "value" and isinstance(place.holder, dict) and "unit" in place.holder


def is_length_value(place: Place) -> bool:
    return is_value(place) and place.holder["unit"] in LENGTHS


def is_length_unit(place: Place) -> bool:
    return place.key == "unit" and place.holder["unit"] in LENGTHS


def is_length(place: Place) -> bool:
    value = place.holder[place.key]
    return isinstance(value, dict) and value.get("unit") in LENGTHS and "value" in value


def is_conductor(place: Place) -> bool:
    return bool(place.key == "conductor")


def is_secondary_value(place: Place) -> bool:
    return place.pointer.endswith("supply/secondary/value")


def is_kind(place: Place) -> bool:
    return bool(place.key == "kind")


_RANGE: Final = "number-out-of-range"

SLIPS: Final[dict[str, Slip]] = {
    "unknown member": adding('"colour": "warm"', "unknown-member", "colour"),
    "misspelt member": adding('"suply": {}', "unknown-member", "suply"),
    "member twice": adding('"FIRST": {}', "duplicate-member", "FIRST", "duplicate-member"),
    "member twice, once by an escape": adding(
        '"\\u0069d": "a", "id": "b"', "duplicate-member", "id", "duplicate-member"
    ),
    "number as text": replacing(is_value, "12", "wrong-type"),
    "number with a unit in its text": replacing(is_length, "150 ft", "wrong-type"),
    "true for a number": replacing(is_value, True, "wrong-type"),  # noqa: FBT003  # the slip itself
    "null for a number": replacing(is_value, None, "null-not-allowed"),
    "number without its unit": replacing(is_length, 30, "bare-number"),
    "list for a number": replacing(is_value, [12], "wrong-type"),
    "unit that there is not": replacing(is_length_unit, "furlong", "wrong-unit"),
    "unit of another dimension": replacing(is_length_unit, "V", "wrong-dimension"),
    "conductor that there is not": replacing(is_conductor, "11 AWG", "unknown-name"),
    "kind that there is not": replacing(is_kind, "perpetual", "unknown-name"),
    "negative length": replacing(is_length_value, -1, "out-of-range"),
    "length beyond all bounds": replacing(is_length_value, 1e300, "out-of-range"),
    "mains for the secondary": replacing(is_secondary_value, 120, "secondary-is-mains"),
    "NaN": replacing(is_value, 0, _RANGE, raw="NaN", problem=_RANGE),
    "minus infinity": replacing(is_value, 0, _RANGE, raw="-Infinity", problem=_RANGE),
    "1e999": replacing(is_value, 0, _RANGE, raw="1e999", problem=_RANGE),
    "400 digits": replacing(is_value, 0, _RANGE, raw="9" * 400, problem=_RANGE),
    "5,000 digits": replacing(is_value, 0, _RANGE, raw="9" * 5_000, problem=_RANGE),
    "40 digits": replacing(is_length_value, 0, "out-of-range", raw="9" * 40),
}
