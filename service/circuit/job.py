"""A job as the studies see it: SI floats and names, no wire format.

Every part carries its `JobPart`, an opaque pointer into whatever the caller sent, so that answers can say
what they are about.
"""

from __future__ import annotations

from collections.abc import Sequence
from enum import Enum, auto
from typing import Final, NamedTuple, TypeVar

from service.physics.form import FORM
from service.physics.load import Load
from service.problems.catalogue import JOB_TOO_LARGE, READINGS_INVALID, TAPS_JOINED, WIRING_INVALID
from service.problems.unanswered import Mistake, UnansweredError

SUPPLY_POINT = "supply"
"""The name of the supply among the points of a graph."""


class JobPart(NamedTuple):
    """What an answer is about: a pointer into the request, the caller's id, and a number within a line."""

    pointer: str
    id: str | None = None
    number: int | None = None


class Listed(NamedTuple):
    """One conductor by its size in the tables."""

    name: str
    material: str | None
    stranding: str | None


class MeasuredResistance(NamedTuple):
    """One conductor by its measured resistance. [ohm/m], [°C]"""

    ohm_per_m: float
    at_c: float
    material: str | None


class CableSpec(NamedTuple):
    """A cable as asked for; `other` is the conductor that brings the current back, where it differs."""

    conductor: Listed | MeasuredResistance
    other: Listed | MeasuredResistance | None
    in_parallel: int


class VoltageWindow(NamedTuple):
    """Lowest and highest voltage that the maker states. [V]"""

    minimum_v: float
    maximum_v: float


class LeadSpec(NamedTuple):
    """A factory pigtail. [m]"""

    length_m: float
    cable: CableSpec


class Remark(Enum):
    """What reading a fixture or a cable left open, said twice or set aside; findings give it its words."""

    POWER_FACTOR_UNSTATED = auto()
    POWER_FACTOR_BESIDE_APPARENT_POWER = auto()
    POWER_FACTOR_ON_DIRECT_CURRENT = auto()
    APPARENT_BELOW_REAL = auto()
    FIRST_PAST_END = auto()
    SPREAD_AS_LUMPS = auto()
    STRIP_CONSTANT_POWER = auto()
    STRIP_WITHOUT_RAIL = auto()
    STRIP_AS_LUMPS = auto()
    MATERIAL_UNSTATED = auto()
    STRANDING_UNSTATED = auto()
    CONDUCTOR_DERIVED = auto()


UNNAMED = "fixture"
"""What a fixture is called that has no name, of a type that has none."""


class FixtureSpec(NamedTuple):
    """One line of fixtures alike.

    `pieces` alike: with `spacing_m` one after another, without it all at one point. `remarks` are what
    reading the load gave rise to. A strip has `rail_ohm`, its own resistance from where it is fed to its
    far end and back [ohm], and is `strip_m` long. `rated_v` is the voltage for which its label states the
    watts, where it does. [V] `called` is what one without a name is called. `together`: the load is of
    several fixtures whose number is not known.
    """

    subject: JobPart
    name: str | None
    at_m: float
    pieces: int
    spacing_m: float | None
    load: Load
    filament: bool
    window: VoltageWindow | None = None
    lead: LeadSpec | None = None
    splice_ohm: float = 0.0
    input: str = "either"
    remarks: tuple[Remark, ...] = ()
    rail_ohm: float = 0.0
    strip_m: float = 0.0
    rated_v: float | None = None
    called: str = UNNAMED
    together: bool = False

    def with_share_of_load(self, ratio: float) -> FixtureSpec:
        """The line with a share of its load. [-]"""
        return self._replace(load=self.load.scaled(ratio))


class CableChangeSpec(NamedTuple):
    """From here on another cable. [m]"""

    subject: JobPart
    at_m: float
    cable: CableSpec


class JoinedCable(NamedTuple):
    """One of the cables side by side that has joints in it: how much longer it is for them [m], their ohms.

    The resistance of joints is that of both conductors. [ohm]
    """

    more_m: float
    joints_ohm: float


class ReturnLegSpec(NamedTuple):
    """A cable from the farthest point back to the run's start [m]; `as_run`: of the run's own cable.

    `joined` are those of its cables that have joints.
    """

    subject: JobPart
    length_m: float
    cable: CableSpec
    as_run: bool = False
    joined: tuple[JoinedCable, ...] = ()


class LaidStretch(NamedTuple):
    """A stretch of route between two places of a run [m], and the cable that is laid along it. [m]

    `joined` are those of its cables, side by side, that have joints.
    """

    from_m: float
    to_m: float
    laid_m: float
    joined: tuple[JoinedCable, ...] = ()


class RunSpec(NamedTuple):
    """A run, a branch or a spur; `at_m` is where it starts on its parent (0 for a run).

    `laid` says how much cable lies on its route where that is not the route itself, in order and without
    gaps from its start on.
    """

    subject: JobPart
    name: str | None
    at_m: float
    cable: CableSpec
    changes: tuple[CableChangeSpec, ...]
    tail_m: float
    return_leg: ReturnLegSpec | None
    fixtures: tuple[FixtureSpec, ...]
    branches: tuple[RunSpec, ...]
    tap_v: float | None = None
    circuit: str | None = None
    laid: tuple[LaidStretch, ...] = ()

    def with_share_of_load(self, ratio: float) -> RunSpec:
        """The run and all that branches from it with a share of their loads. [-]"""
        fixtures = tuple(line.with_share_of_load(ratio) for line in self.fixtures)
        branches = tuple(branch.with_share_of_load(ratio) for branch in self.branches)
        return self._replace(fixtures=fixtures, branches=branches)


class SpanSpec(NamedTuple):
    """One span [m] of a graph, between two named points; one at the supply names tap [V] and circuit.

    `joined` are those of its cables, side by side, that have joints.
    """

    subject: JobPart
    start: str
    end: str
    length_m: float
    cable: CableSpec
    tap_v: float | None
    circuit: str | None
    joined: tuple[JoinedCable, ...] = ()


class PointFixtureSpec(NamedTuple):
    """A fixture line and the named point where it stands."""

    line: FixtureSpec
    point: str


class Graph(NamedTuple):
    """Wiring as spans between named points, loops and parallel spans welcome."""

    spans: tuple[SpanSpec, ...]
    fixtures: tuple[PointFixtureSpec, ...]


class Feeder(NamedTuple):
    """What leaves the supply: a run, or a span of a graph; tap [V] and circuit where it names them."""

    subject: JobPart
    tap_v: float | None
    circuit: str | None


class MeasuredOpenCircuit(NamedTuple):
    """A measured no-load voltage, and the mains at that moment if it was measured too. [V]"""

    voltage_v: float
    at_primary_v: float | None


USUAL_RATED_V = (120.0, 230.0)
"""Rated mains that are taken where mains are given in volts but no rated primary is stated. [V]"""

BETWEEN_V = 180.0
"""Mains up to here are taken for 120 V mains. [V]"""


def usual_rated_v(mains_v: float) -> float:
    """Rated mains to which mains of so many volts are likely to belong. [V]"""
    return USUAL_RATED_V[mains_v > BETWEEN_V]


class Mains(NamedTuple):
    """Rated and actual primary voltage. [V]"""

    rated_v: float
    actual_v: float


class WindingPlate(NamedTuple):
    """Rating [VA] and regulation referred to full load [-]."""

    rating_va: float
    regulation_ratio: float


class CircuitSpec(NamedTuple):
    """A circuit by name, with the limit of its device where that is known. [A]

    `listed_system`: cable and fixtures behind the device are listed together with it.
    """

    subject: JobPart
    name: str
    limit_a: float | None
    listed_system: bool = False


class Supply(NamedTuple):
    """What feeds the wiring; `kind` is transformer, dc-supply or battery.

    `standing_v` is where a battery stands, if not at its rated voltage. [V]
    """

    subject: JobPart
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
    """The states that a job must stand, beside the stated one.

    Parameters
    ----------
    mains_ratios : tuple of float or None
        Lowest and highest mains over their rated voltage; None where they stay as they are. [-]
    temperatures_c : tuple of float or None
        Coldest and hottest conductors; None where they stay as they are. [°C]
    switching : str
        together, by-run or individually: what may be on without the rest.
    battery : bool
        Whether a battery feeds the job: it stands between its lowest and its highest voltage.
    """

    mains_ratios: tuple[float, float] | None
    temperatures_c: tuple[float, float] | None
    switching: str
    battery: bool = False


class Job(NamedTuple):
    """Everything that one state needs.

    `temperature_c` and `nominal_v` are None where the caller left them open. `layout_unknown`: the wiring is
    one run with its whole load at the far end, because it is not stated where along it the fixtures are.
    `wet_contact`: whether wet contact is likely; None where the caller left that open. `usual_range`: some
    corners are those that are usual, because the caller stated none; `stated_corners` are those without them.
    """

    subject: JobPart
    supply: Supply
    wiring: tuple[RunSpec, ...] | Graph
    nominal_v: float | None
    temperature_c: float | None
    all_in_phase: bool
    maximum_drop_ratio: float | None
    margin: bool
    corners: Corners | None = None
    layout_unknown: bool = False
    wet_contact: bool | None = None
    usual_range: bool = False
    stated_corners: Corners | None = None

    def with_share_of_load(self, ratio: float) -> Job:
        """The job with every load at a share of what it is. [-]"""
        wiring = self.wiring
        if isinstance(wiring, Graph):
            fixtures = [each._replace(line=each.line.with_share_of_load(ratio)) for each in wiring.fixtures]
            return self._replace(wiring=wiring._replace(fixtures=tuple(fixtures)))
        return self._replace(wiring=tuple(run.with_share_of_load(ratio) for run in wiring))

    def as_stated(self) -> Job:
        """The job in the corners that the caller stated, without those that are only usual."""
        return self._replace(corners=self.stated_corners, usual_range=False) if self.usual_range else self

    def feeders(self) -> tuple[Feeder, ...]:
        """What leaves the supply, in the order of the request."""
        if isinstance(self.wiring, Graph):
            leaving = [span for span in self.wiring.spans if SUPPLY_POINT in {span.start, span.end}]
            return tuple(Feeder(span.subject, span.tap_v, span.circuit) for span in leaving)
        return tuple(Feeder(run.subject, run.tap_v, run.circuit) for run in self.wiring)

    def with_feeders(self, feeders: Sequence[Feeder]) -> Job:
        """The job with these taps and circuits, one for each that leaves the supply, in the same order."""
        if isinstance(self.wiring, Graph):
            each = iter(feeders)
            spans = tuple(
                _fed(span, next(each)) if SUPPLY_POINT in {span.start, span.end} else span
                for span in self.wiring.spans
            )
            return self._replace(wiring=self.wiring._replace(spans=spans))
        runs = zip(self.wiring, feeders, strict=True)
        return self._replace(wiring=tuple(_fed(run, feeder) for run, feeder in runs))


Fed = TypeVar("Fed", RunSpec, SpanSpec)


def _fed(part: Fed, feeder: Feeder) -> Fed:
    """A run or a span on the tap and the circuit of a feeder."""
    return part._replace(tap_v=feeder.tap_v, circuit=feeder.circuit)


MAXIMUM_POINTS, MAXIMUM_LOOPS = (10_000, 1_000) if FORM == "compiled" else (2_000, 100)
"""Of one request; the schema allows what the compiled solver is given."""


class JobTooLargeError(UnansweredError):
    """More points or loops than one request may ask for; `pointer` is to what asks for them."""

    def __init__(self, what: str, count: int, limit: int, pointer: str = "/wiring") -> None:
        super().__init__(JOB_TOO_LARGE, f"{count} {what}, at most {limit}", [Mistake("too-many", pointer)])
        self.what = what
        self.count = count
        self.limit = limit


def refuse_too_large(*, points: int, loops: int) -> None:
    """Refuse a job with more points or loops than one request may have.

    Raises
    ------
    JobTooLargeError
    """
    if points > MAXIMUM_POINTS:
        raise JobTooLargeError("points", points, MAXIMUM_POINTS)
    if loops > MAXIMUM_LOOPS:
        raise JobTooLargeError("loops", loops, MAXIMUM_LOOPS)


class WiringContradictoryError(UnansweredError):
    """A graph that cannot be wired as it is described, with every mistake in it."""

    def __init__(self, mistakes: list[Mistake]) -> None:
        joined = all(each.code == "taps-joined" for each in mistakes)
        kind = TAPS_JOINED if joined else WIRING_INVALID
        super().__init__(kind, f"{len(mistakes)} mistakes in the wiring", mistakes)


class ReadingsContradictoryError(UnansweredError):
    """Readings that point at nothing which could be read, with every mistake in them."""

    def __init__(self, mistakes: list[Mistake]) -> None:
        super().__init__(READINGS_INVALID, f"{len(mistakes)} mistakes in the readings", mistakes)


CALCULATION_VERSION: Final = "1"
"""Changes whenever the same request may get another number."""


SOLVER_FORM: Final = FORM
"""How the solver runs here: ``compiled`` or ``plain``, with the same numbers."""
