"""Sound gardens read with a meter that is off by what its sheet allows, and readings that cannot be."""

from __future__ import annotations

from random import Random

import pytest

from service.estimation.uncertainty import ACCURACY_PERCENT, COUNTS, GAIN_SHARE, RESOLUTION_V
from service.studies.readings_check.study import AGREES, CONTRADICTS
from tests.jobs import Json, awg, job, lamp, run, transformer, watts, winding
from tests.studies.readings_check.jobs import checked, fixture, read_off, volts_at

GARDENS = 240


def seeded(seed: int) -> Random:
    """The same numbers each time."""
    return Random(seed)


def garden(drawn: Random) -> Json:
    """One to three runs of one to six lamps, some of them a metre apart."""
    runs = []
    for name in ("Drive", "Terrace", "Pond")[: drawn.randint(1, 3)]:
        at_m, lamps = 0.0, []
        for _ in range(drawn.randint(1, 6)):
            at_m += drawn.choice((1.0, 2.0, 4.0, 8.0))
            lamps.append(lamp(at_m, watts(drawn.choice((2.0, 4.0, 7.0)))))
        runs.append(run(*lamps, cable=awg(drawn.choice((10, 12, 14))), name=name))
    return job(*runs, supply=transformer(winding=winding(drawn.choice((150, 300)), 4)))


def read(request: Json) -> Json:
    """Every lamp and the terminals, with nothing on and with everything on, by a faultless meter."""
    readings = []
    for state in ("no-load", "all-on"):
        readings.append(volts_at(None, state=state))
        for index, each in enumerate(request["wiring"]["runs"]):
            places = range(len(each["fixtures"]))
            readings += [volts_at(fixture(place, index), state=state) for place in places]
    return read_off({**request, "readings": readings})


def noisy(request: Json, drawn: Random) -> Json:
    """The same by a meter at random within its sheet: gain, what is each reading's own, and counts."""
    limit = ACCURACY_PERCENT / 100.0
    gain = limit * GAIN_SHARE**0.5 * drawn.uniform(-1.0, 1.0)
    for each in request["readings"]:
        own = limit * (1.0 - GAIN_SHARE) ** 0.5 * drawn.uniform(-1.0, 1.0)
        counts = COUNTS * RESOLUTION_V * drawn.uniform(-1.0, 1.0)
        value = each["quantity"]["value"]
        value["value"] = round(value["value"] * (1.0 + gain + own) + counts, 2)
    return request


@pytest.mark.parametrize("seed", range(0, GARDENS, 40))
def test_no_sound_garden_is_contradicted_by_the_noise_of_its_meter(seed: int) -> None:
    for number in range(seed, seed + 40):
        drawn = seeded(number)
        answer = checked(noisy(read(garden(drawn)), drawn))
        assert (answer.verdict, answer.findings) == (AGREES, []), number


@pytest.mark.parametrize("seed", range(20))
@pytest.mark.parametrize("state", ["no-load", "all-on"])
def test_a_volt_more_than_upstream_is_contradicted_whatever_the_noise(seed: int, state: str) -> None:
    drawn = seeded(seed)
    request = noisy(read(garden(drawn)), drawn)
    terminal, *others = [each for each in request["readings"] if each["state"]["on"] == state]
    others[-1]["quantity"]["value"]["value"] = terminal["quantity"]["value"]["value"] + 1.0
    answer = checked(request)
    assert answer.verdict == CONTRADICTS
    assert {each.kind.code for each in answer.findings} >= {"reading-above-upstream"}


def test_a_volt_less_where_nothing_is_on_is_named_whatever_the_noise() -> None:
    for seed in range(20):
        drawn = seeded(seed)
        request = noisy(read(garden(drawn)), drawn)
        terminal, *others = [each for each in request["readings"] if each["state"]["on"] == "no-load"]
        others[-1]["quantity"]["value"]["value"] = terminal["quantity"]["value"]["value"] - 1.0
        answer = checked(request)
        assert answer.verdict != AGREES
        assert "drop-without-load" in {each.kind.code for each in answer.findings}
