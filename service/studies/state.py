"""One solved state of a job, read off in volts, amperes and watts."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import TYPE_CHECKING

from service.physics.network import TERMINAL, magnitude
from service.studies.connected import Connected
from service.studies.layout import hung
from service.studies.outcome import (
    CircuitState,
    FixtureState,
    RunState,
    SpanState,
    SupplyState,
    TapState,
)
from service.studies.work import READ_OFF, count

if TYPE_CHECKING:
    from service.physics.network import Network
    from service.physics.solve import OperatingPoint
    from service.studies.layout import PlacedFixture


@dataclass(slots=True)
class SolvedState(Connected):
    """A connected job and the operating point that solves it."""

    network: Network
    point: OperatingPoint

    @property
    def terminal(self) -> complex:
        """Voltage at the terminal. [per-unit]"""
        return complex(1.0 - self.point.drop[0], self.point.quadrature[0])

    def voltages(self) -> list[float]:
        """Magnitude of the voltage at each point; that of the terminal depends on the tap. [V]"""
        return [
            volts * magnitude(drop, across)
            for volts, drop, across in zip(
                self.layout.open_circuit_v, self.point.drop, self.point.quadrature, strict=True
            )
        ]

    def spans(self, voltage_v: list[float]) -> list[SpanState]:
        """Every span under load; `voltage_v` is that of each point. [V]"""
        drop, across = self.point.drop, self.point.quadrature
        level = abs(self.terminal)
        rows = []
        for laid in self.layout.spans:
            start, end, ohm = laid.start, laid.end, laid.resistance_ohm
            tap_v = self.layout.open_circuit_v[end or start]
            fall, turn = drop[end] - drop[start], across[end] - across[start]
            current_a = tap_v * (sqrt(fall * fall + turn * turn) if turn else abs(fall)) / ohm
            start_v = voltage_v[start] if start else level * tap_v
            end_v = voltage_v[end] if end else level * tap_v
            signed_a = current_a if fall >= 0.0 else -current_a
            loss_w = current_a * current_a * ohm
            rows.append(SpanState(laid, signed_a, start_v - end_v, loss_w))
        return rows

    def fixtures(self, voltage_v: list[float]) -> list[FixtureState]:
        """Every fixture row under load; `voltage_v` is that of each point. [V]"""
        level, limit_ratio = abs(self.terminal), self.job.maximum_drop_ratio
        count(READ_OFF * len(self.layout.fixtures))
        rows = []
        for placed in self.layout.fixtures:
            line, tap = placed.line, self.feed.tap_of[placed.feeder]
            open_circuit_v = self.feed.open_circuit_v[tap]
            terminal_v = open_circuit_v * level
            lamp_v = voltage_v[placed.lamp_point] if placed.lamp_point else terminal_v
            far_v = voltage_v[placed.far_point] if placed.rail else lamp_v
            bounds = self.bounds(line)
            judged_v = lamp_v if lamp_v > bounds.high_v and far_v >= bounds.low_v else far_v
            drop_ratio = (terminal_v - lamp_v) / self.feed.taps_v[tap]
            rows.append(
                FixtureState(
                    placed=placed,
                    subject=placed.subject,
                    voltage_v=judged_v,
                    splice_v=voltage_v[placed.cable_point] if placed.cable_point else terminal_v,
                    cable_drop_v=terminal_v - lamp_v,
                    total_drop_v=open_circuit_v - lamp_v,
                    drop_ratio=drop_ratio,
                    current_a=self._strip_current(placed) if placed.rail else line.load.rms_current(lamp_v),
                    real_w=line.load.real_power(lamp_v),
                    verdict=bounds.verdict(judged_v),
                    drop_over=limit_ratio is not None and drop_ratio > limit_ratio,
                    start_v=lamp_v,
                    far_v=far_v,
                )
            )
        return rows

    def _strip_current(self, placed: PlacedFixture) -> float:
        """Current into one strip: what all of its lumps draw. [A]"""
        lumps = hung(placed, all_in_phase=self.job.all_in_phase)
        phasors = [
            load.phasor(complex(1.0 - self.point.drop[at], self.point.quadrature[at]) * placed.open_circuit_v)
            for at, load in lumps
        ]
        return abs(sum(phasors)) / placed.pieces

    def feeder_currents(self) -> list[complex]:
        """Current that each feeder takes, in phase and in quadrature. [A], one per feeder"""
        drop, across = self.point.drop, self.point.quadrature
        taken = [0j] * len(self.feed.tap_of)
        for laid in self.layout.spans:
            if TERMINAL in {laid.start, laid.end}:
                far = laid.end or laid.start
                flow = complex(drop[far] - drop[TERMINAL], across[TERMINAL] - across[far])
                taken[laid.feeder] += flow * self.layout.open_circuit_v[far] / laid.resistance_ohm
        for placed in self.layout.fixtures:
            if placed.lamp_point == TERMINAL:
                _, load = hung(placed, all_in_phase=self.job.all_in_phase)[0]
                taken[placed.feeder] += load.phasor(self.terminal * self.tap_open_circuit_v(placed.feeder))
        return taken

    def supply(self, taken: list[complex], *, delivered_w: float) -> SupplyState:
        """The supply at its terminals.

        Parameters
        ----------
        taken : list of complex
            [A], one per feeder
        delivered_w : float
            What fixtures and cable turn into light and heat. [W]
        """
        feed, level, minimum_w = self.feed, abs(self.terminal), self.job.supply.minimum_load_w
        by_tap, by_circuit = [0j] * len(feed.taps_v), [0j] * len(feed.circuits)
        for feeder, current in enumerate(taken):
            by_tap[feed.tap_of[feeder]] += current
            by_circuit[feed.circuit_of[feeder]] += current
        drawn_w = sum(volts * current for volts, current in zip(feed.open_circuit_v, by_tap, strict=True))
        apparent_va = level * abs(drawn_w)
        taps = zip(feed.taps_v, feed.open_circuit_v, by_tap, strict=True)
        circuits = zip(feed.circuits, by_circuit, strict=True)
        return SupplyState(
            open_circuit_v=feed.open_circuit_v[0],
            terminal_v=feed.open_circuit_v[0] * level,
            current_a=abs(sum(by_tap)),
            real_w=delivered_w,
            apparent_va=apparent_va,
            loading_ratio=self._loading(apparent_va),
            below_minimum=minimum_w is not None and delivered_w < minimum_w,
            taps=tuple(TapState(rated, volts, volts * level, abs(amps)) for rated, volts, amps in taps),
            circuits=tuple(CircuitState(fed.name, abs(amps), fed.limit_a) for fed, amps in circuits),
        )

    def _loading(self, apparent_va: float) -> float | None:
        """Share of the rating that is drawn, where the rating is known. [-]"""
        supply = self.job.supply
        if supply.winding is not None:
            return apparent_va / supply.winding.rating_va
        return apparent_va / supply.rating_w if supply.rating_w else None

    def winding_loss_w(self) -> float:
        """Heat in the winding or in the internal resistance. [W]"""
        resistance = self.network.source_resistance
        if not resistance:
            return 0.0
        fall, turn = self.point.drop[TERMINAL], self.point.quadrature[TERMINAL]
        return (fall * fall + turn * turn) / resistance


def run_states(
    state: SolvedState,
    voltage_v: list[float],
    fixtures: list[FixtureState],
    spans: list[SpanState],
    taken: list[complex],
) -> list[RunState]:
    """One row per run that leaves the supply; its lowest voltage is that of its lowest fixture or its end."""
    leaders = state.layout.leaders
    lowest: dict[int, FixtureState] = {}
    loss_w, current = [0.0] * len(taken), [0j] * len(taken)
    for row in fixtures:
        leader = leaders[row.placed.feeder]
        if leader not in lowest or row.far_v < lowest[leader].far_v:
            lowest[leader] = row
    for span in spans:
        loss_w[leaders[span.laid.feeder]] += span.loss_w
    for feeder, amps in enumerate(taken):
        current[leaders[feeder]] += amps
    rows = []
    for end in state.layout.run_ends():
        feeder = end.feeder
        end_v = voltage_v[end.point] if end.point else abs(state.terminal) * state.tap_open_circuit_v(feeder)
        low = lowest.get(feeder)
        lowest_v = end_v if low is None else low.far_v
        rows.append(RunState(end.subject, abs(current[feeder]), lowest_v, low, end_v, loss_w[feeder]))
    return rows
