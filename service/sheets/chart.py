"""Charts: scales, axes, limits and lines that differ without colour, as parts of a drawing."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, cos, floor, log10, sin, tau
from typing import Final, Literal, NamedTuple
from unicodedata import east_asian_width

from service.sheets.drawing import Area, Part, Point, Stroke, Tone, Words

DASHES: Final = (
    (),
    (7.0, 4.0),
    (2.0, 3.0),
    (11.0, 3.0, 2.0, 3.0),
    (14.0, 5.0),
    (5.0, 2.0, 1.0, 2.0, 1.0, 2.0),
)
"""Each line has a dash and a mark of its own, so that it is known in black and white."""


_STEPS: Final = (1.0, 2.0, 2.5, 5.0, 10.0)


_MARKS: Final[tuple[tuple[Point, ...], ...]] = (
    tuple((3.4 * cos(turn * tau / 16.0), 3.4 * sin(turn * tau / 16.0)) for turn in range(16)),
    ((-3.0, -3.0), (3.0, -3.0), (3.0, 3.0), (-3.0, 3.0)),
    ((0.0, -4.0), (4.0, 2.8), (-4.0, 2.8)),
    ((0.0, -4.4), (4.4, 0.0), (0.0, 4.4), (-4.4, 0.0)),
    ((0.0, 4.0), (4.0, -2.8), (-4.0, -2.8)),
    (
        *((-1.4, -4.0), (1.4, -4.0), (1.4, -1.4), (4.0, -1.4), (4.0, 1.4), (1.4, 1.4)),
        *((1.4, 4.0), (-1.4, 4.0), (-1.4, 1.4), (-4.0, 1.4), (-4.0, -1.4), (-1.4, -1.4)),
    ),
)


class ChartLimit(NamedTuple):
    """A value at which the verdict changes, and its words; `fails` says on which side it is bad."""

    value: float
    text: str
    fails: Literal["below", "above"] | None = None


class Frame(NamedTuple):
    """Where the axes of a chart stand, and how large its words are. [pt]"""

    left: float
    right: float
    top: float
    bottom: float
    size: float = 8.0


class Chart(NamedTuple):
    """Volts against length."""

    frame: Frame
    x: Scale
    y: Scale

    def at(self, length: float, volts: float) -> Point:
        """The place of a length and a voltage."""
        return self.x.at(length), self.y.at(volts)

    def across(self, volts: float) -> list[Point]:
        """The ends of a level line."""
        return [(self.frame.left, self.y.at(volts)), (self.frame.right, self.y.at(volts))]

    def axes(self, words: str) -> list[Part]:
        """Ticks with their numbers, faint lines across, and what the axes measure."""
        left, right, top, bottom, size = self.frame
        parts: list[Part] = [Words("V", left - 0.6 * size, top - 0.75 * size, size, "end", "quiet")]
        for volts in self.y.ticks(6 if size < WIDE_WORDS else 5):
            parts.append(Stroke(self.across(volts), "faint"))
            y = self.y.at(volts) + 0.35 * size
            parts.append(Words(f"{volts:g}", left - 0.6 * size, y, size, "end", "quiet"))
        for length in self.x.ticks(6 if size < WIDE_WORDS else 5):
            x = self.x.at(length)
            parts.append(Stroke([(x, bottom), (x, bottom + 0.35 * size)]))
            parts.append(Words(f"{length:g}", x, bottom + 1.45 * size, size, "middle", "quiet"))
        middle = 0.5 * (left + right)
        parts.append(Words(words, middle, bottom + 2.9 * size, size, "middle", "quiet"))
        return [*parts, Stroke([(left, top), (left, bottom), (right, bottom)])]

    def tints(self, limits: Sequence[ChartLimit]) -> list[Part]:
        """A tint where a limit is broken."""
        return [
            Area([*self.across(limit.value), (self.frame.right, edge), (self.frame.left, edge)], "tint")
            for limit in limits
            if limit.fails is not None
            for edge in [self.frame.bottom if limit.fails == "below" else self.frame.top]
        ]

    def limit_lines(self, limits: Sequence[ChartLimit]) -> list[Part]:
        """Where the verdict changes."""
        return [Stroke(self.across(limit.value), "limit") for limit in limits]

    def limit_words(self, limits: Sequence[ChartLimit]) -> list[Part]:
        """What the limits are; two that are near to each other have their words on either side."""
        size = self.frame.size
        parts: list[Part] = []
        above = float("-inf")
        for limit in sorted(limits, key=lambda each: -each.value):
            y = self.y.at(limit.value)
            down = size if y - above < 1.25 * size else -0.35 * size
            parts.append(Words(limit.text, self.frame.left + 0.5 * size, y + down, size, tone="warn"))
            above = y
        return parts


WIDE_WORDS: Final = 10.0
"""Words as large as this leave room for fewer ticks. [pt]"""


def series_mark(index: int, x: float, y: float, tone: Tone = "ink") -> Area:
    """The mark of a line: filled for the first six, hollow for the next."""
    points = [(x + dx, y + dy) for dx, dy in _MARKS[index % len(_MARKS)]]
    return Area(points, tone, hollow=index >= len(_MARKS))


def dashes(index: int) -> tuple[float, ...]:
    """How a line is dashed."""
    return DASHES[index % len(DASHES)]


def sample(index: int, x: float, y: float) -> list[Part]:
    """A piece of a line with its mark."""
    return [Stroke([(x, y), (x + SAMPLE, y)], "bold", dashes(index)), series_mark(index, x + 0.5 * SAMPLE, y)]


SAMPLE: Final = 22.0
"""How long a piece of a line is beside its name. [pt]"""


def cross(x: float, y: float) -> Stroke:
    """Where a line ends because nothing is carried there."""
    return Stroke(
        [(x - 4.0, y - 4.0), (x + 4.0, y + 4.0), (x, y), (x + 4.0, y - 4.0), (x - 4.0, y + 4.0)], "cross"
    )


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
