"""One fixture, line by line, for an electrician with a pencil: from the open circuit to the lamp."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from service.sheets.figures import NOTHING, given, plain, quantity
from service.sheets.sheet import Column, Paragraph, Section, Table, numbers
from service.studies.voltage_drop.network import DrawnNetwork, Leg, spare_ratio
from service.studies.voltage_drop.reply import FixtureRow, Solved, SpanRow
from service.units import inside
from service.wire.job import JobRequest
from service.wire.reply import TapState
from service.wire.supply import Supply, Transformer

PER = 1000.0
"""Resistances per length are told for so many metres or feet."""


_LOOP = (
    "Some of these spans lie on a loop. How the current divides there follows from solving, and not from"
    " adding up lamps; the volts still add up along either way round."
)


_WHY = (
    "Of all fixtures {name} has least to spare above the lowest voltage that it should get, {low} V. Each"
    " line: ohms of both conductors times amperes are the volts lost."
)


_SHIFTED = (
    " Real amperes (watts passing ÷ volts left) cause the drop. Reactive amperes, √(A² − A real²), add a"
    " little: (ohms × A reactive)² / (2 × volts before)."
)


def calculation_section(request: JobRequest, reply: Solved, network: DrawnNetwork) -> Section:
    """The fixture with least to spare above its window, followed from the supply."""
    if not reply.fixtures:
        return Section("One fixture by hand", [])
    place = min(range(len(reply.fixtures)), key=lambda each: spare_ratio(reply.fixtures[each]))
    row, lamp = reply.fixtures[place], network.lamps[place]
    title = f"One fixture by hand: {row.name}"
    tap = _tap_of(row, reply)
    lines = _Steps(request, reply, network).lines(tap, network.way(lamp))
    shifted = any(line.shifted for line in lines)
    why = _WHY.format(name=row.name, low=plain(row.window.minimum.value)) + (_SHIFTED if shifted else "")
    notes = _notes(lines, row, several_taps=len(reply.supply.taps) > 1)
    return Section(title, [Paragraph(why), _table(lines, tap, row, shifted=shifted), *notes])


class _Steps:
    """Reads the lines of one calculation off a reply."""

    def __init__(self, request: JobRequest, reply: Solved, network: DrawnNetwork) -> None:
        conditions = given(request.conditions)
        self._all_in_phase = conditions is not None and conditions.non_active_current == "in-phase"
        self._supply, self._reply, self._network = request.supply, reply, network
        self._passing_w = passing_w(network, reply.fixtures)
        self._on_loops = network.on_loops()

    def lines(self, tap: TapState, way: list[Leg]) -> list[HandStep]:
        """What the supply itself loses, and each span on the way."""
        lines = [self._source(tap)]
        for leg in way:
            lines.append(self._span(leg, lines[-1].left_v))
        return lines

    def _source(self, tap: TapState) -> HandStep:
        alone = len(self._reply.supply.taps) == 1
        terminal_v, current_a = tap.terminal.value, tap.current.value
        return HandStep(
            name="winding" if isinstance(self._supply, Transformer) else "inside the supply",
            length=NOTHING,
            per_length=NOTHING,
            ohm=inner_ohm(self._supply) if alone else None,
            current_a=current_a,
            passing_w=self._watts(self._reply.supply.real_power.value, current_a, terminal_v)
            if alone
            else None,
            drop_v=tap.open_circuit.value - terminal_v,
            left_v=terminal_v,
        )

    def _span(self, leg: Leg, before_v: float) -> HandStep:
        row, length = leg.row, leg.row.length.value
        forward = self._forward(leg)
        end = leg.end if forward else leg.start
        told = leg.cable and length > 0.0
        drop_v = row.drop.value if forward else -row.drop.value
        current_a, left_v = abs(row.current.value), before_v - drop_v
        on_loop = end in self._on_loops
        return HandStep(
            name=_name(row, forward=forward),
            length=plain(length),
            per_length=f"{row.resistance.value / (2.0 * length) * PER:.4f}" if told else NOTHING,
            ohm=row.resistance.value,
            current_a=current_a,
            passing_w=None if on_loop else self._watts(self._passing_w[end], current_a, left_v),
            drop_v=drop_v,
            left_v=left_v,
        )

    def _watts(self, known_w: float, current_a: float, left_v: float) -> float:
        """Watts that pass; where every volt-ampere is to count as a watt, volts times amperes."""
        return current_a * left_v if self._all_in_phase else known_w

    def _forward(self, leg: Leg) -> bool:
        index = self._network.into[leg.end]
        return index is not None and self._network.legs[index] is leg


def _notes(lines: list[HandStep], row: FixtureRow, *, several_taps: bool) -> list[Paragraph]:
    """How exact the lines are, and what they leave out."""
    wrong_v = [abs(line.by_hand_v - line.drop_v) for line in lines if line.by_hand_v is not None]
    told = []
    if wrong_v:
        told.append(f"By hand, each line is within {max(wrong_v):.5f} V of what was solved.")
    if any(line.passing_w is None for line in lines[1:]):
        told.append(_LOOP)
    if (far := given(row.far_voltage)) is not None:
        told.append(f"Along itself the strip goes down to {quantity(far)}; the current falls along it.")
    if several_taps:
        told.append("Several taps share the winding and sag by the same share of their open circuit.")
    return [Paragraph(" ".join(told))] if told else []


def _name(row: SpanRow, *, forward: bool) -> str:
    conductor = given(row.conductor)
    first, last = (row.start, row.end) if forward else (row.end, row.start)
    return f"{first} → {last}" + ("" if conductor is None else f", {conductor}")


def inner_ohm(supply: Supply) -> float | None:
    """The resistance of the supply itself, as its plate gives it; None without one. [ohm]"""
    if isinstance(supply, Transformer):
        winding = given(supply.winding)
        if winding is None:
            return None
        rated_v = inside(supply.secondary.value, supply.secondary.unit)
        rating_va = inside(winding.rating.value, winding.rating.unit)
        return winding.regulation_percent / 100.0 * rated_v * rated_v / rating_va
    inner = given(supply.internal_resistance)
    return None if inner is None else inside(inner.value, inner.unit)


def _tap_of(row: FixtureRow, reply: Solved) -> TapState:
    """The tap whose terminal is where the drop of a fixture counts from."""
    terminal_v = row.voltage.value + row.cable_drop.value
    return min(reply.supply.taps, key=lambda tap: abs(tap.terminal.value - terminal_v))


def _table(lines: list[HandStep], tap: TapState, row: FixtureRow, *, shifted: bool) -> Table:
    """The lines with all digits of the answer: with fewer, they would not add up to what was solved."""
    unit = row.at.unit
    currents = ["A", "W passing", "A real"] if shifted else ["A"]
    heads = [f"{unit}, one way", f"ohm/k{unit}, one conductor", "ohm, both", *currents, "V lost", "V left"]
    columns = [Column("From → to"), *numbers(*heads)]
    blank = [NOTHING] * (len(columns) - 2)
    rows = [["open circuit", *blank, f"{tap.open_circuit.value:.4f}"]]
    for line in lines:
        ohm = NOTHING if line.ohm is None else f"{line.ohm:.6f}"
        lost = [f"{line.drop_v + 0.0:.4f}", f"{line.left_v:.4f}"]
        rows.append([line.name, line.length, line.per_length, ohm, *_amperes(line, shifted=shifted), *lost])
    rows.append([f"at {row.name}, as solved", *blank, f"{row.voltage.value:.4f}"])
    return Table(columns, rows, frozenset([len(rows) - 1]))


def _amperes(line: HandStep, *, shifted: bool) -> list[str]:
    whole = f"{line.current_a:.5f}"
    if not shifted:
        return [whole]
    if line.passing_w is None or line.active_a is None:
        return [whole, NOTHING, NOTHING]
    return [whole, f"{line.passing_w:.3f}", f"{line.active_a:.5f}"]


def passing_w(network: DrawnNetwork, fixtures: Sequence[FixtureRow]) -> list[float]:
    """What passes each point outwards: the lamps there and behind it, and the heat of cable behind it. [W]

    It is told for every point but means nothing where a span of a loop leads into it: there the watts arrive
    on two ways.
    """
    passing = [0.0] * len(network.names)
    for row, lamp in zip(fixtures, network.lamps, strict=True):
        passing[lamp] += (given(row.count) or 1) * row.real_power.value
    for leg in network.closing:
        passing[leg.end] += leg.row.loss.value
    for point in reversed(network.order()):
        index = network.into[point]
        if index is not None:
            leg = network.legs[index]
            passing[leg.start if leg.end == point else leg.end] += passing[point] + leg.row.loss.value
    return passing


class HandStep(NamedTuple):
    """One line: what is passed, and what is lost there. [ohm], [A], [W], [V]

    `ohm` is of both conductors, None where unknown; `passing_w` leaves it at its far end, None on a loop.
    """

    name: str
    length: str
    per_length: str
    ohm: float | None
    current_a: float
    passing_w: float | None
    drop_v: float
    left_v: float

    @property
    def active_a(self) -> float | None:
        """The current in phase with the watts. [A]"""
        known = self.passing_w is not None and self.left_v > 0.0
        return (
            min(self.current_a, self.passing_w / self.left_v)
            if known and self.passing_w is not None
            else None
        )

    @property
    def shifted(self) -> bool:
        """Whether more flows than does the work, by more than sums of rounded figures may be wrong."""
        return self.active_a is not None and self.current_a - self.active_a > 2e-4 * self.current_a + 1e-4

    @property
    def by_hand_v(self) -> float | None:
        """The volts lost, from the printed ohms and amperes. [V]"""
        if self.ohm is None or self.active_a is None:
            return None
        if not self.shifted:
            return self.ohm * self.current_a
        before_v = self.left_v + self.drop_v
        return self.ohm * self.active_a + rest_v(self.ohm, self.current_a, self.active_a, before_v)


def rest_v(ohm: float, current_a: float, active_a: float, before_v: float) -> float:
    """What the current out of phase adds to the volts lost, because it turns the voltage. [V]

    The voltage before is the hypotenuse over the voltage left with the drop in phase, and the drop out of
    phase; to first order that is the square of the latter over twice the voltage before.
    """
    across_squared = ohm * ohm * max(0.0, current_a * current_a - active_a * active_a)
    return across_squared / (2.0 * before_v) if before_v > 0.0 else 0.0
