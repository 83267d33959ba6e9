"""What a caller read off the wiring, with which meter, and how well the rest is known."""

from __future__ import annotations

from typing import NamedTuple

from service.circuit.job import Job, JobPart
from service.problems.unanswered import Mistake

VOLTAGE, CURRENT, RESISTANCE = "voltage", "current", "resistance"

UNITS = {VOLTAGE: "V", CURRENT: "A", RESISTANCE: "ohm"}
"""The unit of each quantity that is read."""

NO_LOAD, ALL_ON, LISTED = "no-load", "all-on", "listed"

DISCONNECTED = "disconnected"
"""The supply off, and the run taken off its terminals."""

AVERAGING = "averaging"

WIRING = "/wiring"
"""Points at everything that can be lit."""


class MeterSpec(NamedTuple):
    """A meter by its sheet; None where a member was left out. [%], [-], [V], [A], [ohm]"""

    averaging: bool = False
    accuracy_percent: float | None = None
    counts: float | None = None
    resolution_v: float | None = None
    current_accuracy_percent: float | None = None
    current_counts: float | None = None
    resolution_a: float | None = None
    resistance_accuracy_percent: float | None = None
    resistance_counts: float | None = None
    resolution_ohm: float | None = None
    lead_ohm: float | None = None


class PriorSpec(NamedTuple):
    """How well the wiring is known, each as half the width of what is thought possible; None: not stated.

    Temperatures are the lowest and the highest. [%], [°C]
    """

    length_percent: float | None = None
    temperatures_c: tuple[float, float] | None = None
    power_percent: float | None = None
    winding_percent: float | None = None
    mains_percent: float | None = None
    resistance_percent: float | None = None


class Pointed(NamedTuple):
    """Something on the wiring by its pointer, and a number within a line; `at`: the pointer's own place."""

    pointer: str
    number: int | None
    at: str


class Terminal(NamedTuple):
    """The supply's terminals: of a tap [V], of a circuit; None: the secondary, all of it."""

    tap_v: float | None
    circuit: str | None
    at: str


class SwitchedState(NamedTuple):
    """What was on, and the mains at that moment where they were measured. [V]"""

    on: str
    lit: tuple[Pointed, ...] = ()
    mains_v: float | None = None
    lamps_out: bool = False


class StatedReading(NamedTuple):
    """One value off a meter [V], [A] or [ohm], where, and in which state; no state: nobody can say.

    `stage`: the number of that state on a commissioning sheet, from 1, where its row gives one.
    """

    subject: JobPart
    where: Pointed | Terminal
    quantity: str
    value: float
    state: SwitchedState | None
    stage: int | None = None

    @property
    def name(self) -> str:
        """What a sentence calls it: by its place in the list, or by its line of a sheet."""
        _, listed, index = self.subject.pointer.rpartition("/readings/")
        return f"reading {int(index) + 1}" if listed else f"line {self.subject.number} of the sheet"


class ReadingsJob(NamedTuple):
    """The wiring as it is thought to be, and what a meter read; `mistakes` of a sheet that was filled in."""

    circuit: Job
    instrument: MeterSpec
    priors: PriorSpec
    readings: tuple[StatedReading, ...]
    mistakes: tuple[Mistake, ...] = ()
