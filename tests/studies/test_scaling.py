"""Work grows with the garden: what is counted at n, 2n and 4n, beside what was charged and estimated.

Nothing here measures time. What is counted are the operations of the algorithms, the same on every machine.
"""

import json
from collections.abc import Callable
from contextlib import suppress
from functools import partial
from itertools import pairwise
from typing import Any, NamedTuple

import pytest

from service.circuit.estimate import SURELY_OVER, Estimate
from service.circuit.most import MAXIMUM_REQUEST_WORK
from service.circuit.work import WorkOverLimitError, begin_request, done, spent
from service.intake import decode
from service.studies import STUDIES
from tests import jobs
from tests.bench.largest import CORNERS, LARGEST, tangle
from tests.jobs import Json
from tests.studies.readings_check.jobs import amps_at, read_off, volts_at


class Worked(NamedTuple):
    """What one request was estimated and charged, and what was counted."""

    estimate: Estimate
    charged: int
    counted: int


def prepared(study: str, request: Json) -> tuple[Estimate, Callable[[], Any]]:
    """What a request is estimated at, and what answers it as the only one that is charged."""
    asked = STUDIES[study]
    message = decode(json.dumps(request).encode(), asked.request)
    question = asked.prepare(message)

    def answer() -> Any:
        begin_request()
        return asked.answer(message, question, "")

    return asked.estimate(question), answer


def worked(study: str, request: Json) -> Worked:
    """Answer one request."""
    estimate, answer = prepared(study, request)
    answer()
    return Worked(estimate, spent(), done())


STRONG = jobs.transformer(24.0, winding=jobs.winding(2_000, 4))
FAINT = {
    "watts": jobs.watts(0.02, power_factor=1),
    "lagging": jobs.watts(0.02, power_factor=0.9),
    "amperes": jobs.amperes(0.001, power_factor=1),
    "resistor": jobs.resistor(0.02, 24.0),
    "filament": jobs.halogen(0.02, 24.0),
}
"""Lamps that no cable here feels, so that every state takes as many steps whatever the size."""

THICK = jobs.awg(4)


def chained(lamps: int, load: str = "watts", **more: Any) -> Json:
    """One cable with lamps one after another, as long whatever their number."""
    line = jobs.lamp(30 / lamps, FAINT[load], count=lamps, spacing=jobs.metres(30 / lamps))
    return jobs.job(jobs.run(line, cable=THICK), supply=STRONG, nominal_v=24, **more)


def ten_runs(lamps: int, load: str = "watts", **more: Any) -> Json:
    """The same lamps on ten runs."""
    line = jobs.lamp(1, FAINT[load], count=lamps // 10, spacing=jobs.metres(0.1))
    return jobs.job(*[jobs.run(line, cable=THICK)] * 10, supply=STRONG, nominal_v=24, **more)


def spans(lamps: int, **more: Any) -> Json:
    """The same chain as spans."""
    names = ["supply", *(f"p{number}" for number in range(lamps))]
    laid = [{"from": a, "to": b, "length": jobs.metres(0.1), "cable": THICK} for a, b in pairwise(names)]
    fixtures = [{"point": name, "load": FAINT["watts"]} for name in names[1:]]
    wiring = {"form": "spans", "spans": laid, "fixtures": fixtures, "nominal_voltage": jobs.volts(24)}
    return {"supply": STRONG, "wiring": wiring, **more}


def ringed(lamps: int, **more: Any) -> Json:
    """One ring."""
    line = jobs.lamp(30 / lamps, FAINT["watts"], count=lamps, spacing=jobs.metres(30 / lamps))
    ring = jobs.run(line, cable=THICK, return_leg={"length": jobs.metres(30)})
    return jobs.job(ring, supply=STRONG, nominal_v=24, **more)


def sized(count: int, switching: str, load: str = "watts") -> Json:
    return ten_runs(count, load, conditions={**CORNERS, "switching": switching})


def stocked(count: int) -> Json:
    """Transformers that sag unlike."""
    units = [
        {
            "id": f"{va}",
            "rating": jobs.quantity(va, "VA"),
            "taps": [jobs.volts(24)],
            "regulation_percent": va / 1_000,
        }
        for va in (500, 1_000, 2_000)
    ]
    return chained(count, stock=units)


def evenly(count: int) -> Json:
    wiring = jobs.even(count, FAINT["watts"], 30, cable=THICK)["wiring"]
    return {"supply": STRONG, "wiring": {**wiring, "nominal_voltage": jobs.volts(24)}}


def read(request: Json, off_v: float = 0.0) -> Json:
    """Ten readings of a garden, some volts of them off. [V]"""
    begin_request()
    pointer = "/wiring/runs/0/fixtures/0"
    count = request["wiring"]["runs"][0]["fixtures"][0]["count"]
    numbers = [1 + count * part // 9 for part in range(8)]
    readings = [
        volts_at(None, 24.0),
        amps_at(None),
        *(volts_at(pointer, 24.0, number=number) for number in numbers),
    ]
    sound = read_off({**request, "readings": readings})
    for said in sound["readings"][6:]:
        said["quantity"]["value"]["value"] -= off_v
    return sound


def chosen(lamps: int, scope: str = "one", **more: Any) -> Json:
    return ten_runs(lamps) | {"scope": scope, "family": "awg", "conditions": CORNERS, **more}


SPOOLED = [
    {
        "id": f"awg-{size}",
        "conductor": f"{size} AWG",
        "price": {
            "kind": "per-spool",
            "spools": [
                {"length": jobs.metres(length), "amount": f"{length * (20 - size) / 9 + 3:.2f}"}
                for length in (50, 200, 1000)
            ],
        },
    }
    for size in (16, 12, 8)
]


def asked_along(fixtures: int) -> Json:
    """The largest load along so many fixtures."""
    question = jobs.largest_load(jobs.metres(100), jobs.spacing(100 / (fixtures - 0.5)), power_factor=1)
    return {"supply": STRONG, "cable": jobs.awg(18), "question": question, "nominal_voltage": jobs.volts(24)}


def charted(cells: int) -> Json:
    return {
        "cables": [{"cable": jobs.awg(12)}],
        "powers": [jobs.quantity(float(number), "W") for number in range(1, cells // 10 + 1)],
        "lengths": [jobs.metres(0.5 * number) for number in range(1, 11)],
        "open_circuit": jobs.volts(12),
    }


STATED: Json = {"range": "as-stated"}
"""One state: over several the search for each run would end at its limit before it grows."""


def zoned(lamps: int, **more: Any) -> Json:
    """One route with lamps one after another, in one run."""
    line = jobs.lamp(1, FAINT["watts"], count=lamps, spacing=jobs.metres(30 / lamps))
    route = {"name": "path", "distance": jobs.metres(5), "fixtures": [line]}
    stock = [{"id": "c", "conductor": "4 AWG"}]
    return {
        "supply": STRONG,
        "nominal_voltage": jobs.volts(24),
        "zones": [route],
        "stock": stock,
        "runs_at_most": 1,
        "hubs": False,
        **more,
    }


def quoted(count: int, joints: str = "nowhere") -> Json:
    """A chain that is laid in one piece, or in as many as there are lamps."""
    price = {"kind": "per-spool", "spools": [{"length": jobs.metres(40), "amount": "30"}]}
    cable = {"id": "C", "conductor": "4 AWG", "tax": "t", "price": price}
    parts = [chained(count, conditions=CORNERS)]
    return {
        "alternatives": [{"id": "a", "parts": parts}],
        "catalogue": {"cables": [cable], "joints": []},
        "money": {"currency": "EUR", "prices_are": "net", "taxes": [{"code": "t", "percent": 20}]},
        "cutting": {"joints": joints},
    }


def in_a_row(lamps: int, far_m: float = 30.0, **more: Any) -> Json:
    """A path as long whatever the number of its fixtures, one cable and one transformer for them."""
    points = [
        {"name": f"p{place}", "x": jobs.metres(far_m * place / lamps), "y": jobs.metres(0)}
        for place in range(lamps + 1)
    ]
    box = {"id": "b", "rating": jobs.quantity(200, "VA"), "taps": [jobs.volts(24)], "price": "100"}
    cable = {"id": "c", "conductor": "4 AWG", "price": {"kind": "per-length", "amount": "9", "per": "m"}}
    return {
        "places": {"frame": "local", "points": points},
        "routes": [{"from": f"p{place}", "to": f"p{place + 1}"} for place in range(lamps)],
        "fixtures": [{"place": f"p{place}", "load": FAINT["watts"]} for place in range(1, lamps + 1)],
        "mounting_points": [{"place": "p0"}],
        "transformers": [box],
        "stock": [cable],
        "nominal_voltage": jobs.volts(24),
        "effort": 20_000,
        **more,
    }


GROWING: dict[str, tuple[str, int, Callable[[int], Json]]] = {
    **{f"drop of a chain, {load}": ("voltage-drop", 200, partial(chained, load=load)) for load in FAINT},
    "drop, margin": ("voltage-drop", 200, lambda n: chained(n, margin=True)),
    "drop, lagging, margin": ("voltage-drop", 200, lambda n: chained(n, "lagging", margin=True)),
    "drop of spans": ("voltage-drop", 200, spans),
    "drop of an even run": ("voltage-drop", 200, evenly),
    "drop of a ring": ("voltage-drop", 200, ringed),
    "drop, corners together": ("voltage-drop", 100, lambda n: sized(n, "together")),
    "drop, corners by run": ("voltage-drop", 100, lambda n: sized(n, "by-run")),
    "drop, corners individually": ("voltage-drop", 100, lambda n: sized(n, "individually")),
    "drop, lagging, corners individually": (
        "voltage-drop",
        100,
        lambda n: sized(n, "individually", "lagging"),
    ),
    "drop, filaments, corners by run": ("voltage-drop", 100, lambda n: sized(n, "by-run", "filament")),
    "drop of spans, corners": ("voltage-drop", 100, lambda n: spans(n, conditions=CORNERS)),
    "loading": ("transformer-loading", 200, chained),
    "loading, corners": ("transformer-loading", 200, lambda n: chained(n, conditions=CORNERS)),
    "loading, lagging, corners": (
        "transformer-loading",
        100,
        lambda n: chained(n, "lagging", conditions=CORNERS),
    ),
    "loading, corners by run": ("transformer-loading", 100, lambda n: sized(n, "by-run")),
    "loading of a stock": ("transformer-loading", 100, stocked),
    "division of a zone": ("run-division", 50, zoned),
    "layout in a row": ("least-cost-layout", 12, in_a_row),
    "sheet of key places": ("commissioning-sheet", 200, chained),
    "sheet of every place": ("commissioning-sheet", 200, lambda n: chained(n, points="every")),
    "sheet of every place, lagging": (
        "commissioning-sheet",
        100,
        lambda n: chained(n, "lagging", points="every", mains=[jobs.quantity(120, "V")]),
    ),
    "sheet of key places of runs": ("commissioning-sheet", 100, ten_runs),
    "sheet of every place of runs": ("commissioning-sheet", 100, lambda n: ten_runs(n, points="every")),
    "sheet of every place, filaments": (
        "commissioning-sheet",
        100,
        lambda n: chained(n, "filament", points="every"),
    ),
    "sheet of every place of spans": ("commissioning-sheet", 200, lambda n: spans(n, points="every")),
    "readings that agree": ("readings-check", 100, lambda n: read(chained(n))),
    "readings that agree, lagging": ("readings-check", 50, lambda n: read(chained(n, "lagging"))),
    "readings of runs that agree": ("readings-check", 50, lambda n: read(ten_runs(n))),
    "choice of one cable": ("gauge-recommendation", 50, chosen),
    "choice of a cable for each run": (
        "gauge-recommendation",
        50,
        lambda n: chosen(n, "per-run", conditions=STATED),
    ),
    "choice of one cable in spools": ("gauge-recommendation", 50, lambda n: chosen(n, stock=SPOOLED)),
    "choice of spools for spans": ("gauge-recommendation", 50, lambda n: spans(n, stock=SPOOLED)),
    "choice of one cable for spans": ("gauge-recommendation", 50, lambda n: spans(n, family="awg")),
    "choice with open taps": (
        "gauge-recommendation",
        50,
        lambda n: chosen(
            n, taps="choose", supply={**STRONG, "taps": [jobs.volts(23), jobs.volts(24), jobs.volts(25)]}
        ),
    ),
    "reach of watts": ("reach", 60, asked_along),
    # The answers of fewer fixtures lie farther apart, and other loads are tried on the way to them.
    "reach of watts, corners": ("reach", 90, lambda n: {**asked_along(n), "conditions": CORNERS}),
    "quote of a chain": ("quote", 100, quoted),
    "quote of a chain cut at fixtures": ("quote", 100, lambda n: quoted(n, "at-fixtures")),
    "chart": ("drop-chart", 100, charted),
}
"""Study, size, and the request of a size."""


SQUARE = "layout in a row"
"""In the bound of a layout each fixture may be fed along each route: their product."""


@pytest.mark.parametrize("name", GROWING)
def test_work_grows_in_proportion(name: str) -> None:
    study, size, request = GROWING[name]
    once, twice, four = (worked(study, request(size * times)).counted for times in (1, 2, 4))
    first, second = twice - once, four - twice
    # Twice as much more for twice as many more, within a quarter, whatever there is to do for any size.
    assert 1.6 < second / first < (5.0 if name == SQUARE else 2.5), (once, twice, four)


@pytest.mark.parametrize("name", GROWING)
def test_what_is_charged_and_estimated_is_near_what_is_counted(name: str) -> None:
    study, size, request = GROWING[name]
    estimate, charged, counted = worked(study, request(size * 4))
    # A corner is read off once, and charged as if its findings read it again.
    assert 0.5 < charged / counted < 2.25
    assert estimate.first <= estimate.most <= MAXIMUM_REQUEST_WORK
    assert charged <= estimate.most


SINGLE = {
    name: (path.removeprefix("/v1/"), build)
    for name, (path, build) in LARGEST.items()
    if path not in {"/v1/batch", "/v1/drop-chart"}
}


@pytest.mark.parametrize("name", SINGLE)
def test_the_largest_requests_are_charged_within_a_factor_of_two(name: str) -> None:
    study, build = SINGLE[name]
    estimate, answer = prepared(study, build())
    ended = False
    with suppress(WorkOverLimitError):
        answer()
        ended = True
    if estimate.first > SURELY_OVER * MAXIMUM_REQUEST_WORK:
        assert (ended, spent(), done()) == (False, 0, 0)
        return
    if spent() > MAXIMUM_REQUEST_WORK // 2:
        # So near the limit an estimate that is too high would refuse what can be answered.
        assert estimate.first <= SURELY_OVER * spent()
    assert ended
    assert 0.5 < spent() / done() < 2.0
    assert spent() <= estimate.most


def test_what_cannot_have_its_first_answer_is_refused_before_anything_is_done() -> None:
    one = jobs.run(jobs.lamp(5, jobs.watts(0.1), count=19, spacing=jobs.metres(2)), cable=jobs.awg(12))
    request = jobs.job(*[one] * 100, conditions={**CORNERS, "switching": "by-run"})
    _, answer = prepared("voltage-drop", request)
    with pytest.raises(WorkOverLimitError) as refused:
        answer()
    assert (spent(), done()) == (0, 0)
    assert refused.value.limit == MAXIMUM_REQUEST_WORK


def test_what_is_estimated_a_little_too_high_is_answered() -> None:
    estimate, answer = prepared("voltage-drop", tangle(conditions={**CORNERS, "switching": "individually"}))
    assert estimate.first > MAXIMUM_REQUEST_WORK
    answer()
    assert MAXIMUM_REQUEST_WORK // 2 < spent() <= MAXIMUM_REQUEST_WORK


def test_every_place_of_a_ring_takes_places_times_points() -> None:
    # On a loop no point stands for all behind it: each place is followed by itself, and charged so.
    def counted(lamps: int) -> int:
        return worked(
            "commissioning-sheet", ringed(lamps, points="every", mains=[jobs.quantity(120, "V")])
        ).counted

    once, twice, four = (counted(60 * times) for times in (1, 2, 4))
    assert (four - twice) / (twice - once) > 2.5


def test_a_search_for_a_cause_stops_at_its_work_and_says_what_it_left_out() -> None:
    estimate, answer = prepared("readings-check", read(ten_runs(400), off_v=0.6))
    assert answer().explanations
    assert spent() <= estimate.most <= MAXIMUM_REQUEST_WORK
    assert 0.5 < spent() / done() < 2.0
