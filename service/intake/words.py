"""Pieces of the sentences that explain an error: kinds, units, and names that may have been meant."""

import json
import re
from collections.abc import Callable, Iterator, Sequence
from difflib import get_close_matches
from typing import Final
from unicodedata import normalize

from msgspec import inspect
from msgspec.inspect import LiteralType, Metadata, StructType, Type, UnionType

from service.problems import ErrorItem
from service.units import DIMENSION_OF, DIMENSIONS

_LONGEST: Final = 60


def shown(text: str, *, quotes: bool = True) -> str:
    """Write a caller's text so that it can stand in a sentence: short, quoted, nothing that moves the cursor.

    Parameters
    ----------
    text : str
        Any text.
    quotes : bool, optional
        Whether it stands in quotation marks.

    Returns
    -------
    shown : str
        At most 60 characters of it, with escapes for all that does not print.
    """
    short = text if len(text) <= _LONGEST else f"{text[:_LONGEST]}…"
    quoted = json.dumps(short, ensure_ascii=not short.isprintable())
    return quoted if quotes else quoted[1:-1]


def listed(names: Sequence[str], last: str = "or") -> str:
    """Join names to `a, b or c`.

    Parameters
    ----------
    names : sequence of str
        At least one.
    last : str, optional
        The word before the last name.

    Returns
    -------
    listed : str
        The names as a sentence says them.
    """
    if len(names) == 1:
        return names[0]
    return f"{', '.join(names[:-1])} {last} {names[-1]}"


def kind_of(value: object) -> str:
    """Name the JSON type of a value.

    Parameters
    ----------
    value : object
        A value from a JSON text.

    Returns
    -------
    kind : str
        `null`, `boolean`, `number`, `string`, `array` or `object`.
    """
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "boolean"
    if isinstance(value, int | float):
        return "number"
    if isinstance(value, str):
        return "string"
    return "array" if isinstance(value, list) else "object"


_SPOKEN: Final = {"array": "a list", "object": "an object", "number": "a number", "string": "text"}


def spoken(value: object) -> str:
    """Say what stands in the request, short enough for a sentence.

    Parameters
    ----------
    value : object
        A value from a JSON text.

    Returns
    -------
    spoken : str
        The value itself when it is short, else its kind.
    """
    if isinstance(value, str):
        return f"the text {shown(value)}"
    if isinstance(value, list | dict):
        return _SPOKEN[kind_of(value)]
    return json.dumps(value)


_PLAIN: Final[dict[type[Type], str]] = {
    inspect.StrType: "text",
    inspect.FloatType: "a number",
    inspect.IntType: "a whole number",
    inspect.BoolType: "true or false",
    inspect.NoneType: "null",
    inspect.ListType: "a list",
    inspect.LiteralType: "a name",
    inspect.EnumType: "a name",
    inspect.StructType: "an object",
}


_QUANTITY: Final = {"value", "unit"}


def options(kind: Type) -> tuple[Type, ...]:
    """List the types that a place takes, without their descriptions.

    Parameters
    ----------
    kind : msgspec.inspect.Type
        The declared type.

    Returns
    -------
    options : tuple of msgspec.inspect.Type
        One type, or the members of a union.
    """
    if isinstance(kind, Metadata):
        return options(kind.type)
    if isinstance(kind, UnionType):
        return tuple(option for member in kind.types for option in options(member))
    return (kind,)


def units_of(kind: Type) -> list[str]:
    """List the units of a quantity.

    Parameters
    ----------
    kind : msgspec.inspect.Type
        The declared type.

    Returns
    -------
    units : list of str
        Empty when the type is not a quantity.
    """
    return [unit for option in options(kind) if isinstance(option, StructType) for unit in _units(option)]


def _units(kind: StructType) -> Iterator[str]:
    names = {field.encode_name: field.type for field in kind.fields}
    if names.keys() - {kind.tag_field} != _QUANTITY - {kind.tag_field}:
        return
    unit = names.get("unit")
    units = unit.values if isinstance(unit, LiteralType) else (kind.tag,)
    yield from (str(name) for name in units if name in DIMENSION_OF)


def quantity_form(units: Sequence[str], value: object = 12) -> str:
    """Write a quantity as a request must.

    Parameters
    ----------
    units : sequence of str
        The units that are taken.
    value : object, optional
        The number to show.

    Returns
    -------
    form : str
        The JSON text and the other units.
    """
    ordered = [unit for unit in DIMENSION_OF if unit in units]
    return f'{{"value": {spoken(value)}, "unit": {shown(ordered[0])}}}, in {listed(ordered)}'


def needed(kind: Type) -> str:
    """Say what a place takes.

    Parameters
    ----------
    kind : msgspec.inspect.Type
        The declared type.

    Returns
    -------
    needed : str
        Words with their article.
    """
    units = units_of(kind)
    if units:
        return f"a value with its unit, such as {quantity_form(units)}"
    tagged = [option for option in options(kind) if isinstance(option, StructType) and option.tag is not None]
    if tagged:
        tags = listed([str(option.tag) for option in tagged])
        return f"an object whose {shown(str(tagged[0].tag_field))} is {tags}"
    return listed(list(dict.fromkeys(_PLAIN.get(type(option), "another value") for option in options(kind))))


def wrong_type(value: object, kind: Type, pointer: str) -> ErrorItem:
    """Say that a value has another JSON type than is needed.

    Parameters
    ----------
    value : object
        The value from the request.
    kind : msgspec.inspect.Type
        The declared type.
    pointer : str
        Where the value stands.

    Returns
    -------
    error : ErrorItem
        `null-not-allowed`, `bare-number` or `wrong-type`.
    """
    units = units_of(kind)
    if value is None:
        return ErrorItem("null-not-allowed", pointer, f"null is not taken here. Send {needed(kind)}.")
    if units and isinstance(value, int | float) and not isinstance(value, bool):
        detail = f"The number {spoken(value)} has no unit. Write it as {quantity_form(units, value)}."
        return ErrorItem("bare-number", pointer, detail, [unit for unit in DIMENSION_OF if unit in units])
    return ErrorItem("wrong-type", pointer, f"Send {needed(kind)} here, not {spoken(value)}.")


_PARTS: Final = re.compile(r"\d+(?:[.,]\d+)?|[^\W\d_]+")


_DIGITS: Final = re.compile(r"(?<![^\W\d_])\d+")  # the 2 of mm2 is a letter of its name, not a size


_LONGEST_COMPARED: Final = 64


_SHORTEST: Final = 4  # in fewer letters one that differs makes another name


_SPOKEN_UNITS: Final[dict[str, tuple[str, ...]]] = {
    "m": ("meter", "meters", "metre", "metres"),
    "cm": ("centimeter", "centimeters", "centimetre", "centimetres"),
    "mm": ("millimeter", "millimeters", "millimetre", "millimetres"),
    "km": ("kilometer", "kilometers", "kilometre", "kilometres"),
    "in": ("inch", "inches", '"', "″", "”"),
    "ft": ("foot", "feet", "'", "′", "’"),
    "yd": ("yard", "yards"),
    "V": ("volt", "volts"),
    "mV": ("millivolt", "millivolts"),
    "A": ("amp", "amps", "ampere", "amperes"),
    "mA": ("milliamp", "milliamps", "milliampere", "milliamperes"),
    "W": ("watt", "watts"),
    "kW": ("kilowatt", "kilowatts"),
    "VA": ("volt-ampere", "volt-amperes", "volt-amp", "volt-amps", "voltampere", "voltamperes"),
    "kVA": ("kilovolt-ampere", "kilovolt-amperes", "kilovolt-amp", "kilovolt-amps"),
    "ohm": ("ohms", "Ω"),
    "mohm": ("milliohm", "milliohms", "mΩ"),
    "ohm/m": ("Ω/m",),
    "ohm/km": ("Ω/km",),
    "ohm/ft": ("Ω/ft",),
    "ohm/kft": ("Ω/kft", "ohm/1000ft", "Ω/1000ft"),
    "degC": ("°C", "C", "celsius"),
    "degF": ("°F", "F", "fahrenheit"),
    "kWh": ("kilowatt-hour", "kilowatt-hours"),
    "h": ("hr", "hrs", "hour", "hours"),
}


def _form(text: str) -> tuple[str, ...]:
    """Bring spellings of one name to one form: case, spaces, hyphens, ``²``, comma, order of parts."""
    parts: list[str] = _PARTS.findall(normalize("NFKC", text).casefold())
    return tuple(sorted(part.replace(",", ".") for part in parts))


_UNIT_OF: Final = {spoken.casefold(): unit for unit, names in _SPOKEN_UNITS.items() for spoken in names}


def nearest_name(text: str, names: Sequence[str]) -> str | None:
    """Find the name that a text most likely stands for.

    Parameters
    ----------
    text : str
        What the caller wrote.
    names : sequence of str
        What may be written.

    Returns
    -------
    name : str or None
        Another spelling of the text, else one with the same digits, 11 AWG is not nearly 12 AWG, that a slip
        or two of the fingers make of it, or that has more or fewer words behind the same first ones.

    Examples
    --------
    >>> nearest_name("2,5 mm²", ["1.5 mm2", "2.5 mm2"])
    '2.5 mm2'
    >>> nearest_name("regulation", ["rating", "regulation_percent"])
    'regulation_percent'
    >>> nearest_name("kind", ["id", "name"])
    """
    if len(text) > _LONGEST_COMPARED:
        return None
    same = same_name(text, names)
    if same:
        return same
    digits = _DIGITS.findall(text)
    close = {name.casefold(): name for name in names if _DIGITS.findall(name) == digits}
    written = text.casefold()
    found = get_close_matches(written, close, n=MOST_MEASURED)
    slipped = [(_slips(written, name), name) for name in found]
    near = [each for each in slipped if each[0] <= _slips_allowed(written, each[1])]
    meant = min(near)[1] if near else next((name for name in found if _begins_alike(written, name)), None)
    return None if meant is None else close[meant]


MOST_MEASURED: Final = 3
"""Names that look most like a text and are compared with it letter by letter."""


LETTERS_A_SLIP: Final = 5
"""Of so many letters one may be wrong; more of them, and it is another word."""


def _slips_allowed(text: str, name: str) -> int:
    """How many slips still leave a text the same word as a name; none where it is very short."""
    longer = max(len(text), len(name))
    return max(longer // LETTERS_A_SLIP, int(longer >= _SHORTEST))


def _slips(text: str, name: str) -> int:
    """Slips between two words: a letter more, less or other, or two neighbours exchanged.

    The optimal string alignment distance, after Damerau, Commun. ACM 7 (1964) 171.
    """
    before: list[int] = []
    row = list(range(len(name) + 1))
    for at, letter in enumerate(text, 1):
        last, before, row = before, row, [at]
        for place, other in enumerate(name, 1):
            steps = min(before[place] + 1, row[-1] + 1, before[place - 1] + (letter != other))
            if at > 1 and place > 1 and letter == name[place - 2] and text[at - 2] == other:
                steps = min(steps, last[place - 2] + 1)
            row.append(steps)
    return row[-1]


_WORDS: Final = re.compile(r"[^\W_]+")


def _begins_alike(text: str, name: str) -> bool:
    """Whether one has all the words of the other, in front of some of its own."""
    short, long = sorted((_WORDS.findall(text), _WORDS.findall(name)), key=len)
    return bool(short) and long[: len(short)] == short


def same_name(text: str, names: Sequence[str]) -> str | None:
    """Find the name that a text is another spelling of, and no other, however close.

    Parameters
    ----------
    text : str
        What the caller wrote.
    names : sequence of str
        What may be written.

    Returns
    -------
    name : str or None
        The name of the same letters and digits.

    Examples
    --------
    >>> same_name("DC supply", ["transformer", "dc-supply"])
    'dc-supply'
    >>> same_name("electronic-transformer", ["transformer", "dc-supply"])
    """
    form = _form(text) if len(text) <= _LONGEST_COMPARED else ()
    return next((name for name in names if form and form == _form(name)), None)


def nearest_unit(text: str, units: Sequence[str]) -> str | None:
    """Find the unit that a text is another spelling of.

    Parameters
    ----------
    text : str
        What the caller wrote.
    units : sequence of str
        Every unit name.

    Returns
    -------
    unit : str or None
        The unit; near misses are not guessed, because a letter makes a factor of a thousand.

    Examples
    --------
    >>> nearest_unit("Feet", ["m", "ft"])
    'ft'
    """
    folded = text.strip().casefold()
    spoken = _UNIT_OF.get(folded)
    if spoken is None:
        spoken = next((unit for unit in units if unit.casefold() == folded), None)
    return spoken if spoken in units else None


class Lookalikes:
    """Names of a caller's own, of which there may be thousands; each is looked at once.

    A name looks like another when both have the same numbers and, case and all else apart, the same letters,
    or one letter more, less, other, or changed for its neighbour. To compare each text with each name takes
    too long: 110 texts with 60 names of 64 letters took 1.6 s.

    Parameters
    ----------
    names : sequence of str
        What may be written.
    """

    def __init__(self, names: Sequence[str]) -> None:
        self._names: dict[_Look, str] = {}
        for name in names:
            for look in _looks(name):
                self._names.setdefault(look, name)

    def nearest(self, text: str) -> str | None:
        """Find the name that a text most likely stands for.

        Examples
        --------
        >>> Lookalikes(["Fern 1", "Fern 2"]).nearest("fren-2")
        'Fern 2'
        """
        return next((self._names[look] for look in _looks(text) if look in self._names), None)


_Look = tuple[tuple[str, ...], str]


def _looks(text: str) -> Iterator[_Look]:
    """What a name looks like: its numbers, and its letters, all of them and then without each in turn."""
    parts: list[str] = _PARTS.findall(normalize("NFKC", text).casefold())
    numbers = tuple(part.replace(",", ".") for part in parts if part[0].isdigit())
    letters = "".join(part for part in parts if not part[0].isdigit())
    # One character can stand for eighteen.
    if not parts or len(letters) > _LONGEST_COMPARED:
        return
    yield numbers, letters
    for place in range(len(letters) if len(letters) >= _SHORTEST else 0):
        yield numbers, letters[:place] + letters[place + 1 :]


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


def name_faults(
    value: object,
    names: Sequence[str],
    pointer: str,
    guess: Callable[[str, Sequence[str]], str | None] = nearest_name,
) -> Iterator[ErrorItem]:
    """Check that a value is one of the names.

    Parameters
    ----------
    value : object
        The value from the request.
    names : sequence of str
        What may be written.
    pointer : str
        Where the value stands.
    guess : callable, optional
        Finds the name that was meant, if any.

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
        yield _name_fault(value, allowed, pointer, guess(value, allowed))


def _name_fault(text: str, allowed: list[str], pointer: str, meant: str | None) -> ErrorItem:
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
