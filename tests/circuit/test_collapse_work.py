"""What a drop is estimated at holds its collapse, where that is not ruled out before anything is laid."""

import json
import random

import pytest

from service.circuit.estimate import surely_carried
from service.circuit.job import Job
from service.circuit.reading import built
from service.circuit.work import begin_request, spent
from service.intake import decode
from service.studies.voltage_drop.request import VoltageDropRequest
from service.studies.voltage_drop.study import voltage_drop, voltage_drop_work
from service.studies.voltage_drop.translate import job_of
from tests import jobs
from tests.bench.largest import CORNERS
from tests.bench.requests_per_second import twenty_lamps
from tests.jobs import Json


def read(request: Json) -> Job:
    return job_of(decode(json.dumps(request).encode(), VoltageDropRequest))


def drawn(rng: random.Random, watts: tuple[int, ...]) -> Json:
    """A garden of some runs; lamps of every kind, leads, branches, a ring now and then."""

    def lamp(at_m: float) -> Json:
        load = rng.choice(
            (
                jobs.watts(rng.choice(watts), power_factor=rng.choice((0.7, 1))),
                jobs.amperes(rng.choice(watts) / 12, power_factor=0.8),
                jobs.halogen(rng.choice(watts)),
            )
        )
        lead = {"lead": {"length": jobs.metres(2), "cable": jobs.awg(18)}} if rng.random() < 0.2 else {}
        return jobs.lamp(at_m, load, **lead)

    runs = []
    for _ in range(rng.choice((1, 2, 3, 6))):
        count = rng.choice((1, 3, 8, 20))
        lamps = [lamp(1.0 + place) for place in range(count)]
        more: Json = {"return_leg": {"length": jobs.metres(5)}} if rng.random() < 0.1 else {}
        if rng.random() < 0.3:
            more["branches"] = [jobs.branch(1.0, lamp(4), lamp(6), cable=jobs.awg(14))]
        runs.append(jobs.run(*lamps, cable=jobs.awg(rng.choice((18, 14, 10))), **more))
    supplies = [jobs.dc_supply(12), jobs.transformer()]
    supplies += [jobs.transformer(winding=jobs.winding(rating_va, 5)) for rating_va in (60, 300)]
    request = jobs.job(*runs, supply=rng.choice(supplies))
    if rng.random() < 0.4:
        switching = rng.choice(("together", "by-run", "individually"))
        request["conditions"] = {**CORNERS, "switching": switching}
    if rng.random() < 0.3:
        request["margin"] = True
    return request


@pytest.mark.parametrize(("watts", "least"), [((1, 3, 8), 0), ((5, 20, 60), 20)], ids=["light", "heavy"])
def test_no_drop_is_charged_more_than_its_estimate_whether_it_is_carried_or_not(
    watts: tuple[int, ...], least: int
) -> None:
    rng, collapsed = random.Random(15), 0
    for _ in range(60):
        job = read(drawn(rng, watts))
        begin_request()
        estimate, answer = voltage_drop_work(job), voltage_drop(job)
        assert spent() <= estimate.most
        collapsed += answer.reading is None
    assert collapsed >= least


def test_what_is_said_to_be_carried_for_certain_is() -> None:
    rng, certain = random.Random(16), 0
    for _ in range(150):
        job = read(drawn(rng, (1, 3, 8)))
        if surely_carried(job):
            certain += 1
            assert built(job).solved() is not None
    assert certain >= 30


def test_spans_are_carried_for_certain_as_if_they_lay_in_a_row() -> None:
    def spans(power_w: float) -> Job:
        laid = [
            {"from": start, "to": end, "length": jobs.metres(10), "cable": jobs.awg(12)}
            for start, end in (("supply", "a"), ("a", "b"), ("supply", "b"))
        ]
        fixtures = [{"point": "b", "load": jobs.watts(power_w)}]
        return read(
            {"supply": jobs.transformer(), "wiring": {"form": "spans", "spans": laid, "fixtures": fixtures}}
        )

    # 30 m of 12 AWG have 0.32 ohm at 20 °C: a quarter of 144 V² over that are 112 W.
    assert surely_carried(spans(110.0))
    assert not surely_carried(spans(115.0))
    assert built(spans(115.0)).solved() is not None


def test_a_usual_garden_holds_no_work_for_a_collapse() -> None:
    usual = read(json.loads(twenty_lamps()))
    assert surely_carried(usual)
    weak = usual._replace(supply=usual.supply._replace(rated_v=2.0))
    assert voltage_drop_work(weak).first == voltage_drop_work(usual).first
    assert voltage_drop_work(weak).most > 2 * voltage_drop_work(usual).most
