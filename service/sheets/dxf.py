"""A drawing to scale as DXF of AutoCAD release 12, in ASCII: layers, lines, circles, text.

Every group is a code on one line and a value on the next (DXF Reference, release 12, chapter 11 of the
AutoCAD Customization Manual), so no text may hold a line break.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final, NamedTuple

CadPoint = tuple[float, float]
"""East and north, in the unit of the drawing."""


Group = tuple[int, str]


class CadLayer(NamedTuple):
    """A layer by its name, its colour by number, and how its lines are dashed: lengths on and off in turn."""

    name: str
    colour: int = 7
    dash: Sequence[float] = ()


class CadLine(NamedTuple):
    """A line through points, or round them."""

    layer: str
    points: Sequence[CadPoint]
    closed: bool = False


class CadCircle(NamedTuple):
    """A circle; its middle is a point of its own, to snap to."""

    layer: str
    at: CadPoint
    radius: float


class CadText(NamedTuple):
    """A line of text, which begins at a point."""

    layer: str
    at: CadPoint
    height: float
    text: str


CadPart = CadLine | CadCircle | CadText


class CadDrawing(NamedTuple):
    """Parts on layers, in one unit of length."""

    unit: str
    layers: Sequence[CadLayer]
    parts: Sequence[CadPart]


UNITS: Final = {"in": 1, "ft": 2, "mm": 4, "cm": 5, "m": 6, "yd": 10}
"""Values of `$INSUNITS` by unit: DXF Reference, HEADER section, drawing units for inserted blocks."""


LONGEST_TEXT: Final = 250
"""Letters of a value as it is written; release 12 reads 255."""


LONGEST_NAME: Final = 31
"""Letters of a layer's name in release 12."""


NEVER_ELSEWHERE: Final = {"%": "%%%", "^": "^ "}
"""What would begin a code within a text, as it is written to stand for itself."""


def layer_name(*words: str) -> str:
    """A name that release 12 takes: capitals, digits and hyphens.

    Examples
    --------
    >>> layer_name("run 2", "2.5 mm²")
    'RUN-2-2-5-MM'
    """
    spelled = "".join(
        letter if letter.isascii() and letter.isalnum() else " " for letter in " ".join(words).upper()
    )
    return "-".join(spelled.split())[:LONGEST_NAME].rstrip("-")


def text_value(text: str) -> str:
    r"""A text as a value: one line of ASCII, in which nothing is a code but `\U+` and four digits.

    What is no letter of any script's common plane becomes a question mark; a text that is too long ends in
    three points.

    Examples
    --------
    >>> text_value("Ahorn 50 %"), text_value("é")
    ('Ahorn 50 %%%', '\\U+00E9')
    """
    written = [_letter(letter) for letter in text]
    if sum(map(len, written)) <= LONGEST_TEXT:
        return "".join(written)
    kept, room = [], LONGEST_TEXT - 3
    for each in written:
        room -= len(each)
        if room < 0:
            break
        kept.append(each)
    return "".join(kept) + "..."


def _letter(letter: str) -> str:
    code = ord(letter)
    if letter in NEVER_ELSEWHERE:
        return NEVER_ELSEWHERE[letter]
    if not letter.isprintable() and letter != " ":
        return " "
    if code > LAST_OF_COMMON_PLANE:
        return "?"
    return letter if letter.isascii() and letter != "\\" else rf"\U+{code:04X}"


LAST_OF_COMMON_PLANE: Final = 0xFFFF


def dxf_bytes(drawing: CadDrawing) -> bytes:
    """Write a drawing.

    Parameters
    ----------
    drawing : CadDrawing
        Every part on one of its layers.

    Returns
    -------
    content : bytes
        ASCII, with a line break of two bytes as release 12 writes it.
    """
    groups = [
        *_header(drawing),
        *_tables(drawing),
        (0, "SECTION"),
        (2, "ENTITIES"),
        *(group for part in drawing.parts for group in _part(part)),
        (0, "ENDSEC"),
        (0, "EOF"),
    ]
    return "".join(f"{code:3d}\r\n{value}\r\n" for code, value in groups).encode("ascii")


def _number(value: float) -> str:
    return f"{value:.6f}"


def _at(point: CadPoint, first: int = 10) -> list[Group]:
    return [(first, _number(point[0])), (first + 10, _number(point[1])), (first + 20, _number(0.0))]


def _header(drawing: CadDrawing) -> list[Group]:
    points = [point for part in drawing.parts for point in _points(part)]
    east, north = [x for x, _ in points], [y for _, y in points]
    return [
        (0, "SECTION"),
        (2, "HEADER"),
        (9, "$ACADVER"),
        (1, "AC1009"),
        (9, "$DWGCODEPAGE"),
        (3, "ansi_1252"),
        (9, "$INSUNITS"),
        (70, str(UNITS[drawing.unit])),
        (9, "$MEASUREMENT"),
        (70, "0" if drawing.unit in {"ft", "in", "yd"} else "1"),
        (9, "$EXTMIN"),
        *_at((min(east, default=0.0), min(north, default=0.0))),
        (9, "$EXTMAX"),
        *_at((max(east, default=0.0), max(north, default=0.0))),
        (0, "ENDSEC"),
    ]


def _points(part: CadPart) -> list[CadPoint]:
    if isinstance(part, CadLine):
        return list(part.points)
    if isinstance(part, CadCircle):
        x, y = part.at
        return [(x - part.radius, y - part.radius), (x + part.radius, y + part.radius)]
    return [part.at]


def _tables(drawing: CadDrawing) -> Iterator[Group]:
    patterns = {layer.dash: f"DASH{place}" for place, layer in enumerate(drawing.layers) if layer.dash}
    yield from [(0, "SECTION"), (2, "TABLES"), (0, "TABLE"), (2, "LTYPE"), (70, str(len(patterns) + 1))]
    yield from _pattern("CONTINUOUS", ())
    for dash, name in patterns.items():
        yield from _pattern(name, dash)
    yield from [(0, "ENDTAB"), (0, "TABLE"), (2, "LAYER"), (70, str(len(drawing.layers) + 1))]
    for layer in (CadLayer("0"), *drawing.layers):
        yield from [(0, "LAYER"), (2, layer.name), (70, "0"), (62, str(layer.colour))]
        yield (6, patterns[layer.dash] if layer.dash else "CONTINUOUS")
    yield from [(0, "ENDTAB"), (0, "TABLE"), (2, "STYLE"), (70, "1"), (0, "STYLE"), (2, "STANDARD")]
    yield from [(70, "0"), (40, "0.0"), (41, "1.0"), (50, "0.0"), (71, "0"), (42, "1.0"), (3, "txt"), (4, "")]
    yield from [(0, "ENDTAB"), (0, "ENDSEC")]


def _pattern(name: str, dash: Sequence[float]) -> Iterator[Group]:
    """How a line is dashed; what is left out counts below zero."""
    yield from [(0, "LTYPE"), (2, name), (70, "0"), (3, ""), (72, "65"), (73, str(len(dash)))]
    yield (40, _number(sum(dash)))
    for place, length in enumerate(dash):
        yield (49, _number(-length if place % 2 else length))


def _part(part: CadPart) -> Iterator[Group]:
    if isinstance(part, CadLine):
        yield from [(0, "POLYLINE"), (8, part.layer), (66, "1"), *_at((0.0, 0.0))]
        yield (70, "1" if part.closed else "0")
        for point in part.points:
            yield from [(0, "VERTEX"), (8, part.layer), *_at(point)]
        yield from [(0, "SEQEND"), (8, part.layer)]
    elif isinstance(part, CadCircle):
        yield from [(0, "CIRCLE"), (8, part.layer), *_at(part.at), (40, _number(part.radius))]
        yield from [(0, "POINT"), (8, part.layer), *_at(part.at)]
    else:
        yield from [(0, "TEXT"), (8, part.layer), *_at(part.at), (40, _number(part.height))]
        yield (1, text_value(part.text))
