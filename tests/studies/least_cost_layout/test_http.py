"""`POST /v1/least-cost-layout`: a site in, a layout with its bound out."""

import json
import subprocess
import sys
from decimal import Decimal
from pathlib import Path

import pytest

from service.studies.least_cost_layout import study, translate
from tests import jobs
from tests.client import Client
from tests.jobs import Json
from tests.studies.least_cost_layout.requests import fed_by, garden, scarce, two_gardens

PATH = "/v1/least-cost-layout"
EXAMPLE = Path(__file__).parents[3] / "openapi" / "examples" / "least_cost_layout.json"


def laid_out(client: Client, request: Json) -> Json:
    reply = jobs.answer(client, request, PATH)
    assert reply["status"] == "laid-out", reply["summary"]["text"]
    return reply


def assert_sound(client: Client, request: Json, reply: Json) -> None:
    """Every body passes when it is posted, every fixture is fed once, sums are sums, the bound is below."""
    fed = []
    for supply in reply["layout"]["supplies"]:
        drop = jobs.answer(client, supply["request"])
        assert drop["status"] == "solved"
        accepted = request.get("accept", [])
        broken = [
            each for each in drop["findings"] if each["severity"] != "note" and each["code"] not in accepted
        ]
        assert broken == []
        corners = drop["envelope"]["fixtures"] if "envelope" in drop else []
        lowest = min([row["lowest"]["voltage"]["value"] for row in corners] + jobs.voltages(drop))
        assert supply["lowest"]["value"] == pytest.approx(lowest, abs=2e-4)
        fed += [fixture for run in supply["runs"] for fixture in run["fixtures"]]
    assert sorted(fed) == sorted(f"/fixtures/{number}" for number in range(len(request["fixtures"])))
    costs = {name: Decimal(amount) for name, amount in reply["costs"].items()}
    total = costs.pop("total")
    assert sum(costs.values()) == total
    assert sum(Decimal(row["line_total"]) for row in reply["purchase"]) == costs["cable"]
    assert sum(Decimal(row["price"]) for row in reply["layout"]["trenches"]) == costs["trenches"]
    assert sum(Decimal(row["price"]) for row in reply["layout"]["joints"]) == costs["joints"]
    bound = reply["bound"]
    assert Decimal(bound["amount"]) == sum(map(Decimal, bound["shares"].values())) <= total
    assert 100 * (total - Decimal(bound["amount"])) <= Decimal(str(bound["within_percent"])) * total
    allowed = {"chain": ("daisy-chain",), "hub": ("hub",)}.get(
        request.get("branching", "tee"), ("daisy-chain", "hub")
    )
    for way in reply["compared"]:
        assert "total" not in way or way["way"] not in allowed or total <= Decimal(way["total"])


@pytest.mark.parametrize("seed", range(1, 13))
def test_what_is_laid_out_passes_when_it_is_posted(client: Client, seed: int) -> None:
    request = garden((4, 7, 12)[seed % 3], seed, mounts=1 + seed % 3, effort=6_000)
    assert_sound(client, request, laid_out(client, request))


@pytest.mark.parametrize("rating_va", [75, 300])
def test_two_gardens_that_no_route_joins_are_fed_each_from_its_own(client: Client, rating_va: int) -> None:
    request = two_gardens(8, 3, transformers=[fed_by(rating_va, "120.00")], effort=6_000)
    reply = laid_out(client, request)
    assert_sound(client, request, reply)
    points = {supply["mounting_point"] for supply in reply["layout"]["supplies"]}
    assert points == {"/mounting_points/0", "/mounting_points/1"}


@pytest.mark.parametrize("branching", ["chain", "tee", "hub"])
@pytest.mark.parametrize("gauges", ["per-run", "per-span"])
def test_runs_part_and_change_size_only_as_they_may(client: Client, branching: str, gauges: str) -> None:
    request = garden(6, 4, side=6.0, branching=branching, gauges=gauges, effort=6_000)
    reply = laid_out(client, request)
    assert_sound(client, request, reply)
    for run in (run for supply in reply["layout"]["supplies"] for run in supply["runs"]):
        if gauges == "per-run":
            assert len({span["conductor"] for span in run["spans"]}) == 1
        starts = [span["from"] for span in run["spans"]]
        parted = {start for start in starts if starts.count(start) > 1}
        assert len(parted) <= {"chain": 0, "hub": 1}.get(branching, len(starts))


def test_thirty_fixtures_with_lagging_currents_and_devices_pass(client: Client) -> None:
    devices = [{"name": name, "limit": jobs.quantity(15, "A")} for name in ("A", "B")]
    boxes = [fed_by(va, price, circuits=devices) for va, price in ((150, "160.00"), (300, "250.00"))]
    request = garden(30, 3, side=4.0, transformers=boxes)
    for fixture in request["fixtures"]:
        fixture["load"]["power_factor"] = 0.7
    reply = laid_out(client, request)
    assert_sound(client, request, reply)
    assert {run["circuit"] for each in reply["layout"]["supplies"] for run in each["runs"]} <= {"A", "B"}


CONDITIONS: list[Json] = [
    {"mains": {"kind": "named", "range": "en-50160"}},
    {
        "mains": {"kind": "measured", "lowest": jobs.volts(104), "highest": jobs.volts(128)},
        "conductor_temperature_range": {
            "lowest": jobs.quantity(-25, "degC"),
            "highest": jobs.quantity(75, "degC"),
        },
    },
    {"range": "as-stated", "conductor_temperature": jobs.quantity(60, "degC")},
    {"non_active_current": "in-phase"},
]


@pytest.mark.parametrize("conditions", CONDITIONS)
@pytest.mark.parametrize("power_factor", [0.5, 1.0])
def test_the_bound_is_below_in_every_range_that_is_judged(
    client: Client, conditions: Json, power_factor: float
) -> None:
    request = garden(5, 7, side=14.0, mounts=2, effort=4_000, conditions=conditions)
    for fixture in request["fixtures"]:
        fixture["load"]["power_factor"] = power_factor
    request["mounting_points"][1]["primary"] = {
        "rated": jobs.volts(120),
        "actual": jobs.volts(112),
    }
    assert_sound(client, request, laid_out(client, request))


def test_degrees_and_metres_give_the_same_layout(client: Client) -> None:
    request = garden(5, 2, effort=4_000)
    metric = garden(5, 2, effort=4_000, units="metric")
    degrees = [
        (
            each["x"]["value"] * 0.3048 / (111_320 * 0.70752) + 8.0,
            each["y"]["value"] * 0.3048 / 111_132 + 45.0,
        )
        for each in request["places"]["points"]
    ]
    metric["places"] = {
        "frame": "wgs84",
        "type": "FeatureCollection",
        "features": [
            {
                "type": "Feature",
                "geometry": {"type": "Point", "coordinates": list(each)},
                "properties": {"name": f"p{place}"},
            }
            for place, each in enumerate(degrees)
        ],
    }
    ours, theirs = laid_out(client, request), laid_out(client, metric)
    assert float(ours["costs"]["total"]) == pytest.approx(float(theirs["costs"]["total"]), rel=5e-3)
    assert [row["pointer"] for row in ours["layout"]["trenches"]] == [
        row["pointer"] for row in theirs["layout"]["trenches"]
    ]


def test_a_layout_is_the_same_in_two_processes() -> None:
    script = (
        "import sys; from msgspec import json; from service.studies import STUDIES\n"
        "from tests.jobs import reply_to\n"
        f"body = open({str(EXAMPLE)!r}, 'rb').read()\n"
        "sys.stdout.buffer.write(json.encode(reply_to(STUDIES['least-cost-layout'], body)))"
    )
    both = [
        subprocess.run(  # noqa: S603  # this interpreter and a program written here
            [sys.executable, "-c", script],
            check=True,
            capture_output=True,
            cwd=EXAMPLE.parents[2],
            env={"PYTHONHASHSEED": seed},
        ).stdout
        for seed in ("1", "2")
    ]
    assert both[0] == both[1]
    assert json.loads(both[0])["status"] == "laid-out"


def test_a_fixture_that_nothing_reaches_is_proven_and_told_with_its_distance(client: Client) -> None:
    request = garden(3, 1, mounts=2)
    request["routes"] = [each | {"length": jobs.feet(9_000)} for each in request["routes"]]
    reply = jobs.answer(client, request, PATH)
    assert reply["status"] == "none-passes"
    assert len(reply["unreached"]) == 3
    assert all(row["reach"]["value"] < row["distance"]["value"] for row in reply["unreached"])
    assert {row["mounting_point"] for row in reply["unreached"]} <= {
        "/mounting_points/0",
        "/mounting_points/1",
    }
    assert reply["helps"] == []
    assert reply["summary"]["text"].endswith("No one change that was tried is enough.")


def test_what_is_said_to_help_where_nothing_passes_does(client: Client) -> None:
    request = garden(2, 1, transformers=[fed_by(600, "398.00", taps=[jobs.volts(12)])])
    request["stock"] = request["stock"][:1]
    request["routes"] = [each | {"length": jobs.feet(400)} for each in request["routes"]]
    reply = jobs.answer(client, request, PATH)
    assert reply["status"] == "none-passes"
    helps = {row["code"] for row in reply["helps"]}
    assert {"thicker-cable", "24-volt-fixtures", "higher-tap"} <= helps
    higher = [each | {"taps": [jobs.volts(12), jobs.volts(15)]} for each in request["transformers"]]
    thicker = {
        "id": "12 AWG",
        "conductor": "12 AWG",
        "price": {"kind": "per-length", "amount": "0.74", "per": "ft"},
    }
    for change in ({"transformers": higher}, {"stock": [*request["stock"], thicker]}):
        assert jobs.answer(client, {**request, **change}, PATH)["status"] == "laid-out"


def test_more_load_than_all_transformers_carry_is_proven(client: Client) -> None:
    request = garden(6, 1, transformers=[fed_by(10, "40.00")])
    reply = jobs.answer(client, request, PATH)
    assert reply["status"] == "none-passes"
    assert reply["connected"]["value"] > reply["carried"]["value"]


@pytest.mark.parametrize("seed", range(1, 6))
def test_where_fixtures_fit_alone_and_not_together_none_passes_and_what_helps_does(
    client: Client, seed: int
) -> None:
    request = scarce(6, seed, 250)
    reply = jobs.answer(client, request, PATH)
    assert (reply["status"], reply["method"]) == ("none-passes", "relaxation")
    assert reply["unreached"] == []
    assert "at p0, they do not carry all 6 fixtures" in reply["summary"]["text"]
    helps = {row["code"] for row in reply["helps"]}
    assert "more-volt-amperes" in helps
    assert "more-effort" not in helps
    [box] = request["transformers"]
    box["rating"]["value"] *= 2
    assert laid_out(client, request)


def test_without_the_engine_what_it_would_refute_is_only_not_found(
    client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    for module in (study, translate):
        monkeypatch.setattr(module, "available", lambda: False)
    reply = jobs.answer(client, scarce(6, 1, 250), PATH)
    assert (reply["status"], reply["method"]) == ("none-found", "closed-form")
    assert "bound-closed-form" in jobs.assumed(reply)


def test_where_nothing_is_found_the_nearest_is_told_with_what_it_breaks(client: Client) -> None:
    request = garden(4, 1, effort=2_000)
    for fixture in request["fixtures"]:
        fixture["window"] = jobs.window(9, 12)
    reply = jobs.answer(client, request, PATH)
    assert reply["status"] == "none-found"
    assert {each["code"] for each in reply["findings"]} >= {"fixture-above-window"}
    assert [each["code"] for each in reply["helps"]] == ["lower-tap"]
    assert "12 V" in reply["summary"]["text"]


def test_cable_from_spools_is_cut_from_them(client: Client) -> None:
    spools = {
        "kind": "per-spool",
        "spools": [{"length": jobs.feet(250), "amount": "95"}, {"length": jobs.feet(500), "amount": "170"}],
    }
    request = garden(5, 3, stock=[{"id": "c12", "conductor": "12 AWG", "price": spools}])
    reply = laid_out(client, request)
    assert_sound(client, request, reply)
    [line] = reply["purchase"]
    bought = sum(row["length"]["value"] * row["count"] for row in line["spools"])
    cut = sum(piece["length"]["value"] for row in line["cut_list"] for piece in row["pieces"])
    assert cut == pytest.approx(line["quantity"]["value"], abs=0.01)
    assert bought >= cut


def test_a_hundred_feet_cost_a_hundred_times_a_foot(client: Client) -> None:
    points = [{"name": f"p{at}", "x": jobs.feet(at), "y": jobs.feet(0)} for at in (0, 30, 100)]
    trench = {"amount": "1.10", "per": "ft"}
    request = garden(3, 1) | {
        "places": {"frame": "local", "points": points},
        "routes": [
            {"from": "p0", "to": "p30", "trench": trench},
            {"from": "p30", "to": "p100", "trench": trench},
        ],
        "fixtures": [{"place": "p100", "load": jobs.watts(4, power_factor=0.9)}],
        "stock": [
            {"id": "c", "conductor": "12 AWG", "price": {"kind": "per-length", "amount": "0.74", "per": "ft"}}
        ],
    }
    costs = laid_out(client, request)["costs"]
    assert (costs["cable"], costs["trenches"]) == ("74.00", "110.00")


def test_a_second_mounting_point_is_used_where_it_is_cheaper(client: Client) -> None:
    request = garden(8, 5, mounts=2)
    free = [each | {"price": "0"} for each in request["mounting_points"]]
    dear = [each | {"price": f"{5_000 * at}"} for at, each in enumerate(request["mounting_points"])]
    cheap = laid_out(client, request | {"mounting_points": free})
    costly = laid_out(client, request | {"mounting_points": dear})
    assert {row["mounting_point"] for row in costly["layout"]["supplies"]} == {"/mounting_points/0"}
    assert Decimal(cheap["costs"]["total"]) <= Decimal(costly["costs"]["total"])


MISTAKES = [
    ({"fixtures": [{"place": "nowhere", "load": jobs.watts(3)}]}, "place-unknown", "/fixtures/0/place"),
    (
        {"fixtures": [{"place": "p0", "load": jobs.watts(3)}]},
        "fixture-at-mounting-point",
        "/fixtures/0/place",
    ),
    ({"mounting_points": [{"place": "p0"}, {"place": "p0"}]}, "place-twice", "/mounting_points/1/place"),
    ({"routes": [{"from": "p0", "to": "p0"}]}, "route-without-length", "/routes/0"),
    ({"routes": [{"from": "p1", "to": "p2"}]}, "place-unreached", "/fixtures/0/place"),
    ({"stock": [{"id": "c", "conductor": "12 AWG"}]}, "price-missing", "/stock/0"),
]


@pytest.mark.parametrize(("changed", "code", "pointer"), MISTAKES, ids=[code for _, code, _ in MISTAKES])
def test_what_does_not_fit_together_is_refused_where_it_stands(
    client: Client, changed: Json, code: str, pointer: str
) -> None:
    response = client.post(PATH, json=garden(3, 1) | changed)
    assert response.status_code == 422
    problem = response.json()
    assert problem["code"] == "site-invalid"
    assert (code, pointer) in [(each["code"], each["pointer"]) for each in problem["errors"]]


def test_a_type_that_there_is_not_is_told_at_the_fixture(client: Client) -> None:
    request = garden(3, 1)
    request["fixtures"][1] = {"place": request["fixtures"][1]["place"], "type": "path"}
    problem = client.post(PATH, json=request).json()
    assert [each["pointer"] for each in problem["errors"]] == ["/fixtures/1/type"]


def test_a_plan_of_more_than_a_kilometre_is_refused(client: Client) -> None:
    features: list[Json] = [
        {
            "type": "Feature",
            "geometry": {"type": "Point", "coordinates": [0.1 * place, latitude]},
            "properties": {"name": f"p{place}"},
        }
        for place, latitude in enumerate([45.0] * len(garden(3, 1)["places"]["points"]))
    ]
    request = garden(3, 1) | {"places": {"frame": "wgs84", "type": "FeatureCollection", "features": features}}
    codes = [each["code"] for each in client.post(PATH, json=request).json()["errors"]]
    assert codes == ["plan-too-wide"]
    features[2]["geometry"]["coordinates"] = [45.0, 100.0]
    codes = [each["code"] for each in client.post(PATH, json=request).json()["errors"]]
    assert codes == ["latitude-out-of-range"]


ASSUMED: list[tuple[str, Json]] = [
    ("lengths-as-drawn", garden(3, 1, effort=2_000)),
    ("routes-straight", garden(3, 1, effort=2_000)),
]


@pytest.mark.parametrize(("code", "request_body"), ASSUMED, ids=[code for code, _ in ASSUMED])
def test_what_a_layout_takes_for_granted_is_said(client: Client, code: str, request_body: Json) -> None:
    assert code in jobs.assumed(jobs.answer(client, request_body, PATH))


def test_the_stock_of_a_gauge_recommendation_posts_unchanged(client: Client) -> None:
    asked = json.loads((EXAMPLE.parent / "gauge_recommendation_spools.json").read_bytes())
    request = garden(4, 2, stock=asked["stock"][:5])
    assert client.post(PATH, json=request).status_code == 200


def test_more_effort_is_never_dearer(client: Client) -> None:
    totals = [
        Decimal(laid_out(client, garden(9, 6, mounts=2, effort=effort))["costs"]["total"])
        for effort in (2_000, 10_000, 40_000)
    ]
    assert totals[2] <= totals[0]


@pytest.mark.parametrize(("fixtures", "mounts"), [(16, 2), (30, 1)])
def test_more_effort_never_proves_less(client: Client, fixtures: int, mounts: int) -> None:
    proven = [
        Decimal(laid_out(client, garden(fixtures, 3, mounts=mounts, effort=effort))["bound"]["amount"])
        for effort in (4_000, 16_000, 30_000, 60_000)
    ]
    assert proven == sorted(proven)
    assert proven[0] < proven[-1]


def test_the_plan_has_every_fixture_and_run(client: Client) -> None:
    response = client.post(
        PATH,
        content=EXAMPLE.read_bytes(),
        headers={"content-type": "application/json", "accept": "image/svg+xml"},
    )
    drawn = response.text
    for number in range(1, 13):
        assert f">{number}</text>" in drawn
    assert "run 1:" in drawn
    assert "garage wall" in drawn
