"""Points and spans of a job: where each fixture stands and what lies between; strips as lumps on a rail.

Half of the load of each stretch of a strip is at each of its ends (the trapezoid rule). For a load of
constant current the far end is then exact; for constant power the error falls with the square of the lumps.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from service.circuit.cables import Cable, resolve_cable
from service.circuit.job import CableChangeSpec, CableSpec, FixtureSpec, JobPart
from service.circuit.supply import NO_RESISTANCE_OHM
from service.physics.load import Load
from service.physics.network import TERMINAL, Span

SAME_PLACE_M = 1e-3
"""Nearer than this is one point. [m]"""


SAME_NUMBER_M = 1e-6
"""Positions this near are the same number computed twice; merging them needs no mention. [m]"""


class PlacedFixture(NamedTuple):
    """One reply row: `pieces` fixtures at one point; where they stand [m] and hang, and on which tap. [V]

    `distance_m` is from the supply to the lamp, its lead included. [m] `rail` are the points of a strip with
    resistance beyond its start, the far end last.
    """

    line: FixtureSpec
    number: int | None
    pieces: int
    at_m: float
    cable_point: int
    lamp_point: int
    feeder: int
    open_circuit_v: float
    distance_m: float
    rail: tuple[int, ...] = ()

    @property
    def far_point(self) -> int:
        """The far end of a strip; of any other fixture the lamp itself."""
        return self.rail[-1] if self.rail else self.lamp_point

    @property
    def subject(self) -> JobPart:
        """The line, and the number within it."""
        subject = self.line.subject
        return subject if self.number is None else JobPart(subject.pointer, subject.id, self.number)

    def fed_at(self, open_circuit_v: float) -> PlacedFixture:
        """The same row where its tap gives another voltage. [V]"""
        return PlacedFixture(
            self.line,
            self.number,
            self.pieces,
            self.at_m,
            self.cable_point,
            self.lamp_point,
            self.feeder,
            open_circuit_v,
            self.distance_m,
            self.rail,
        )


class LaidSpan(NamedTuple):
    """One stretch of cable [ohm], [m], or `pieces` leads alike side by side; no `cable`: a bare splice.

    `cable_at` points at the request's member that says which cable it is, empty for leads and splices;
    `from_m` is where on its run it begins [m]; `rail`: a stretch of a strip; `joints_ohm`: what joints in it,
    or the splice before a lead, have of the resistance of each piece.
    """

    start: int
    end: int
    resistance_ohm: float
    length_m: float
    cable: Cable | None
    subject: JobPart
    feeder: int
    pieces: int = 1
    cable_at: str = ""
    from_m: float = 0.0
    joints_ohm: float = 0.0
    rail: bool = False

    def of(self, cable: Cable) -> LaidSpan:
        """The same stretch of another cable."""
        return LaidSpan(
            self.start,
            self.end,
            (self.length_m * cable.ohm_per_m + self.joints_ohm) / self.pieces,
            self.length_m,
            cable,
            self.subject,
            self.feeder,
            self.pieces,
            self.cable_at,
            self.from_m,
            self.joints_ohm,
            self.rail,
        )

    def joined_with(self, further: LaidSpan) -> LaidSpan:
        """A stretch and the next of the same strip in one."""
        return self._replace(
            end=further.end,
            resistance_ohm=self.resistance_ohm + further.resistance_ohm,
            length_m=self.length_m + further.length_m,
        )


class RunEnd(NamedTuple):
    """A far end: of a run, a branch or a spur, or of a graph; along its own cable and from the supply. [m]"""

    subject: JobPart
    name: str | None
    feeder: int
    point: int
    end_m: float
    distance_m: float
    changes: tuple[CableChangeSpec, ...] = ()


def load_drawn(fixture: PlacedFixture, *, all_in_phase: bool) -> Load:
    """What all fixtures of a row draw together."""
    load = fixture.line.load.all_in_phase() if all_in_phase else fixture.line.load
    return load if fixture.pieces == 1 else load.scaled(fixture.pieces)


def loads_at(fixture: PlacedFixture, *, all_in_phase: bool) -> list[tuple[int, Load]]:
    """What all fixtures of a row draw together, point by point: a strip draws all along its rail."""
    return along((fixture.lamp_point, *fixture.rail), load_drawn(fixture, all_in_phase=all_in_phase))


STRIP_LUMPS = 32
"""Stretches of rail in one strip.

While the strip loses less than a third of the voltage where it is fed, its far end reads low by less than
5e-5 of that: below 1 mV at 12 V and at 24 V, against the closed form of a load without gaps.
"""


NO_RAIL_OHM = 1e-6
"""A strip below this is taken without resistance. [ohm]"""


def stretches_of(line: FixtureSpec) -> int:
    """How many stretches of rail each fixture of a line is laid as; zero for whatever is no strip."""
    return STRIP_LUMPS if line.rail_ohm >= NO_RAIL_OHM else 0


def points_of(line: FixtureSpec) -> int:
    """How many points each fixture of a line may need beside the one on the cable."""
    return (1 if line.lead or line.splice_ohm else 0) + stretches_of(line)


def along(points: tuple[int, ...], load: Load) -> list[tuple[int, Load]]:
    """A load spread evenly over points in a row, half as much at the first and the last as between."""
    if len(points) == 1:
        return [(points[0], load)]
    stretches = len(points) - 1
    whole, half = load.scaled(1.0 / stretches), load.scaled(0.5 / stretches)
    return [(points[0], half), *((point, whole) for point in points[1:-1]), (points[-1], half)]


class LaidPoint(NamedTuple):
    """A point for naming: so far [m] along the run at `pointer`, or a lamp, or a point with its own name.

    `along` is set at the points of a strip beyond its start.
    """

    pointer: str | None
    at_m: float
    line: FixtureSpec | None = None
    number: int | None = None
    name: str | None = None
    along: bool = False


@dataclass(slots=True)
class Layout:
    """Points and spans of a job; point 0 is the terminal.

    Parameters
    ----------
    temperature_c : float
        Of every conductor. [°C]
    open_circuit_v : list of float
        [V], one per point
    places : list of LaidPoint
        One per point.
    spans, fixtures, lines, ends : list
        In the order in which they were laid.
    leaders : list of int
        For each feeder the one that stands for all that meet behind it; itself unless a graph joins them.
    merged : bool
        Whether points nearer than 1 mm became one.
    """

    temperature_c: float
    open_circuit_v: list[float]
    places: list[LaidPoint] = field(default_factory=lambda: [LaidPoint(None, 0.0)])
    spans: list[LaidSpan] = field(default_factory=list)
    fixtures: list[PlacedFixture] = field(default_factory=list)
    lines: list[FixtureSpec] = field(default_factory=list)
    ends: list[RunEnd] = field(default_factory=list)
    leaders: list[int] = field(default_factory=list)
    merged: bool = False

    def network_spans(self) -> list[Span]:
        """The spans as the solver wants them."""
        return [Span(span.start, span.end, span.resistance_ohm) for span in self.spans]

    def with_spans(self, spans: list[LaidSpan]) -> Layout:
        """The same places with other cables between them."""
        return Layout(
            self.temperature_c,
            self.open_circuit_v,
            self.places,
            spans,
            self.fixtures,
            self.lines,
            self.ends,
            self.leaders,
            self.merged,
        )

    def cables(self) -> list[Cable]:
        """Every cable that was laid, once each, in the order in which they come first."""
        found = {id(span.cable): span.cable for span in self.spans if span.cable is not None}
        return list(found.values())

    @property
    def has_joints(self) -> bool:
        """Whether joints lie in the cable of runs; what they add to it depends on its temperature."""
        return any(span.joints_ohm and span.cable_at for span in self.spans)

    def standing_at(self, volts_of: Mapping[float, float], temperature_c: float) -> Layout:
        """The same places where each tap gives another voltage and all cable is as warm as this. [V], [°C]

        `volts_of` has the new voltage for each old one. Not for a layout that has joints.
        """
        warmed: dict[CableSpec, Cable] = {}
        for span in self.spans:
            if span.cable is not None and span.cable.spec not in warmed:
                warmed[span.cable.spec] = resolve_cable(span.cable.spec, temperature_c)
        return Layout(
            temperature_c,
            [volts_of[volts] for volts in self.open_circuit_v],
            self.places,
            [span if span.cable is None else span.of(warmed[span.cable.spec]) for span in self.spans],
            [placed.fed_at(volts_of[placed.open_circuit_v]) for placed in self.fixtures],
            self.lines,
            self.ends,
            self.leaders,
            self.merged,
        )

    def run_ends(self) -> list[RunEnd]:
        """One far end for each run that leaves the supply, in their order."""
        first = {end.feeder: end for end in reversed(self.ends)}
        return [first[feeder] for feeder in sorted(first)]

    def loads(self, *, all_in_phase: bool) -> list[tuple[int, Load]]:
        """What hangs at each lamp point."""
        return [load for each in self.loads_by_fixture(all_in_phase=all_in_phase) for load in each]

    def loads_by_fixture(self, *, all_in_phase: bool) -> list[list[tuple[int, Load]]]:
        """What hangs where, a list for each row: a strip hangs at several points."""
        found: list[list[tuple[int, Load]]] = []
        line, drawn = None, Load()
        for placed in self.fixtures:
            # Rows of one line follow one another, and draw the same.
            if placed.line is not line:
                line, drawn = placed.line, load_drawn(placed, all_in_phase=all_in_phase)
            point, rail = placed.lamp_point, placed.rail
            hanging = along((point, *rail), drawn) if rail else [(point, drawn)]
            if point == TERMINAL:
                hanging = [(at, self._referred(load, at, placed.open_circuit_v)) for at, load in hanging]
            found.append(hanging)
        return found

    def point(self, volts: float, place: LaidPoint) -> int:
        """Add a point fed at this open-circuit voltage. [V]"""
        self.open_circuit_v.append(volts)
        self.places.append(place)
        return len(self.places) - 1

    def span(  # noqa: PLR0913  # the facts of a span
        self,
        ends: tuple[int, int],
        length_m: float,
        cable: Cable,
        subject: JobPart,
        *,
        feeder: int,
        cable_at: str,
        from_m: float = 0.0,
        joints_ohm: float = 0.0,
    ) -> None:
        """Add a stretch of cable between two points [m], with joints in it. [ohm]"""
        ohm = length_m * cable.ohm_per_m + joints_ohm
        self.spans.append(
            LaidSpan(*ends, ohm, length_m, cable, subject, feeder, 1, cable_at, from_m, joints_ohm=joints_ohm)
        )

    def connect(self, placed: PlacedFixture) -> None:
        """Add a row of fixtures at its point of the cable, and lay what it has between that and its lamps.

        Several fixtures at one point have a lead each; alike, they act as one lamp behind leads in parallel.
        """
        if points_of(placed.line):
            placed = self._build_rail(self._build_lead(placed))
        self.fixtures.append(placed)

    def _build_lead(self, placed: PlacedFixture) -> PlacedFixture:
        """Lay splice and lead of a row, where they have resistance; the row with its lamps behind them."""
        line, pieces, point = placed.line, placed.pieces, placed.cable_point
        ohm, cable, length_m = line.splice_ohm, None, 0.0
        if line.lead:
            cable = resolve_cable(line.lead.cable, self.temperature_c)
            length_m = line.lead.length_m
            ohm += length_m * cable.ohm_per_m
        if ohm >= NO_RESISTANCE_OHM:
            point = self.point(placed.open_circuit_v, LaidPoint(None, placed.at_m, line, placed.number))
            self.spans.append(
                LaidSpan(
                    placed.cable_point,
                    point,
                    ohm / pieces,
                    length_m,
                    cable,
                    placed.subject,
                    placed.feeder,
                    pieces,
                    joints_ohm=line.splice_ohm,
                )
            )
        return placed._replace(lamp_point=point, distance_m=placed.distance_m + length_m)

    def _build_rail(self, placed: PlacedFixture) -> PlacedFixture:
        """Lay a strip beyond its start, stretch by stretch; the row with its points, others as they are."""
        line, stretches = placed.line, stretches_of(placed.line)
        rail: list[int] = []
        for _ in range(stretches):
            place = LaidPoint(None, placed.at_m, line, placed.number, along=True)
            point = self.point(placed.open_circuit_v, place)
            ohm, length_m = line.rail_ohm / stretches / placed.pieces, line.strip_m / stretches
            before = rail[-1] if rail else placed.lamp_point
            self.spans.append(
                LaidSpan(
                    before,
                    point,
                    ohm,
                    length_m,
                    None,
                    placed.subject,
                    placed.feeder,
                    placed.pieces,
                    rail=True,
                )
            )
            rail.append(point)
        return placed._replace(rail=tuple(rail)) if rail else placed

    def _referred(self, load: Load, point: int, open_circuit_v: float) -> Load:
        """A load of a tap; at the terminal, which all taps share, it is referred to the secondary. [V]"""
        secondary_v = self.open_circuit_v[TERMINAL]
        if point == TERMINAL and open_circuit_v != secondary_v:
            return load.referred(open_circuit_v / secondary_v)
        return load
