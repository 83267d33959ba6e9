"""What explains the readings, in words that an installer can go out with."""

from __future__ import annotations

from typing import TYPE_CHECKING

from service.physics.network import TERMINAL
from service.studies.cables import DATUM_20_C
from service.studies.job import Subject
from service.studies.readings.asked import ALL_ON, LISTED, NO_LOAD, VOLTAGE, WIRING, Pointed, Terminal
from service.studies.readings.cause import (
    CABLE,
    EXCHANGED,
    LINE_POWER,
    OPEN,
    POWER,
    POWER_FACTOR,
    SPAN,
    SPLICE,
    SUPPLY,
    UNDECLARED,
    WINDING,
)
from service.translate.readings_cables import like_cables
from service.translate.readings_catalogue import EXPLANATIONS
from service.translate.readings_numbers import number as _number

if TYPE_CHECKING:
    from service.studies.readings.asked import Reading, SwitchedState
    from service.studies.readings.cause import Cause
    from service.studies.readings.model import Model
    from service.studies.readings.ranking import Explanation
    from service.studies.readings.routes import Routes
    from service.studies.readings.verdict import NextReading
    from service.translate.naming import Naming

DARK = 0.1
"""A fixture that draws less than this share of its load is called dark. [-]"""


MOST_NAMED = 3
"""Lit places that are named in a state; of more only their number is told."""

REASONS = {
    "transformer": "mains, tap or transformer",
    "dc-supply": "its setting, or the supply itself",
    "battery": "how full the battery is",
}
"""What makes a supply give other volts, by its kind."""

STATES = {NO_LOAD: "nothing on", ALL_ON: "everything on", LISTED: "what is listed on"}


class Telling:
    """Names and sentences for the causes of one answer.

    Parameters
    ----------
    model : Model
    routes : Routes
    naming : Naming
    """

    __slots__ = ("_layout", "_model", "_naming", "_routes")

    def __init__(self, model: Model, routes: Routes, naming: Naming) -> None:
        self._model, self._routes, self._naming = model, routes, naming
        self._layout = model.connected.layout

    def message(self, told: Explanation) -> str:
        """One cause in a sentence, with its size."""
        cause, size = told.fit.cause, told.fit.size
        code = cause.code
        at_least = told.at_least
        parts = {"where": self._where(cause), "size": _number(size)}
        if code == SPLICE:
            parts["size"] = f"{_number(size)} ohm" if at_least is None else f"{_number(at_least)} ohm or more"
        if code in {SUPPLY, CABLE, SPAN, POWER, LINE_POWER}:
            parts |= {"percent": _number(abs(size - 1.0) * 100.0), "way": "more" if size > 1.0 else "less"}
            parts["height"] = "higher" if size > 1.0 else "lower"
            parts["reason"] = REASONS[self._model.connected.job.supply.kind]
        if code in {CABLE, SPAN}:
            cable = self._layout.spans[cause.spans[0]].cable
            parts["like"] = like_cables(cable, size, told.uncertainty, self._temperature_c)
        if code in {POWER, LINE_POWER}:
            declared_w = self._declared_w(cause)
            parts |= {"watts": _number(declared_w * size), "declared": f"{declared_w:.4g}"}
        if code == WINDING:
            parts["declared"] = _number(cause.neutral)
        if code == EXCHANGED:
            first, second = (self.fixture(row) for row in cause.rows)
            parts |= {"where": _capital(first), "other": second}
        return EXPLANATIONS[self._key(cause, size)].format(**parts)

    def _key(self, cause: Cause, size: float) -> str:
        """Which sentence a cause has at a size."""
        if cause.code == OPEN and not cause.spans:
            return "supply-dead"
        if cause.code == POWER and size < DARK:
            return "fixture-dark"
        if cause.code == WINDING and size < cause.neutral:
            return "winding-lower"
        if cause.code == LINE_POWER and self._is_every_line(cause):
            return "all-power-more" if size > 1.0 else "all-power-less"
        return cause.code

    def _is_every_line(self, cause: Cause) -> bool:
        return len({self._layout.fixtures[row].line.subject.pointer for row in cause.rows}) > 1

    def _declared_w(self, cause: Cause) -> float:
        """What the fixtures of a cause draw at the rated voltage of the supply. [W]"""
        rated_v = self._model.connected.job.supply.rated_v
        return sum(load.real_power(rated_v) for row in cause.rows for _, load in self._model.rows[row])

    @property
    def _temperature_c(self) -> float:
        said_c = self._model.connected.job.temperature_c
        return DATUM_20_C if said_c is None else said_c

    def between(self, cause: Cause) -> tuple[str, str] | None:
        """The ends of the stretch of cable that a cause is about, the one nearer to the supply first."""
        if not cause.spans:
            return None
        first, last = cause.spans[0], cause.spans[-1]
        far = self._routes.far_end(last)
        span = self._layout.spans[first]
        near = span.start if self._routes.far_end(first) == span.end else span.end
        return self._naming.points[near], self._naming.points[far]

    def located_at(self, cause: Cause) -> Subject | None:
        """A fixture, or what stands at the far end of a span or at a point; None: the supply."""
        if cause.code in {SUPPLY, WINDING}:
            return None
        if cause.rows:
            placed = self._layout.fixtures[cause.rows[0]]
            if cause.code != LINE_POWER:
                return placed.subject
            return None if self._is_every_line(cause) else placed.line.subject
        if cause.point is not None:
            return self._standing_at(cause.point, None)
        return self._standing_at(self._routes.far_end(cause.spans[-1]), cause.spans[-1])

    def fixture(self, row: int) -> str:
        """The name of a fixture."""
        return self._naming.fixture_at(self._layout.fixtures[row].subject)

    def row_subject(self, row: int) -> Subject:
        """A fixture by its pointer."""
        return self._layout.fixtures[row].subject

    def point(self, point: int) -> str:
        """A point by the caller's own name, by what stands there, else by its place along the cable."""
        if point == TERMINAL:
            return "the supply"
        if self._model.graph:
            return self._naming.points[point]
        placed = next((each for each in self._layout.fixtures if each.cable_point == point), None)
        return self._naming.points[point] if placed is None else self._naming.fixture_at(placed.subject)

    def number(self, row: int | None) -> int | None:
        """The number of a row within its line; None where it needs none."""
        return None if row is None else self._layout.fixtures[row].number

    def subject_of(self, where: Pointed) -> Subject:
        """What a reading points at."""
        ids = {line.subject.pointer: line.subject.id for line in self._layout.lines}
        ids |= {end.subject.pointer: end.subject.id for end in self._layout.ends}
        return Subject(where.pointer, ids.get(where.pointer), where.number)

    def reading(self, asked: Reading) -> str:
        """What was read, where, and in which state."""
        what = "Voltage" if asked.quantity == VOLTAGE else "Current"
        where = "the supply" if isinstance(asked.where, Terminal) else self._pointed(asked.where, what)
        state = "state not said" if asked.state is None else self._state(asked.state)
        return f"{what} at {where}, {state}"

    def _state(self, state: SwitchedState) -> str:
        """What was on; a list by its names while they are few."""
        if state.on != LISTED:
            return STATES[state.on]
        if not state.lit:
            return STATES[NO_LOAD]
        if any(part.pointer == WIRING and part.number is None for part in state.lit):
            return STATES[ALL_ON]
        if len(state.lit) > MOST_NAMED:
            return f"only {len(state.lit)} listed places on"
        names = [self._lit(part) for part in state.lit]
        return f"only {' and '.join([', '.join(names[:-1]), names[-1]] if names[1:] else names)} on"

    def _lit(self, part: Pointed) -> str:
        """The name of a fixture line, of one of its fixtures, or of a run."""
        lines = {line.subject.pointer for line in self._layout.lines}
        if part.pointer in lines:
            return self._naming.fixture_at(Subject(part.pointer, None, part.number))
        return self._run(Subject(part.pointer))

    def next_reading(self, following: NextReading, messages: list[str]) -> str:
        """What to read next, and what it would say of each explanation."""
        what = "voltage" if following.probe.is_voltage else "current"
        unit = "V" if following.probe.is_voltage else "A"
        number = self.number(following.probe.row)
        where = "the supply"
        if following.where != "/supply":
            where = self._pointed(Pointed(following.where, number, ""), what.capitalize())
        state = STATES[following.state.on]
        if following.lit is not None:
            state = f"{self._run(Subject(following.lit))} alone on"
        alike: dict[str, list[str]] = {}
        for index, value in following.expected:
            alike.setdefault(f"{value:.2f} {unit}", []).append(messages[index].rstrip("."))
        said = "; ".join(f"about {value} if: {' / '.join(those)}" for value, those in alike.items())
        text = f"Read the {what} at {where}, {state}"
        return f"{text}: {said}." if said else f"{text}."

    def _pointed(self, where: Pointed, what: str) -> str:
        """The name of a place on the wiring."""
        ends = {end.subject.pointer for end in self._layout.ends}
        lines = {line.subject.pointer for line in self._layout.lines}
        if where.pointer in lines and (where.number is not None or where.pointer not in ends):
            return self._naming.fixture_at(Subject(where.pointer, None, where.number))
        spans = [span for span in self._layout.spans if span.subject.pointer == where.pointer]
        if self._model.graph and spans:
            names = self._naming.points
            return f"the span from {names[spans[0].start]} to {names[spans[0].end]}"
        part = "the far end of" if what == "Voltage" else "the start of"
        return f"{part} {self._run(Subject(where.pointer))}"

    def _standing_at(self, point: int, span: int | None) -> Subject | None:
        if point == TERMINAL:
            return None
        placed = next((each for each in self._layout.fixtures if each.cable_point == point), None)
        if placed is not None:
            return placed.subject
        end = next((each for each in self._layout.ends if each.point == point), None)
        if end is not None:
            return end.subject
        return None if span is None else self._layout.spans[span].subject

    def _where(self, cause: Cause) -> str:
        if cause.code == CABLE:
            subject = self._layout.spans[cause.spans[0]].subject
            cables = {self._layout.spans[index].cable_at for index in cause.spans}
            cable = self._layout.spans[cause.spans[0]].cable
            kind = "" if cable is None else cable.name
            return f"All {kind} cable" if len(cables) > 1 else f"The cable of {self._run(subject)}"
        if cause.code in {SPLICE, SPAN, OPEN} and cause.spans:
            span = self._layout.spans[cause.spans[0]]
            far = self._routes.far_end(cause.spans[0])
            return f"{self.point(span.start + span.end - far)} and {self.point(far)}"
        if cause.code == UNDECLARED and cause.point is not None:
            return self.point(cause.point)
        if cause.code in {POWER, POWER_FACTOR}:
            return _capital(self.fixture(cause.rows[0]))
        if cause.code == LINE_POWER:
            line = self._layout.fixtures[cause.rows[0]].line.subject
            return f'"{self._naming.fixture_at(line)}"'
        return ""

    def _run(self, subject: Subject) -> str:
        return self._naming.run(Subject(subject.pointer.removesuffix("/return_leg")))


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
