"""Elements with escaped text, scales, and marks that differ without colour."""

from __future__ import annotations

from html import escape
from math import ceil, floor, log10
from typing import Final, NamedTuple
from unicodedata import east_asian_width

DASHES: Final = ("", "7 4", "2 3", "11 3 2 3", "14 5", "5 2 1 2 1 2")
"""Each line has a dash and a mark of its own, so that it is known in black and white."""


_STEPS: Final = (1.0, 2.0, 2.5, 5.0, 10.0)


_SHAPES: Final = (
    "M{0} {1}m-3.4 0a3.4 3.4 0 1 0 6.8 0a3.4 3.4 0 1 0 -6.8 0z",
    "M{0} {1}m-3 -3h6v6h-6z",
    "M{0} {1}m0 -4l4 6.8h-8z",
    "M{0} {1}m0 -4.4l4.4 4.4l-4.4 4.4l-4.4 -4.4z",
    "M{0} {1}m0 4l4 -6.8h-8z",
    "M{0} {1}m-1.4 -4h2.8v2.6h2.6v2.8h-2.6v2.6h-2.8v-2.6h-2.6v-2.8h2.6z",
)


# XML 1.0, section 2.2: what may stand in no document, escaped or not.
_NO_CHARACTERS: Final = {0xFFFE: "\ufffd", 0xFFFF: "\ufffd"}


def element(name: str, content: str = "", **attributes: str | float) -> str:
    """An element; underscores in the names of attributes stand for hyphens, and values are escaped."""
    said = "".join(
        f' {key.rstrip("_").replace("_", "-")}="{escape(plain(value), quote=True)}"'
        for key, value in attributes.items()
    )
    return f"<{name}{said}>{content}</{name}>" if content else f"<{name}{said}/>"


def words(text: str, x: float, y: float, **attributes: str | float) -> str:
    """A line of text, whatever is in it."""
    return element("text", escaped(text), x=x, y=y, **attributes)


def escaped(text: str) -> str:
    """A text as the content of an element."""
    return escape(text.translate(_NO_CHARACTERS), quote=False)


def plain(value: str | float) -> str:
    """A number to a tenth of a unit of the drawing, or a text."""
    return value if isinstance(value, str) else f"{round(value, 1):g}"


def mark(index: int, x: float, y: float) -> str:
    """The mark of a line: filled for the first six, hollow for the next."""
    shape = _SHAPES[index % len(_SHAPES)].format(plain(x), plain(y))
    return element("path", class_="solid" if index < len(_SHAPES) else "hollow", d=shape)


def dashes(index: int) -> dict[str, str]:
    """The attribute that dashes a line."""
    dash = DASHES[index % len(DASHES)]
    return {"stroke_dasharray": dash} if dash else {}


def clipped(text: str, most: int) -> str:
    """A text cut to so many narrow characters; a wide one counts twice."""
    taken = 0
    for place, character in enumerate(text):
        taken += 2 if east_asian_width(character) in "WF" else 1
        if taken > most:
            return f"{text[: max(1, place - 1)].rstrip()}…"
    return text


class Scale(NamedTuple):
    """From values to places on the drawing; `first` and `last` are the ends of the axis."""

    low: float
    high: float
    first: float
    last: float

    def at(self, value: float) -> float:
        """The place of a value."""
        return self.first + (value - self.low) / (self.high - self.low) * (self.last - self.first)

    def ticks(self, most: int) -> list[float]:
        """Round values on the axis."""
        step = round_step((self.high - self.low) / most)
        first, last = ceil(self.low / step - 1e-9), floor(self.high / step + 1e-9)
        return [index * step for index in range(first, last + 1)]


def round_step(least: float) -> float:
    """The smallest of 1, 2, 2.5, 5 times a power of ten that is not below a value.

    Examples
    --------
    >>> round_step(0.3), round_step(21.0)
    (0.5, 25.0)
    """
    power = 10.0 ** floor(log10(least))
    return next(step * power for step in _STEPS if step * power >= least * (1.0 - 1e-9))


def apart(wanted: list[float], gap: float, last: float) -> list[float]:
    """Places in the order of those wanted, each near it and none nearer to another than a gap.

    None lies behind `last`, unless there are too many for the room.
    """
    order = sorted(range(len(wanted)), key=wanted.__getitem__)
    places = [0.0] * len(wanted)
    reached = float("-inf")
    for index in order:
        reached = places[index] = max(wanted[index], reached + gap)
    limit = last
    for index in reversed(order):
        places[index] = min(places[index], limit)
        limit = places[index] - gap
    return places
