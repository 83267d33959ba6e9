"""A garden walk as an installer meets it, its volts by another solver: power-grid-model (MPL-2.0).

Ohms are those of NEC chapter 9 table 8 for stranded, uncoated copper at 75 °C, taken to 20 °C by the
0.00323 a kelvin that stands under the table.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import NamedTuple

from service.physics.load import Load
from service.physics.network import Span
from tests.jobs import Json, awg, feet, job, transformer, volts, watts, winding
from tests.physics.networks import Circuit
from tests.physics.power_grid import arrays_of, flow
from tests.studies.readings_check.jobs import RUN, amps_at, fixture, volts_at

OHM_PER_KFT = {10: 1.24, 12: 1.98, 14: 3.14, 16: 4.99, 18: 7.95}
AT_FT = (25.0, 50.0, 75.0, 100.0)
STEP_W = (10.0, 10.0, 10.0, 10.0)
OPEN_V, WINDING_OHM = 12.6, 0.05 * 12.0**2 / 150.0


def pair_ohm(gauge: int, length_ft: float) -> float:
    """Both conductors of a stretch at 20 °C. [ohm]"""
    return 2.0 * length_ft / 1000.0 * OHM_PER_KFT[gauge] * (1.0 - 0.00323 * 55.0)


def described(powers: Sequence[float] = STEP_W, gauge: int = 12, supply: Json | None = None) -> Json:
    """Four steps at 25, 50, 75 and 100 ft behind 150 VA that were measured at 12.6 V without load."""
    steps = [
        {"at": feet(at), "load": watts(power), "name": f"step {index + 1}"}
        for index, (at, power) in enumerate(zip(AT_FT, powers, strict=True))
    ]
    measured = transformer(open_circuit={"voltage": volts(OPEN_V)}, winding=winding(150, 5))
    return job({"name": "walk", "cable": awg(gauge), "fixtures": steps}, supply=supply or measured)


class Walked(NamedTuple):
    """What a meter would show: volts of the terminals and the four steps, and the supply's amperes."""

    volts: list[float]
    amperes: float

    def readings(self, state: str | Json = "all-on") -> list[Json]:
        """Everything read in one state, to the hundredths that a meter shows."""
        return [
            volts_at(None, round(self.volts[0], 2), state),
            *(self.at(step, state) for step in range(1, len(self.volts))),
            amps_at(RUN, round(self.amperes, 2), state),
        ]

    def at(self, step: int, state: str | Json = "all-on") -> Json:
        """The volts at one step."""
        return volts_at(fixture(step - 1), round(self.volts[step], 2), state)


def walked(  # noqa: PLR0913  one keyword for each thing that may be wrong
    powers: Sequence[float] = STEP_W,
    *,
    gauge: int = 12,
    gauges: Mapping[int, int] | None = None,
    joints_ohm: Mapping[int, float] | None = None,
    more_w: Mapping[int, float] | None = None,
    lit: Collection[int] = range(1, 5),
    open_v: float = OPEN_V,
    winding_ohm: float = WINDING_OHM,
) -> Walked:
    """The walk as it was built; `gauges` and `joints_ohm` by the step at the far end of the stretch."""
    other, joints = gauges or {}, joints_ohm or {}
    starts = (0.0, *AT_FT[:-1])
    spans = tuple(
        Span(step - 1, step, pair_ohm(other.get(step, gauge), end - start) + joints.get(step, 0.0))
        for step, (start, end) in enumerate(zip(starts, AT_FT, strict=True), 1)
    )
    drawn = [(step, power) for step, power in enumerate(powers, 1) if power and step in lit]
    loads = tuple((step, Load(power_w=power)) for step, power in (*drawn, *(more_w or {}).items()))
    circuit = Circuit(len(AT_FT) + 1, spans, loads, source_v=open_v, winding_ohm=winding_ohm)
    phasors, amperes = flow(arrays_of(circuit))
    return Walked([float(abs(each)) for each in phasors], amperes)


def sent(seen: list[Json], wiring: Json | None = None) -> Json:
    """The walk as described, with what was read, and 12.6 V without load first."""
    return {**(wiring or described()), "readings": [volts_at(None, OPEN_V, "no-load"), *seen]}
