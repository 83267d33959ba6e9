"""What a study answers, in SI floats."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from service.studies.envelope import Envelope
    from service.studies.finding import Finding
    from service.studies.job import Subject
    from service.studies.layout import LaidSpan, Layout, PlacedFixture


class FixtureState(NamedTuple):
    """One fixture row under load. [V], [A] and [W] of one fixture; the ratio is of the rated tap voltage.

    A strip has a voltage at its start and one at its far end; `voltage_v` is the one that is judged, and
    drops are those of the start.
    """

    placed: PlacedFixture
    subject: Subject
    voltage_v: float
    splice_v: float
    cable_drop_v: float
    total_drop_v: float
    drop_ratio: float
    current_a: float
    real_w: float
    verdict: str
    drop_over: bool
    start_v: float
    far_v: float


class SpanState(NamedTuple):
    """One span under load; positive from its start to its end. [A], [V], [W]"""

    laid: LaidSpan
    current_a: float
    drop_v: float
    loss_w: float


class RunState(NamedTuple):
    """One run that leaves the supply, branches included; `lowest` is its lowest fixture. [A], [V], [W]"""

    subject: Subject
    current_a: float
    lowest_v: float
    lowest: FixtureState | None
    end_v: float
    cable_loss_w: float


class TapState(NamedTuple):
    """One tap in use. [V], [A]"""

    rated_v: float
    open_circuit_v: float
    terminal_v: float
    current_a: float


class CircuitState(NamedTuple):
    """One circuit. [A]"""

    name: str
    current_a: float
    limit_a: float


class SupplyState(NamedTuple):
    """The supply at its terminals. [V], [A], [W], [VA]; loading is None where no rating is known."""

    open_circuit_v: float
    terminal_v: float
    current_a: float
    real_w: float
    apparent_va: float
    loading_ratio: float | None
    below_minimum: bool
    taps: tuple[TapState, ...]
    circuits: tuple[CircuitState, ...]


class Margin(NamedTuple):
    """By what common factor the loads could grow. [-]"""

    at_least: float | None = None
    exact: float | None = None
    first_out: tuple[float, Subject] | None = None
    absent_because: str | None = None


class Proof(NamedTuple):
    """Why the answer may be believed. [A]"""

    iterations: int
    residual_a: float
    method: str


class EndState(NamedTuple):
    """The far end of a run. [V], [-], [A], [W]; `error_v` is what lumps may be wrong by. [V]"""

    end_v: float
    verdict: str
    terminal_v: float
    drop_ratio: float
    current_a: float
    cable_loss_w: float
    error_v: float | None = None


class Bracket(NamedTuple):
    """The end of a run whose layout is unknown, in its two bounds; None where one cannot be carried."""

    lumped: EndState | None
    evenly_spread: EndState | None


class Answer(NamedTuple):
    """A solved state; `proof` is None where there is no operating point, and the rows are empty then."""

    layout: Layout
    proof: Proof | None
    supply: SupplyState | None
    fixtures: list[FixtureState]
    spans: list[SpanState]
    runs: list[RunState]
    fixture_w: float
    cable_loss_w: float
    winding_loss_w: float
    margin: Margin
    findings: list[Finding]
    assumptions: list[str]
    sources: list[str]
    envelope: Envelope | None = None
    bracket: Bracket | None = None
