"""What explains the readings, in words that an installer can go out with."""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite
from typing import Final

from service import tables
from service.circuit.cables import DATUM_20_C, Cable, resolve_cable
from service.circuit.job import JobPart, Listed
from service.estimation.job import (
    ALL_ON,
    DISCONNECTED,
    LISTED,
    NO_LOAD,
    UNITS,
    WIRING,
    Pointed,
    StatedReading,
    SwitchedState,
    Terminal,
)
from service.estimation.model import Model
from service.estimation.probes import Routes
from service.estimation.uncertainty import COVERAGE
from service.intake.words import listed
from service.physics.network import TERMINAL
from service.studies.readings_check.fault import (
    CABLE,
    EXCHANGED,
    EXCHANGED_RUNS,
    LINE_POWER,
    OPEN,
    OTHER_TAP,
    POWER,
    POWER_FACTOR,
    SPAN,
    SPLICE,
    SUPPLY,
    UNDECLARED,
    WINDING,
    FaultHypothesis,
)
from service.studies.readings_check.next_reading import SuggestedReading
from service.studies.readings_check.ranking import Explanation
from service.translate.naming import PlaceNames

CONCLUSIONS: Final[dict[str, str]] = {
    "agrees": "The readings match the wiring as described; differences as small as these are normal.",
    "agrees-but": " Taken one by one {which} would be outside what is expected, as one in twenty is by"
    " chance: look there again.",
    "unseen": " They cannot tell whether {which} is lit: look at the lamps.",
    "disagrees": "The readings do not fit the wiring as described. One thing would explain them: {first}",
    "disagrees-place": "The readings do not fit the wiring as described. One place would explain them;"
    " the readings cannot tell which of these it is: {ties}.",
    "disagrees-unsettled": "The readings do not fit the wiring as described. One of these would explain them;"
    " the readings cannot tell which: {ties}.",
    "several": "The readings do not fit the wiring as described. {count} things are wrong, each on a run of"
    " its own. {runs}.",
    "read-next": " {place}, next.",
    "look-there": " No reading that is easily taken tells them apart: look there.",
    "contradicts": "No single cause explains these readings together: a reading is wrong, or more than one"
    " thing is wrong. Take them again, one state at a time, before anything is opened.",
    "contradicts-both-ways": "No single cause explains these readings together: under the best one {high} is"
    " still too high and {low} too low. A reading is wrong, or more than one thing is wrong. Take both again"
    " before anything is opened.",
    "by-run": " Judged by themselves, {wrong} {do} not fit{others}.",
    "impossible": "What can be judged fits the wiring as described, but {which} cannot be right with it; the"
    " findings say why.",
    "impossible-some": "What can be judged fits the wiring as described, but {which} cannot all be right with"
    " it; the findings say why.",
    "nothing-to-judge": "No reading can be judged against the wiring as described; the findings say why.",
}

IDENTIFIABILITY: Final[dict[str, str]] = {
    "agrees": "Nothing needs explaining. What these readings do not touch is not checked by them.",
    "alone": "No other single cause fits nearly as well.",
    "same-place": "The place is settled, what is wrong there is not: {others}.",
    "not-separated-one": "One other cause fits about as well, and these readings cannot tell it from the"
    " first: {others}.",
    "not-separated": "{count} other causes fit about as well, and these readings cannot tell them apart:"
    " {others}.",
    "contradicts": "Nothing is separated: no single cause fits.",
    "impossible": "No cause is sought for what cannot be: take the reading again first.",
    "nothing-to-judge": "Nothing can be told apart without a reading that can be used.",
    "several": "Each run was judged by itself; no single cause explains all of them nearly as well.",
    "left-out": "{count} less promising causes were not tried: the work of one request is limited.",
}

DARK = 0.1
"""A fixture that draws less than this share of its load is called dark. [-]"""

MOST_NAMED = 3
"""Lit places that are named in a state; of more only their number is given."""

TOO_LITTLE_STATED = "labels that say too little"
TOO_MUCH_STATED = "not everything was on, or labels that say too much"

REASONS = {
    "transformer": "mains, tap or transformer",
    "dc-supply": "its setting, or the supply itself",
    "battery": "how full the battery is",
}
"""What makes a supply give other volts, by its kind."""

STATES = {
    DISCONNECTED: "supply off and disconnected",
    NO_LOAD: "nothing on",
    ALL_ON: "everything on",
    LISTED: "what is listed on",
}


class ReadingsWords:
    """Names and sentences for the faults of one answer.

    Parameters
    ----------
    model : Model
    routes : Routes
    naming : PlaceNames
    """

    __slots__ = ("_layout", "_model", "_naming", "_routes")

    def __init__(self, model: Model, routes: Routes, naming: PlaceNames) -> None:
        self._model, self._routes, self._naming = model, routes, naming
        self._layout = model.connected.layout

    def message(self, explanation: Explanation) -> str:
        """One fault in a sentence, with its size."""
        fault, size = explanation.fit.fault, explanation.fit.size
        kind = fault.kind
        at_least = explanation.at_least
        parts = {"where": self._where(fault), "size": number(size)}
        if kind is SPLICE:
            parts["size"] = f"{number(size)} ohm" if at_least is None else f"{number(at_least)} ohm or more"
        if kind in {SUPPLY, CABLE, SPAN, POWER, LINE_POWER}:
            parts |= {"percent": number(abs(size - 1.0) * 100.0), "way": "more" if size > 1.0 else "less"}
            parts["height"] = "higher" if size > 1.0 else "lower"
            parts["reason"] = REASONS[self._model.connected.job.supply.kind]
            parts["because"] = TOO_LITTLE_STATED if size > 1.0 else TOO_MUCH_STATED
        if kind in {CABLE, SPAN}:
            cable = self._layout.spans[fault.spans[0]].cable
            parts["like"] = like_cables(cable, size, explanation.uncertainty, self._temperature_c)
        if kind in {POWER, LINE_POWER}:
            declared_w = self._declared_w(fault)
            parts |= {"watts": number(declared_w * size), "declared": f"{declared_w:.4g}"}
        if kind is WINDING:
            parts["declared"] = number(fault.neutral)
        if kind is EXCHANGED:
            first, second = (self.fixture(row) for row in fault.rows)
            parts |= {"where": self._naming.capital(first), "other": second}
        if kind in {OTHER_TAP, EXCHANGED_RUNS}:
            names = [self._run(self._run_subject(run)) for run in fault.runs]
            parts |= {
                "where": names[0] if fault.recorded else self._naming.capital(names[0]),
                "other": names[-1],
            }
        if kind is OTHER_TAP and fault.tap_v is not None:
            feed = self._model.connected.feed
            declared_v = feed.taps_v[feed.tap_of[fault.runs[0]]]
            parts |= {"tap": f"{fault.tap_v:g}", "declared": f"{declared_v:g}"}
        return (kind.special if self._is_special(fault, size) else kind.words).format(**parts)

    def _is_special(self, fault: FaultHypothesis, size: float) -> bool:
        """Whether a fault at a size is the special case of its kind."""
        special = {
            OPEN: not fault.spans,
            POWER: size < DARK,
            WINDING: size < fault.neutral,
            LINE_POWER: self._is_every_line(fault),
        }
        return special.get(fault.kind, fault.recorded)

    def _is_every_line(self, fault: FaultHypothesis) -> bool:
        return len({self._layout.fixtures[row].line.subject.pointer for row in fault.rows}) > 1

    def _declared_w(self, fault: FaultHypothesis) -> float:
        """What the fixtures of a fault draw at the rated voltage of the supply. [W]"""
        rated_v = self._model.connected.job.supply.rated_v
        return sum(load.real_power(rated_v) for row in fault.rows for _, load in self._model.rows[row])

    @property
    def _temperature_c(self) -> float:
        stated_c = self._model.connected.job.temperature_c
        return DATUM_20_C if stated_c is None else stated_c

    def between(self, fault: FaultHypothesis) -> tuple[str, str] | None:
        """The ends of the stretch of cable that a fault is about, the one nearer to the supply first."""
        if not fault.spans:
            return None
        first, last = fault.spans[0], fault.spans[-1]
        far = self._routes.far_end(last)
        span = self._layout.spans[first]
        near = span.start if self._routes.far_end(first) == span.end else span.end
        return self._naming.points[near], self._naming.points[far]

    def located_at(self, fault: FaultHypothesis) -> JobPart | None:
        """A fixture, or what is at the far end of a span or at a point; None: the supply."""
        if fault.kind in {SUPPLY, WINDING}:
            return None
        if fault.runs:
            return self._run_subject(fault.runs[0])
        if fault.rows:
            placed = self._layout.fixtures[fault.rows[0]]
            if fault.kind is not LINE_POWER:
                return placed.subject
            return None if self._is_every_line(fault) else placed.line.subject
        if fault.point is not None:
            return self._part_at(fault.point, None)
        return self._part_at(self._routes.far_end(fault.spans[-1]), fault.spans[-1])

    def exchanged_with(self, fault: FaultHypothesis) -> JobPart | None:
        """The other fixture or run of two that are exchanged."""
        if fault.kind is EXCHANGED_RUNS:
            return self._run_subject(fault.runs[1])
        return self._layout.fixtures[fault.rows[1]].subject if fault.kind is EXCHANGED else None

    def _run_subject(self, feeder: int) -> JobPart:
        return self._model.connected.job.feeders()[feeder].subject

    def fixture(self, row: int) -> str:
        """The name of a fixture."""
        return self._naming.fixture_at(self._layout.fixtures[row].subject)

    def point(self, point: int) -> str:
        """A point by the caller's own name, by what is there, else by its place along the cable."""
        if point == TERMINAL:
            return "the supply"
        if self._model.graph:
            return self._naming.points[point]
        placed = next((each for each in self._layout.fixtures if each.cable_point == point), None)
        return self._naming.points[point] if placed is None else self._naming.fixture_at(placed.subject)

    def number(self, row: int | None) -> int | None:
        """The number of a row within its line; None where it needs none."""
        return None if row is None else self._layout.fixtures[row].number

    def subject_of(self, where: Pointed) -> JobPart:
        """What a reading points at."""
        ids = {line.subject.pointer: line.subject.id for line in self._layout.lines}
        ids |= {end.subject.pointer: end.subject.id for end in self._layout.ends}
        return JobPart(where.pointer, ids.get(where.pointer), where.number)

    def reading(self, job: StatedReading) -> str:
        """What was read, where, and in which state."""
        what = job.quantity.capitalize()
        where = "the supply" if isinstance(job.where, Terminal) else self._pointed(job.where, what)
        state = "state not said" if job.state is None else self._state(job.state)
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
        return f"only {listed(names, 'and')} on"

    def _lit(self, part: Pointed) -> str:
        """The name of a fixture line, of one of its fixtures, or of a run."""
        lines = {line.subject.pointer for line in self._layout.lines}
        if part.pointer in lines:
            return self._naming.fixture_at(JobPart(part.pointer, None, part.number))
        return self._run(JobPart(part.pointer))

    def place_to_read(self, following: SuggestedReading) -> str:
        """What to read next, where, and what is on."""
        what = "voltage" if following.probe.is_voltage else "current"
        number = self.number(following.probe.row)
        where = "the supply"
        if following.where != "/supply":
            where = self._pointed(Pointed(following.where, number, ""), what.capitalize())
        state = STATES[following.state.on]
        if following.lit is not None:
            state = f"{self._run(JobPart(following.lit))} alone on"
        return f"Read the {what} at {where}, {state}"

    def next_reading(self, following: SuggestedReading, messages: list[str]) -> str:
        """What to read next, and what it would say of each explanation."""
        unit = UNITS[following.probe.quantity]
        alike: dict[str, list[str]] = {}
        for index, value in following.expected:
            alike.setdefault(f"{value:.2f} {unit}", []).append(messages[index].rstrip("."))
        stated = "; ".join(f"about {value} if: {' / '.join(those)}" for value, those in alike.items())
        text = self.place_to_read(following)
        return f"{text}: {stated}." if stated else f"{text}."

    def _pointed(self, where: Pointed, what: str) -> str:
        """The name of a place on the wiring."""
        ends = {end.subject.pointer for end in self._layout.ends}
        lines = {line.subject.pointer for line in self._layout.lines}
        if where.pointer in lines and (where.number is not None or where.pointer not in ends):
            return self._naming.fixture_at(JobPart(where.pointer, None, where.number))
        spans = [span for span in self._layout.spans if span.subject.pointer == where.pointer]
        if self._model.graph and spans:
            names = self._naming.points
            return f"the span from {names[spans[0].start]} to {names[spans[0].end]}"
        part = "the start of" if what == "Current" else "the far end of"
        return f"{part} {self._run(JobPart(where.pointer))}"

    def _part_at(self, point: int, span: int | None) -> JobPart | None:
        if point == TERMINAL:
            return None
        placed = next((each for each in self._layout.fixtures if each.cable_point == point), None)
        if placed is not None:
            return placed.subject
        end = next((each for each in self._layout.ends if each.point == point), None)
        if end is not None:
            return end.subject
        return None if span is None else self._layout.spans[span].subject

    def _where(self, fault: FaultHypothesis) -> str:
        if fault.kind is CABLE:
            subject = self._layout.spans[fault.spans[0]].subject
            cables = {self._layout.spans[index].cable_at for index in fault.spans}
            cable = self._layout.spans[fault.spans[0]].cable
            kind = "" if cable is None else cable.name
            return f"All {kind} cable" if len(cables) > 1 else f"The cable of {self._run(subject)}"
        if fault.kind.at == "span" and fault.spans:
            span = self._layout.spans[fault.spans[0]]
            far = self._routes.far_end(fault.spans[0])
            return f"{self.point(span.start + span.end - far)} and {self.point(far)}"
        if fault.kind is UNDECLARED and fault.point is not None:
            return self.point(fault.point)
        if fault.kind in {POWER, POWER_FACTOR}:
            return self._naming.capital(self.fixture(fault.rows[0]))
        if fault.kind is LINE_POWER:
            line = self._layout.fixtures[fault.rows[0]].line.subject
            return f'"{self._naming.fixture_at(line)}"'
        return ""

    def unseen(self, rows: list[int]) -> str:
        """Which fixtures might be dark for all that was read; of many their number."""
        if len(rows) > MOST_NAMED:
            every = len(rows) == len(self._layout.fixtures)
            return f"any one of the {len(rows)} fixtures" if every else f"any one of {len(rows)} fixtures"
        return listed([self.fixture(row) for row in rows], "or")

    def run(self, subject: JobPart) -> str:
        """The name of a run."""
        return self._naming.capital(self._run(subject))

    def _run(self, subject: JobPart) -> str:
        return self._naming.run(JobPart(subject.pointer.removesuffix("/return_leg")))


LEAST_WITHIN, USUAL_WITHIN = 0.05, 0.12
"""A cable is named whose resistance is so near to what was found: at least, and where the size found has no
uncertainty of its own. [-]"""

CLAD = "copper-clad-aluminium"


def like_cables(cable: Cable | None, ratio: float, uncertainty: float | None, temperature_c: float) -> str:
    """What a cable with `ratio` times its resistance may be in truth, in words.

    Parameters
    ----------
    cable : Cable or None
        The cable as stated.
    ratio : float
        Resistance found over resistance thought. [-]
    uncertainty : float or None
        One standard uncertainty of the ratio, where it is known. [-]
    temperature_c : float
        Of the conductors. [°C]
    """
    within = USUAL_WITHIN * ratio
    if uncertainty is not None and isfinite(uncertainty):
        within = max(COVERAGE * uncertainty, LEAST_WITHIN * ratio)
    names = [] if cable is None else [*_size(cable, ratio, within, temperature_c)]
    names += [] if cable is None else [*_clad(cable, ratio, within, temperature_c)]
    length = f"{number(abs(ratio - 1.0) * 100.0)} % {'more' if ratio > 1.0 else 'less'} length"
    return ", or ".join(f"like {name}" for name in [*names, length])


def _size(cable: Cable, ratio: float, within: float, temperature_c: float) -> Iterator[str]:
    """The size of the same table, metal and stranding that comes nearest, if it comes near.

    A size of leads is no size of a cable in the ground; it is offered in the place of another one of leads.
    """
    stated = cable.spec.conductor
    if not isinstance(stated, Listed) or cable.spec.other is not None:
        return
    material, stranding = stated.material or "copper", stated.stranding or "stranded"
    printed = (row for row in tables.conductors() if (row.material, row.stranding) == (material, stranding))
    offered = [row.name for row in printed if row.name in tables.CABLE_SIZES]
    offered += tables.LEAD_SIZES if stated.name in tables.LEAD_SIZES else ()
    found = [
        (abs(_ratio(cable, stated._replace(name=name), temperature_c) - ratio), name)
        for name in offered
        if name != stated.name and name.split()[1:] == stated.name.split()[1:]
    ]
    off, name = min(found, default=(within, ""))
    if off < within:
        yield name


def _clad(cable: Cable, ratio: float, within: float, temperature_c: float) -> Iterator[str]:
    """The same size in copper-clad aluminium, where copper is stated."""
    stated = cable.spec.conductor
    if (
        not isinstance(stated, Listed)
        or cable.spec.other is not None
        or stated.material not in {None, "copper"}
    ):
        return
    try:
        own = _ratio(cable, stated._replace(material=CLAD), temperature_c)
    except tables.NotListedError:
        return
    if abs(own - ratio) < within:
        yield f"{stated.name} copper-clad aluminium"


def _ratio(cable: Cable, other: Listed, temperature_c: float) -> float:
    """Resistance of the cable with another conductor over its own. [-]"""
    return resolve_cable(cable.spec._replace(conductor=other), temperature_c).ohm_per_m / cable.ohm_per_m


THREE_DIGITS_FROM = 100.0


def number(value: float) -> str:
    """A number for a sentence: to two digits, three from a hundred on.

    >>> number(0.2397), number(31.1), number(186.4)
    ('0.24', '31', '186')
    """
    if value == 0.0:
        return "0"
    digits = 3 if abs(value) >= THREE_DIGITS_FROM else 2
    text = f"{float(f'{value:.{digits}g}'):f}"
    return text.rstrip("0").rstrip(".")
