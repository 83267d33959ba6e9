"""The listed name that a caller most likely meant. It is only ever suggested, never used."""

import re
from collections.abc import Iterator, Sequence
from difflib import get_close_matches
from typing import Final
from unicodedata import normalize

_PARTS: Final = re.compile(r"\d+(?:[.,]\d+)?|[^\W\d_]+")
_DIGITS: Final = re.compile(r"(?<![^\W\d_])\d+")  # the 2 of mm2 is a letter of its name, not a size
_LONGEST: Final = 64
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
        Another spelling of the text, else a close one with the same digits: 11 AWG is not nearly 12 AWG.

    Examples
    --------
    >>> nearest_name("2,5 mm²", ["1.5 mm2", "2.5 mm2"])
    '2.5 mm2'
    """
    if len(text) > _LONGEST:
        return None
    form = _form(text)
    for name in names:
        if form and form == _form(name):
            return name
    digits = _DIGITS.findall(text)
    close = {name.casefold(): name for name in names if _DIGITS.findall(name) == digits}
    found = get_close_matches(text.casefold(), close, n=1)
    return close[found[0]] if found else None


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
    if not parts or len(letters) > _LONGEST:
        return
    yield numbers, letters
    for place in range(len(letters) if len(letters) >= _SHORTEST else 0):
        yield numbers, letters[:place] + letters[place + 1 :]
