"""A job as the studies see it: SI floats and names, no wire format.

Every part carries its `Subject`, an opaque pointer into whatever the caller sent, so that answers can say
what they are about.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from service.physics.load import Load


SUPPLY_POINT = "supply"
"""The name of the supply among the points of a graph."""


class Subject(NamedTuple):
    """What an answer is about: a pointer into the request, the caller's id, and a number within a line."""

    pointer: str
    id: str | None = None
    number: int | None = None


class Listed(NamedTuple):
    """One conductor by its size in the tables."""

    name: str
    material: str | None
    stranding: str | None


class Measured(NamedTuple):
    """One conductor by its measured resistance. [ohm/m], [°C]"""

    ohm_per_m: float
    at_c: float
    material: str | None


class CableSpec(NamedTuple):
    """A cable as asked for; `other` is the conductor that brings the current back, where it differs."""

    conductor: Listed | Measured
    other: Listed | Measured | None
    in_parallel: int


class Window(NamedTuple):
    """Lowest and highest voltage that the maker states. [V]"""

    minimum_v: float
    maximum_v: float


class Lead(NamedTuple):
    """A factory pigtail. [m]"""

    length_m: float
    cable: CableSpec


class FixtureLine(NamedTuple):
    """One line of fixtures alike.

    `pieces` alike: with `spacing_m` one after another, without it all at one point. `remarks` are codes of
    findings and assumptions that reading the load gave rise to. A strip has `rail_ohm`, its own resistance
    from where it is fed to its far end and back [ohm], and is `strip_m` long. `rated_v` is the voltage for
    which its label states the watts, where it does. [V]
    """

    subject: Subject
    name: str | None
    at_m: float
    pieces: int
    spacing_m: float | None
    load: Load
    filament: bool
    window: Window | None
    lead: Lead | None
    splice_ohm: float
    input: str
    remarks: tuple[str, ...]
    rail_ohm: float = 0.0
    strip_m: float = 0.0
    rated_v: float | None = None


class CableChange(NamedTuple):
    """From here on another cable. [m]"""

    subject: Subject
    at_m: float
    cable: CableSpec


class ReturnLeg(NamedTuple):
    """A cable from the farthest point back to the run's start [m]; `as_run`: of the run's own cable."""

    subject: Subject
    length_m: float
    cable: CableSpec
    as_run: bool = False


class Run(NamedTuple):
    """A run, a branch or a spur; `at_m` is where it starts on its parent (0 for a run)."""

    subject: Subject
    name: str | None
    at_m: float
    cable: CableSpec
    changes: tuple[CableChange, ...]
    tail_m: float
    return_leg: ReturnLeg | None
    fixtures: tuple[FixtureLine, ...]
    branches: tuple[Run, ...]
    tap_v: float | None = None
    circuit: str | None = None


class GraphSpan(NamedTuple):
    """One span [m] of a graph, between two named points; one at the supply names tap [V] and circuit."""

    subject: Subject
    start: str
    end: str
    length_m: float
    cable: CableSpec
    tap_v: float | None
    circuit: str | None


class GraphFixture(NamedTuple):
    """A fixture line and the named point where it stands."""

    line: FixtureLine
    point: str


class Graph(NamedTuple):
    """Wiring as spans between named points, loops and parallel spans welcome."""

    spans: tuple[GraphSpan, ...]
    fixtures: tuple[GraphFixture, ...]


class Feeder(NamedTuple):
    """What leaves the supply: a run, or a span of a graph; tap [V] and circuit where it names them."""

    subject: Subject
    tap_v: float | None
    circuit: str | None


class MeasuredOpenCircuit(NamedTuple):
    """A measured no-load voltage, and the mains at that moment if it was measured too. [V]"""

    voltage_v: float
    at_primary_v: float | None


class Mains(NamedTuple):
    """Rated and actual primary voltage. [V]"""

    rated_v: float
    actual_v: float


class WindingPlate(NamedTuple):
    """Rating [VA] and regulation referred to full load [-]."""

    rating_va: float
    regulation_ratio: float


class CircuitSpec(NamedTuple):
    """A circuit by name, with the limit of its device where the caller said it. [A]"""

    subject: Subject
    name: str
    limit_a: float | None


class Supply(NamedTuple):
    """What feeds the wiring; `kind` is transformer, dc-supply or battery.

    `standing_v` is where a battery stands, if not at its rated voltage. [V]
    """

    subject: Subject
    kind: str
    rated_v: float
    winding: WindingPlate | None = None
    open_circuit: MeasuredOpenCircuit | None = None
    mains: Mains | None = None
    taps_v: tuple[float, ...] = ()
    circuits: tuple[CircuitSpec, ...] = ()
    internal_ohm: float | None = None
    rating_w: float | None = None
    minimum_load_w: float | None = None
    maximum_cable_m: float | None = None
    class_2: bool = False
    range_v: tuple[float, float] | None = None
    standing_v: float | None = None

    @property
    def direct_current(self) -> bool:
        """Whether the supply gives direct current."""
        return self.kind != "transformer"


class Corners(NamedTuple):
    """The states that a job must stand, beside the one that was said.

    Parameters
    ----------
    mains_ratios : tuple of float or None
        Lowest and highest mains over their rated voltage; None where they stay as they are. [-]
    temperatures_c : tuple of float or None
        Coldest and hottest conductors; None where they stay as they are. [°C]
    switching : str
        together, by-run or individually: what may be on without the rest.
    """

    mains_ratios: tuple[float, float] | None
    temperatures_c: tuple[float, float] | None
    switching: str


class Job(NamedTuple):
    """Everything that one state needs.

    `temperature_c` and `nominal_v` are None where the caller left them open. `layout_unknown`: the wiring is
    one run with its whole load at the far end, because nobody said where along it the fixtures are.
    """

    subject: Subject
    supply: Supply
    wiring: tuple[Run, ...] | Graph
    nominal_v: float | None
    temperature_c: float | None
    all_in_phase: bool
    maximum_drop_ratio: float | None
    margin: bool
    corners: Corners | None = None
    layout_unknown: bool = False

    def feeders(self) -> tuple[Feeder, ...]:
        """What leaves the supply, in the order of the request."""
        if isinstance(self.wiring, Graph):
            leaving = [span for span in self.wiring.spans if SUPPLY_POINT in {span.start, span.end}]
            return tuple(Feeder(span.subject, span.tap_v, span.circuit) for span in leaving)
        return tuple(Feeder(run.subject, run.tap_v, run.circuit) for run in self.wiring)
