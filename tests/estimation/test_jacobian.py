"""Sensitivities by the adjoint against finite differences of the full solver, in gardens of every shape."""

from __future__ import annotations

import json
from typing import Any

import pytest

from service.circuit.state import connect_job
from service.estimation.jacobian import Sensitivities, sensitivities_of
from service.estimation.measurements import place_readings
from service.estimation.model import Change, Measurement, Model, model_of
from service.intake import decode
from service.physics.load import Load
from service.studies.readings_check.request import ReadingsCheckRequest
from service.studies.readings_check.translate import job_of
from tests.circuit.gardens import ALL
from tests.jobs import Json
from tests.studies.readings_check.jobs import amps_at, volts_at

GARDENS = [name for name in ALL if name != "nothing on"]
STEP = 1e-5


def read_everywhere(request: Json) -> Json:
    """Volts and amperes of every fixture and every run, and at the supply."""
    readings = [volts_at(None), amps_at(None), volts_at(None, state="no-load")]
    for number, run in enumerate(request["wiring"]["runs"]):
        pointer = f"/wiring/runs/{number}"
        readings += [volts_at(pointer), amps_at(pointer)]
        for index, line in enumerate(run["fixtures"]):
            which: Any = {"number": 1} if "spacing" in line else {}
            readings += [volts_at(f"{pointer}/fixtures/{index}", **which)]
            readings += [amps_at(f"{pointer}/fixtures/{index}", **which)]
    return {**request, "readings": readings}


def modelled(name: str) -> tuple[Model, list[Measurement], list[Sensitivities]]:
    request = decode(json.dumps(read_everywhere(ALL[name])).encode(), ReadingsCheckRequest)
    job = job_of(request)
    connected = connect_job(job.circuit)
    placed = place_readings(job, connected)
    model = model_of(connected, placed.states)
    sensitivities = sensitivities_of(model, placed.measurements, watts=True)
    assert sensitivities is not None
    return model, placed.measurements, sensitivities


def difference(
    model: Model, measurements: list[Measurement], more: Change, less: Change, run: float
) -> list[float]:
    pairs = zip(model.predicted(measurements, more), model.predicted(measurements, less), strict=True)
    return [(high - low) / run for high, low in pairs]


def close(found: list[float], expected: list[float]) -> bool:
    return found == pytest.approx(expected, rel=2e-4, abs=2e-6)


@pytest.mark.parametrize("name", GARDENS)
def test_predictions_are_the_values_of_the_slopes(name: str) -> None:
    model, measurements, sensitivities = modelled(name)
    assert [each.value for each in sensitivities] == pytest.approx(model.predicted(measurements), rel=1e-12)


@pytest.mark.parametrize("name", GARDENS)
def test_slope_by_the_supply_is_that_of_solving_again(name: str) -> None:
    model, measurements, sensitivities = modelled(name)
    more, less = Change(supply_ratio=1.0 + STEP), Change(supply_ratio=1.0 - STEP)
    assert close(
        [each.supply for each in sensitivities], difference(model, measurements, more, less, 2.0 * STEP)
    )


@pytest.mark.parametrize("name", GARDENS)
def test_slope_by_the_winding_is_that_of_solving_again(name: str) -> None:
    model, measurements, sensitivities = modelled(name)
    ohm = model.source_ohm
    if ohm:
        more, less = Change(source_ohm=ohm * (1.0 + STEP)), Change(source_ohm=ohm * (1.0 - STEP))
        assert close(
            [each.source for each in sensitivities], difference(model, measurements, more, less, 2.0 * STEP)
        )
    else:
        assert not any(each.source for each in sensitivities)


@pytest.mark.parametrize("name", GARDENS)
def test_slope_by_each_span_is_that_of_solving_again(name: str) -> None:
    model, measurements, sensitivities = modelled(name)
    for index, span in enumerate(model.network.spans):
        more = Change(span_ohm={index: span.resistance_ohm * (1.0 + STEP)})
        less = Change(span_ohm={index: span.resistance_ohm * (1.0 - STEP)})
        expected = difference(model, measurements, more, less, 2.0 * STEP)
        assert close([each.spans[index] for each in sensitivities], expected), index


@pytest.mark.parametrize("name", GARDENS)
def test_slope_by_each_fixture_is_that_of_solving_again(name: str) -> None:
    model, measurements, sensitivities = modelled(name)
    for row, loads in enumerate(model.rows):
        more = Change(rows={row: [(at, load.scaled(1.0 + STEP)) for at, load in loads]})
        less = Change(rows={row: [(at, load.scaled(1.0 - STEP)) for at, load in loads]})
        expected = difference(model, measurements, more, less, 2.0 * STEP)
        assert close([each.rows[row] for each in sensitivities], expected), row


@pytest.mark.parametrize("name", GARDENS)
def test_slope_by_a_watt_more_is_that_of_solving_again(name: str) -> None:
    model, measurements, sensitivities = modelled(name)
    # A load of no watts is where one more begins, so the difference is one-sided and small.
    for point in range(1, model.network.points, 3):
        more = Change(more=((point, Load(power_w=1e-4)),))
        expected = difference(model, measurements, more, Change(), 1e-4)
        idle = [model.states[one.state].on == "no-load" for one in measurements]
        found = [0.0 if off else each.watts[point] for each, off in zip(sensitivities, idle, strict=True)]
        assert found == pytest.approx(expected, rel=2e-3, abs=1e-5), point
