"""Names for what a caller left unnamed, and lengths in the caller's units."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from msgspec import UnsetType

from service.circuit.job import FixtureSpec, JobPart
from service.circuit.layout import LaidPoint, Layout
from service.translate.rounding import DECIMALS, rounded, rounded_all
from service.translate.shared import load_of, names_of_types
from service.units import all_from_inside, from_inside
from service.wire.fixture import FixtureLine, PointFixture, Strip
from service.wire.optional import given
from service.wire.quantities import Length
from service.wire.wiring import Branch, EvenWiring, Run, RunsWiring, SpansWiring, Spur, Wiring

WORDS = {"runs": "run", "branches": "branch", "spurs": "spur", "spans": "span", "return_leg": "return leg"}


STRETCHES = "/wiring/spans/"
"""Where the stretches of a graph stand in a request; an end of one is known by the last of them."""


class PlaceNames:
    """Texts for the runs, fixtures and points of one answer.

    Parameters
    ----------
    layout : Layout
        Where everything stands.
    length_unit : str
        m or ft.
    """

    __slots__ = (
        "_fixtures",
        "_pieces",
        "_points",
        "_runs",
        "_several",
        "_stated",
        "_stretches",
        "_twins",
        "length_unit",
        "points",
    )

    def __init__(self, layout: Layout, length_unit: str) -> None:
        self.length_unit = length_unit
        self._runs: dict[str, str] = {}
        for end in sorted(layout.ends, key=lambda each: len(each.subject.pointer)):
            self._runs[end.subject.pointer] = end.name or self._unnamed_run(end.subject.pointer)
        self._several = len(self._runs) > 1
        self._stated = {end.name for end in layout.ends} | {line.name for line in layout.lines}
        self._stated |= {line.called for line in layout.lines if line.typed}
        unnamed = [line for line in layout.lines if not line.name]
        self._points = {
            placed.line.subject.pointer: layout.places[placed.cable_point].name
            for placed in (layout.fixtures if unnamed else ())
        }
        self._fixtures: dict[tuple[str, int | None], str] = {
            (line.subject.pointer, None): line.name for line in layout.lines if line.name
        }
        for line, along in zip(unnamed, self._along([line.at_m for line in unnamed]), strict=True):
            self._fixtures[line.subject.pointer, None] = self._unnamed(line, None, along)
        self._pieces = {line.subject.pointer: line.pieces for line in layout.lines if line.spacing_m is None}
        numbered = [placed for placed in layout.fixtures if placed.number is not None]
        for placed, along in zip(numbered, self._along([each.at_m for each in numbered]), strict=True):
            key = placed.line.subject.pointer, placed.number
            self._fixtures[key] = self._fixture(placed.line, placed.number, along)
        names = Counter([line.name for line in layout.lines if line.name is not None])
        twins = {name for name, count in names.items() if count > 1}
        self._twins = {
            line.subject.pointer: self._of_run(line) for line in layout.lines if line.name in twins
        }
        places = zip(layout.places, self._along([place.at_m for place in layout.places]), strict=True)
        self.points = [self._place(*each) for each in places]
        """Each point in words, in the order of the layout."""
        self._stretches = {
            span.subject.pointer: f"the stretch from {self.points[span.start]} to {self.points[span.end]}"
            for span in layout.spans
            if span.subject.pointer.startswith(STRETCHES)
        }

    def _unnamed_run(self, pointer: str) -> str:
        """The place of a run among the runs, of what branches off a named one its place on that."""
        owner, kind, number = pointer.rsplit("/", 2) if pointer.count("/") > 1 else (pointer, "", "")
        if owner in self._runs and kind in WORDS:
            return f"{self._runs[owner]} {WORDS[kind]} {int(number) + 1}"
        return _place_among_runs(pointer)

    @property
    def several_runs(self) -> bool:
        """Whether a run must be named to be known."""
        return self._several

    def length(self, length_m: float, towards: int = 0) -> float:
        """A length in the answer's unit, rounded for show."""
        return rounded(from_inside(length_m, self.length_unit), DECIMALS[self.length_unit], towards)

    def lengths(self, lengths_m: list[float]) -> list[float]:
        """A column of lengths in the answer's unit, rounded for show. [m]"""
        unit = self.length_unit
        return rounded_all(all_from_inside(lengths_m, unit), DECIMALS[unit])

    def _along(self, lengths_m: list[float]) -> list[str]:
        """Lengths inside names: to 3 decimals, trailing zeros dropped."""
        unit = self.length_unit
        return [f"{each:g} {unit}" for each in rounded_all(self.lengths(lengths_m), 3)]

    def run(self, subject: JobPart) -> str:
        """The name of a run, or its place among the runs: "run 1 branch 2"."""
        return self._runs[subject.pointer]

    def part(self, subject: JobPart) -> str:
        """What is fed by itself, in words: a run, or of a graph all that is behind the supply on one way."""
        if subject.pointer in self._runs and subject.pointer in self._stretches:
            return f"the part that ends at {self._runs[subject.pointer]}"
        return self.within(subject)

    def fixture(self, line: FixtureSpec, number: int | None) -> str:
        """The name of a fixture, with its number where a line stands for several."""
        return self._fixtures[line.subject.pointer, number]

    def fixtures(self, pointers: Iterable[str], numbers: Iterable[int | None]) -> list[str]:
        """A column of names of fixtures: of each the line at its pointer and its number within that."""
        return [self._fixtures[key] for key in zip(pointers, numbers, strict=True)]

    def lamps(self, subject: JobPart) -> int:
        """How many lamps a subject stands for: several that hang at one point are one place."""
        return self._pieces.get(subject.pointer, 1) if subject.number is None else 1

    def fixture_at(self, subject: JobPart) -> str:
        """The name of the fixture that a subject points at; one of a line that has no numbers is the line.

        Where several lines have one name the run is told as well.
        """
        own = self._fixtures.get((subject.pointer, subject.number))
        name = self._fixtures[subject.pointer, None] if own is None else own
        return f"{name}{self._twins.get(subject.pointer, '')}"

    def subject(self, subject: JobPart) -> str:
        """What a finding is about, in words, at the start of a sentence."""
        return self.capital(self.within(subject))

    def capital(self, text: str) -> str:
        """A text with a capital letter in front; a caller's name stays as it came."""
        ends = [place for place, letter in enumerate(text) if letter == " "]
        begins = any(text[:end] in self._stated for end in [*ends, len(text)] if end)
        return text if begins else text[:1].upper() + text[1:]

    def within(self, subject: JobPart) -> str:
        """The same inside a sentence: itself, or the nearest named thing around it."""
        pointer = subject.pointer
        while pointer:
            name = self._named(pointer, subject.number)
            if name is not None:
                return name
            pointer = pointer.rpartition("/")[0]
        return "the supply"

    def _named(self, pointer: str, number: int | None) -> str | None:
        """A stretch of a graph, a fixture by pointer and number, else a run, else a line of fixtures."""
        if pointer in self._stretches:
            return self._stretches[pointer]
        numbered = number is not None and (pointer, number) in self._fixtures
        if pointer in self._runs and not numbered:
            return self._runs[pointer]
        if numbered or (pointer, None) in self._fixtures:
            return self.fixture_at(JobPart(pointer, None, number))
        return None

    def _place(self, place: LaidPoint, along: str) -> str:
        """A point in words; `along` is how far it lies along its run."""
        pointer, _, line, number, name, on_strip = place
        if name is not None:
            return name
        if pointer is not None:
            return f"{self._runs[pointer]} at {along}"
        if line is not None:
            return f"{'far end' if on_strip else 'lamp'} of {self.fixture(line, number)}"
        return "supply"

    def _fixture(self, line: FixtureSpec, number: int | None, along: str) -> str:
        return self._unnamed(line, number, along) if line.name is None else f"{line.name} {number}"

    def _of_run(self, line: FixtureSpec) -> str:
        """On which run a line of fixtures is, where there are several."""
        owner = self._owner_of(line) if self._several else None
        return f" of {owner}" if owner else ""

    def _owner_of(self, line: FixtureSpec) -> str | None:
        """The name of the run that a line of fixtures is on; of a graph none."""
        return self._runs.get(line.subject.pointer.rpartition("/fixtures/")[0])

    def _unnamed(self, line: FixtureSpec, number: int | None, along: str) -> str:
        """Where a fixture stands, for want of a name; the run is told where there are several."""
        counted = line.called if number is None else f"{line.called} {number}"
        where = f"{counted} at {self._points.get(line.subject.pointer) or along}"
        return where + self._of_run(line)


def _stated_at(wiring: Wiring, pointer: str) -> object:
    """What a wiring states at a pointer into it."""
    stated: object = wiring
    for token in pointer.removeprefix("/wiring").split("/")[1:]:
        stated = stated[int(token)] if isinstance(stated, list) else getattr(stated, token)
    return stated


def run_name(wiring: Wiring, pointer: str) -> str:
    """The name of the run, branch or spur at a pointer, or of the one whose return leg is there."""
    pointer = pointer.removesuffix("/return_leg")
    named = _stated_at(wiring, pointer)
    own = given(named.name) if isinstance(named, Run | Branch | Spur) else None
    if own or pointer.count("/") < BRANCHING:
        return own or _place_among_runs(pointer)
    owner, kind, number = pointer.rsplit("/", 2)
    return f"{run_name(wiring, owner)} {WORDS[kind]} {int(number) + 1}"


BRANCHING = 4
"""Slashes in the pointer to what branches off a run: /wiring/runs/0/branches/0."""


PARTS = {**WORDS, "zones": "zone", "fixtures": "fixture group", "circuits": "circuit"}
"""What the lists of a request are called one by one where only a place in it is known."""


def place_words(pointer: str, number: int | None = None) -> str:
    """A place in a request in words, by its numbers alone.

    Examples
    --------
    >>> place_words("/wiring/runs/0/fixtures/1", 6)
    'run 1 fixture group 2 number 6'
    >>> place_words("/wiring/runs/0/branches/2/cable"), place_words("/supply/winding"), place_words("")
    ('run 1 branch 3', 'the supply', 'the whole job')
    """
    named: list[str] = []
    for part in pointer.split("/")[1:]:
        if part.isdecimal():
            named.append(str(int(part) + 1))
        elif part in PARTS:
            named.append(PARTS[part])
    if number is not None:
        named.append(f"number {number}")
    whole = {"": "the whole job", "supply": "the supply"}.get(pointer.split("/")[1] if pointer else "")
    return " ".join(named) or whole or "the wiring"


def _place_among_runs(pointer: str) -> str:
    parts = pointer.split("/")[2:]
    named = [f"{WORDS[kind]} {int(index) + 1}" for kind, index in zip(parts[::2], parts[1::2], strict=False)]
    return " ".join(named) or "the run"


UNNAMED_LAMP = "lamp"
"""What lamps are called that have no name, of no type."""


def lamp_name(wiring: Wiring, pointer: str) -> str:
    """What the lamps at a pointer are called, without their numbers: their own name or that of their type."""
    named = _stated_at(wiring, pointer)
    if not isinstance(named, FixtureLine | PointFixture):
        return UNNAMED_LAMP
    own = given(named.name)
    if own is None and not isinstance(named.type, UnsetType) and isinstance(wiring, RunsWiring | SpansWiring):
        own = names_of_types(wiring)[named.type]
    return own or UNNAMED_LAMP


def strip_length(wiring: Wiring, pointer: str) -> Length | None:
    """How long the strip at a pointer is, as it was stated; None where no strip is there."""
    line = _stated_at(wiring, pointer)
    if isinstance(line, FixtureLine | PointFixture):
        load: object = load_of(line)
    else:
        load = line.load if isinstance(line, EvenWiring) else None
    return load.length if isinstance(load, Strip) else None
