"""A choice for each run that ends: many runs with taps over a range, held against thinning by hand."""

import random
from decimal import Decimal

import pytest

from tests import jobs
from tests.client import Client
from tests.jobs import Json
from tests.studies.gauge_recommendation.test_passes import lower_taps, posted, thinner

RATES = {"18 AWG": "0.22", "16 AWG": "0.31", "14 AWG": "0.48", "12 AWG": "0.70", "10 AWG": "1.18"}
"""Price of a foot; thicker is dearer. [currency]"""

TAPS_V = (12, 13, 14, 15)


def garden(seed: int, *, runs: int = 10, lamps: int = 8, **more: Json) -> Json:
    """Runs of lamps that are 5 to 12 ft apart, the first 15 to 120 ft away, on a box of 900 VA with taps."""
    pick = random.Random(seed)
    laid = []
    for _ in range(runs):
        first_ft, apart_ft, each_w = pick.uniform(15, 120), pick.uniform(5, 12), pick.choice((3, 4, 5, 7))
        lines = [
            {
                **jobs.lamp(1, jobs.watts(each_w), window=jobs.window(10.5, 15)),
                "at": jobs.feet(round(first_ft + place * apart_ft, 1)),
            }
            for place in range(lamps)
        ]
        laid.append(jobs.run(*lines, cable=jobs.awg(12)))
    supply = jobs.transformer(winding=jobs.winding(900, 3), taps=[jobs.volts(tap_v) for tap_v in TAPS_V])
    stock = [
        {"id": size, "conductor": size, "price": {"kind": "per-length", "amount": rate, "per": "ft"}}
        for size, rate in RATES.items()
    ]
    return {
        "supply": supply,
        "wiring": {"form": "runs", "runs": laid},
        "scope": "per-run",
        "taps": "choose",
        "stock": stock,
        "accept": ["near-collapse", "rating-at-usual-power-factor"],
        **more,
    }


def length_ft(line: Json) -> Decimal:
    """To the last lamp."""
    return max(Decimal(str(each["at"]["value"])) for each in line["fixtures"])


def with_sizes(request: Json, sizes: list[int], taps: list[int]) -> Json:
    """The wiring with a size and a tap of each run, both by index."""
    names = list(RATES)
    lines = [
        {**line, "cable": {"kind": "listed", "conductor": names[size]}, "tap": jobs.volts(TAPS_V[tap])}
        for line, size, tap in zip(request["wiring"]["runs"], sizes, taps, strict=True)
    ]
    return {"form": "runs", "runs": lines}


def thinned(client: Client, request: Json, reply: Json) -> Decimal:
    """What thinning by hand costs: the run that saves most is made thinner, on a higher tap if it must."""
    lines, rates = request["wiring"]["runs"], [Decimal(rate) for rate in RATES.values()]
    sizes, taps = [len(rates) - 1] * len(lines), [0] * len(lines)
    while broken := posted(client, request, reply, with_sizes(request, sizes, taps)):
        low = {int(each["subject"]["pointer"].split("/")[3]) for each in broken}
        taps = [tap + (run in low) for run, tap in enumerate(taps)]
    stuck: set[int] = set()
    while len(stuck) < len(lines):
        run = max(
            (run for run in range(len(lines)) if run not in stuck),
            key=lambda run: length_ft(lines[run]) * (rates[sizes[run]] - rates[max(sizes[run] - 1, 0)]),
        )
        for tap in range(taps[run], len(TAPS_V)):
            tried = [size - (each == run) for each, size in enumerate(sizes)]
            raised = [tap if each == run else own for each, own in enumerate(taps)]
            if min(tried) >= 0 and not posted(client, request, reply, with_sizes(request, tried, raised)):
                sizes, taps = tried, raised
                break
        else:
            stuck.add(run)
    return sum((length_ft(line) * rates[size] for line, size in zip(lines, sizes, strict=True)), Decimal(0))


@pytest.mark.parametrize("seed", range(4))
def test_ten_runs_of_eight_lamps_with_taps_over_a_range_are_not_beaten_by_thinning_by_hand(
    client: Client, seed: int
) -> None:
    request = garden(seed)
    reply = client.post("/v1/gauge-recommendation", json=request).json()
    assert reply["status"] == "recommended"
    assert "range-not-held" not in [each["code"] for each in reply["findings"]]
    assert len(reply["compared"]) == len(RATES)
    total = Decimal(reply["total"])
    assert total <= thinned(client, request, reply) + Decimal("0.01")
    assert posted(client, request, reply, reply["wiring"]) == []
    for wiring in (*thinner(request, reply["wiring"]), *lower_taps(request, reply["wiring"])):
        assert posted(client, request, reply, wiring)
    # A bound worth printing: what nothing can cost less than is near.
    least = Decimal(reply.get("least_possible_total", reply["total"]))
    assert least >= total * Decimal("0.85")


@pytest.mark.parametrize("switching", ["by-run", "individually"])
@pytest.mark.parametrize("seed", range(2))
def test_what_may_be_on_alone_is_no_reason_for_one_size_everywhere(
    client: Client, seed: int, switching: str
) -> None:
    """The lamps stand 15 V, which the 15 V tap exceeds without load: what is on alone must be looked at."""
    request = garden(seed)
    ranges = {"mains": {"kind": "named", "range": "service"}, "switching": switching}
    request["conditions"] = ranges
    reply = client.post("/v1/gauge-recommendation", json=request).json()
    assert reply["status"] == "recommended"
    assert Decimal(reply["total"]) <= thinned(client, request, reply) + Decimal("0.01")
    assert posted(client, request, reply, reply["wiring"]) == []
    drop = client.post(
        "/v1/voltage-drop",
        json={
            "supply": request["supply"],
            "wiring": reply["wiring"],
            "conditions": reply["judged_conditions"],
        },
    ).json()
    highest = max(each["highest"]["voltage"]["value"] for each in drop["envelope"]["fixtures"])
    assert reply["outcome"]["highest_voltage"]["value"] == pytest.approx(highest, abs=1e-4)


@pytest.mark.parametrize("kind", ["halogen", "mixed"])
def test_so_are_runs_with_filaments(client: Client, kind: str) -> None:
    request = garden(5, runs=6, lamps=6)
    for place, line in enumerate(request["wiring"]["runs"]):
        for lamp in line["fixtures"]:
            if kind == "halogen" or place % 2:
                lamp["load"] = jobs.halogen(10)
    reply = client.post("/v1/gauge-recommendation", json=request).json()
    assert reply["status"] in {"recommended", "none-passes"}
    if reply["status"] == "recommended":
        assert posted(client, request, reply, reply["wiring"]) == []
