"""The lamps of gardens as they are laid out, beside power-grid-model (MPL-2.0), a power-flow library."""

from __future__ import annotations

import json

import pytest

from service.circuit.work import begin_request
from service.intake import decode
from service.physics.network import Span
from service.studies import STUDIES
from service.studies.least_cost_layout.study import least_cost_layout
from service.studies.voltage_drop.study import DropAnswer
from tests.bench.layouts import site_of
from tests.physics.networks import Circuit
from tests.physics.power_grid import arrays_of, flow

GARDENS = [(10, 1), (10, 2), (10, 3), (30, 1), (30, 2), (30, 3), (50, 1)]


def answers_of(fixtures: int, seed: int) -> tuple[DropAnswer, ...]:
    """Each box of a garden of the bench, solved as it was judged."""
    study = STUDIES["least-cost-layout"]
    message = decode(json.dumps(site_of(fixtures, seed)).encode(), study.request)
    begin_request()
    task = study.prepare(message)
    found = least_cost_layout(task.job, task.judging).layout
    assert found is not None
    return found.answers


def assert_agrees(answer: DropAnswer) -> int:
    """Every point of a box has its voltage by both; how many lamps there are.

    The other library knows one voltage of the source, so runs on other taps are referred to the highest, as a
    winding does: resistances with the square of the ratio. Lamps take the same watts and var at any voltage.
    """
    reading, layout = answer.reading, answer.layout
    assert reading is not None
    open_v = layout.open_circuit_v
    source_v = max(open_v)
    spans = [
        Span(span.start, span.end, span.resistance_ohm * (source_v / open_v[span.end]) ** 2)
        for span in layout.network_spans()
    ]
    loads = tuple(layout.loads(all_in_phase=False))
    assert all(not (load.current_a or load.conductance_s or load.filament_a) for _, load in loads)
    winding_ohm = reading.state.feed.source_resistance * source_v**2
    voltage, _ = flow(arrays_of(Circuit(len(open_v), tuple(spans), loads, source_v, winding_ohm)))
    for point, ours_v in list(enumerate(reading.voltage_v))[1:]:
        assert ours_v * source_v / open_v[point] == pytest.approx(abs(voltage[point]), abs=1e-6)
    return len(loads)


@pytest.mark.parametrize(("fixtures", "seed"), GARDENS)
def test_every_lamp_of_a_laid_out_garden_has_its_voltage(fixtures: int, seed: int) -> None:
    assert sum(assert_agrees(answer) for answer in answers_of(fixtures, seed)) == fixtures
