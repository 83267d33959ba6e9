"""No value that keeps every limit is missed, and none is promised that does not: every count is tried.

The questions are drawn so that few values hold: the window is set by what fixtures get on one run and
on another. A run is judged by `broken_as_stated` and `broken_in_corners`, which find nothing of the
search; that they judge as a voltage drop does is checked over HTTP beside this.
"""

from __future__ import annotations

import random
from collections import Counter

import msgspec
import pytest

from service.circuit.reading import built
from service.studies.reach.request import ReachRequest
from service.studies.reach.study import ReachAnswer, broken_as_stated, broken_in_corners, reach
from service.studies.reach.translate import job_of as asked_of
from service.studies.reach.trial import MOST_FIXTURES, ReachJob, Trial, job_of, rung, trial_of
from tests.client import Client
from tests.jobs import (
    AS_STATED,
    EVENLY_SPREAD,
    LUMPED,
    Json,
    amperes,
    asked,
    awg,
    battery,
    dc_supply,
    halogen,
    largest_load,
    longest_run,
    metres,
    most_fixtures,
    quantity,
    question,
    resistor,
    spacing,
    transformer,
    watts,
    winding,
    window,
)


def mixture(power_w: float) -> Json:
    """A third of each constant kind."""
    third = quantity(power_w / 3, "W")
    parts = {f"constant_{kind}_part": third for kind in ("power", "current", "resistance")}
    return {"kind": "zip", **parts, "rated_voltage": quantity(12, "V")}


def drawn(draw: random.Random, *, counted: bool) -> Json:
    """A question with several limits that may be broken."""
    power_w = round(draw.uniform(5, 150))
    whole = draw.choice(
        [
            watts(power_w, power_factor=draw.choice([0.5, 0.7, 0.9, 1.0])),
            watts(power_w),
            amperes(power_w / 12),
            resistor(power_w),
            halogen(power_w),
            mixture(power_w),
        ]
    )
    pitch_m = round(draw.uniform(0.5, 5), 1)
    each = draw.choice([watts(4, power_factor=0.7), amperes(0.4), resistor(5), halogen(10)])
    layout = draw.choice([LUMPED, LUMPED, EVENLY_SPREAD])
    asks = (
        draw.choice([most_fixtures(each, pitch_m), longest_run(whole, spacing(pitch_m))])
        if counted
        else draw.choice(
            [
                longest_run(whole, layout),
                longest_run(whole, layout),
                largest_load(metres(power_w / 3), layout, power_factor=0.7),
            ]
        )
    )
    tap_v = draw.choice([12.0, 13.0, 14.0, 15.0])
    plate = winding(draw.choice([60, 100, 150, 300]), draw.choice([1, 3, 5, 10]))
    circuits = [{"name": "a", "limit": quantity(draw.choice([5, 10, 15]), "A")}]
    supply = draw.choice(
        [
            transformer(tap_v, winding=plate),
            transformer(tap_v, winding=plate, minimum_load=quantity(draw.choice([20, 40]), "W")),
            transformer(tap_v, winding=plate, circuits=circuits, class_2=draw.random() < 0.5),
            dc_supply(tap_v),
            battery(11.5, 12.5, 14.0),
        ]
    )
    more: Json = {"conditions": {**draw.choice([{}, AS_STATED, AS_STATED])}}
    if draw.random() < 0.2:
        more["conditions"]["switching"] = "individually"
    if draw.random() < 0.4:
        more["accept"] = draw.choice([["below-minimum-load"], ["near-collapse"], ["circuit-near-limit"]])
    limits: Json = {"window": window(1, 99)}
    if draw.random() < 0.4:
        limits["maximum_drop_percent"] = draw.choice([3, 5, 10])
    return question(asks, supply=supply, cable=awg(draw.choice([8, 10, 12, 14])), limits=limits, **more)


def narrowed(draw: random.Random, request: Json) -> Json:
    """The same question with a window that few values keep."""
    job = studied(request)
    for _ in range(20):
        first = draw.randrange(40 if job.counted else 40_000)
        last = min(job.last, first + draw.choice([0, 1, 2, 5] if job.counted else [1, 5, 50, 500, 3_000]))
        # Where the wiring cannot carry its load there are no volts.
        highest_v, lowest_v = max(volts_at(job, first), default=0.0), min(volts_at(job, last), default=0.0)
        if 5.0 < lowest_v <= highest_v:
            limits = request["limits"] | {"window": window(round(lowest_v - 0.001, 4), highest_v + 0.002)}
            return request | {"limits": limits}
    return request


def studied(request: Json) -> ReachJob:
    return asked_of(msgspec.convert(request, ReachRequest))


def volts_at(job: ReachJob, index: int) -> list[float]:
    reading = built(job_of(job, trial_of(job, index))).read()
    return [] if reading is None else reading.volts.judged_v


def questions(seed: int, number: int, *, counted: bool) -> list[Json]:
    draw = random.Random(seed)
    return [narrowed(draw, drawn(draw, counted=counted)) for _ in range(number)]


def keeps(job: ReachJob, index: int) -> bool:
    return not broken_as_stated(job, index) and not broken_in_corners(job, index)


def stretches(kept: list[bool]) -> list[tuple[int, int]]:
    """The first and last place of each stretch that holds, rising."""
    edges = [at for at in range(len(kept) + 1) if (at > 0 and kept[at - 1]) != (at < len(kept) and kept[at])]
    return [(first, after - 1) for first, after in zip(edges[::2], edges[1::2], strict=True)]


def answered(found: ReachAnswer, job: ReachJob) -> tuple[int, int] | None:
    """The first and last place of what was answered."""
    if found.kept is None:
        return None
    return 0 if found.first is None else place_of(job, found.first.trial), place_of(job, found.kept.trial)


def place_of(job: ReachJob, trial: Trial) -> int:
    """Where a run stands in the row of all."""
    if job.counted:
        assert trial.pieces is not None
        return trial.pieces - 1
    low, high = 0, job.last
    while low < high:
        middle = (low + high) // 2
        tried = trial_of(job, middle)
        if (tried.length_m, tried.power_w or 0.0) < (trial.length_m, trial.power_w or 0.0):
            low = middle + 1
        else:
            high = middle
    return low


def judged_job(job: ReachJob, found: ReachAnswer) -> ReachJob:
    """Over what the answer was judged."""
    return job.stated() if found.as_stated else job


@pytest.mark.parametrize(("seed", "number", "most"), [(11, 120, 70), (12, 4, MOST_FIXTURES)])
def test_of_every_count_those_that_hold_are_answered(seed: int, number: int, most: int) -> None:
    seen: Counter[str] = Counter()
    for request in questions(seed, number, counted=True):
        job = studied(request)
        found = reach(job)
        bands = stretches([keeps(judged_job(job, found), at) for at in range(most)])
        got = answered(found, job)
        if got is not None and got[1] >= most - 1:
            continue
        seen["none" if got is None else "narrow" if got[1] - got[0] < 4 else "band"] += 1
        if found.every:
            assert bands == ([] if got is None else [got]), request
        elif got is None:
            assert not bands, request
        else:
            assert got in bands, request
        if found.as_stated and found.kept is not None:
            assert not any(keeps(job, at) for at in range(most)), request
    assert min(seen.values()) >= number // 20, seen
    assert number < 100 or len(seen) == 3, seen


def test_of_lengths_and_loads_those_that_hold_are_answered() -> None:
    draw = random.Random(21)
    seen: Counter[tuple[bool, bool]] = Counter()
    for request in questions(22, 80, counted=False):
        job = studied(request)
        found = reach(job)
        got = answered(found, job)
        seen[got is None, found.every] += 1
        if not found.every:
            continue
        near = place_of(job, found.beyond.trial) if got is None and found.beyond is not None else None
        around = [*(got or [near])]
        places = {draw.randrange(job.last) for _ in range(25)}
        places |= {at + step for at in around for step in (-300, -20, -1, 0, 1, 20, 300) if at is not None}
        places |= {draw.randint(*got) for _ in range(8)} if got is not None else set()
        for at in places & set(range(job.last + 1)):
            held = got is not None and got[0] <= at <= got[1]
            assert keeps(judged_job(job, found), at) == held, (request, at)
    assert seen[True, True] >= 10, seen
    assert seen[False, True] >= 20, seen


# Two counts that were answered as if there were none, and what a reply says where not all is known.


def test_counts_between_overfed_and_collapsing_ones_are_found(client: Client) -> None:
    # Of 1, 2, 4 ... fixtures 32 overfeed the first, 64 cannot be carried, and 48 leave the last too low.
    box = transformer(15.0, winding=winding(150, 8))
    asks = longest_run(watts(81, power_factor=0.9), spacing(2.8))
    reply = asked(client, question(asks, supply=box, cable=awg(12), limits={"window": window(11.218, 15.2)}))
    assert reply["status"] == "reached"
    assert (reply["from"]["count"], reply["answer"]["count"]) == (38, 39)
    assert reply["searched"]["every_value"]


@pytest.mark.parametrize(
    ("load", "layout", "every"),
    [
        (watts(40, power_factor=0.8), EVENLY_SPREAD, True),
        (halogen(40), LUMPED, True),
        (halogen(40), EVENLY_SPREAD, False),
        (mixture(40), LUMPED, False),
    ],
)
def test_a_reply_says_whether_it_is_known_of_every_value(
    client: Client, load: Json, layout: Json, every: object
) -> None:
    box = transformer(14.0, winding=winding(150, 8))
    asks = question(longest_run(load, layout), supply=box, limits={"window": window(11, 12.5)})
    reply = asked(client, asks)
    assert reply["searched"]["every_value"] == every
    assert ("that were tried" in reply["summary"]["text"]) == (not every)


# Out of reach: which run, which fixture, which corner.


def parameters(finding: Json) -> dict[str, str]:
    return {each["name"]: each["value"] for each in finding["parameters"]}


def test_out_of_reach_names_the_count_the_fixture_and_the_corner(client: Client) -> None:
    mains = {"mains": {"kind": "named", "range": "outlet"}, **AS_STATED}
    box = transformer(14.0, winding=winding(150, 5))
    limits = {"window": window(11.5, 12.5)}
    asks = question(most_fixtures(watts(5), 2), supply=box, cable=awg(12), limits=limits, conditions=mains)
    reply = asked(client, asks)
    assert reply["status"] == "out-of-reach"
    count = reply["beyond"]["count"]
    worst = reply["binding"][0]
    assert f"With {count} fixtures" in worst["message"]
    assert "Fixture 1 at 2 m gets" in worst["message"]
    assert "highest mains" in worst["message"]
    assert parameters(worst)["tried"] == f"{count} fixtures"
    assert parameters(worst)["corner"] == "highest mains"
    assert reply["summary"]["text"].startswith(
        "Does not pass. No number of fixtures from 1 to 500 keeps every limit. The supply gives up to 15.44 V"
        " without load (highest mains), 14.70 V as stated; the limit is 12.5 V."
    )


def test_out_of_reach_as_stated_says_so_and_names_the_length(client: Client) -> None:
    # 2 A of an ideal 12 V can never have 12.5 V.
    limits = {"window": window(12.5, 13)}
    reply = asked(client, question(longest_run(amperes(2)), limits=limits, units="us"))
    (worst,) = reply["binding"]
    assert worst["message"].startswith("At 0.1 ft, as stated: The far end at 0.1 ft gets 12 V, below 12.5 V.")
    assert (parameters(worst)["tried"], parameters(worst)["corner"]) == ("0.1 ft", "as stated")
    assert reply["summary"]["text"].startswith(
        "Does not pass. No length from 0.1 to 9999 ft keeps every limit. At 0.1 ft"
    )
    assert rung(0) == 0.1


def test_out_of_reach_of_a_shared_load_names_length_and_fixtures(client: Client) -> None:
    limits = {"window": window(12.5, 13)}
    asks = question(longest_run(amperes(2), spacing(3)), limits=limits)
    reply = asked(client, asks)
    assert reply["binding"][0]["message"].startswith("At 3 m with one fixture, as stated: Fixture")
