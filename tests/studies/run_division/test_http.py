"""`POST /v1/run-division`: zones in, runs with their cables out."""

import random
from typing import Any

import pytest

from tests import jobs
from tests.client import Client
from tests.jobs import Json
from tests.studies.run_division.zones import PATH, asked, drawn_request, lamps, stock, zone

TAPS = [jobs.volts(each) for each in (12, 13, 14, 15)]


def divided(client: Client, request: Json) -> Json:
    reply = jobs.answer(client, request, PATH)
    assert reply["status"] == "divided", reply["summary"]["text"]
    return reply


def posted(client: Client, request: Json, reply: Json) -> Json:
    """What a voltage drop says of the wiring of the reply."""
    job = {"supply": request["supply"], "wiring": reply["wiring"], "conditions": reply["judged_conditions"]}
    return jobs.answer(client, job | ({"limits": request["limits"]} if "limits" in request else {}))


def forms(reply: Json) -> list[list[str]]:
    return [[run["form"] for run in zone["runs"]] for zone in reply["zones"]]


@pytest.mark.parametrize("seed", range(25))
def test_what_is_divided_passes_when_it_is_posted(client: Client, seed: int) -> None:
    request = drawn_request(random.Random(seed))  # repeatable, not secret
    reply = jobs.answer(client, request, PATH)
    if reply["status"] != "divided":
        assert reply["summary"]["verdict"] == "fails"
        assert (
            not any(row["taken"] and row["outcome"] == "passes" for row in reply["compared"][:1])
            or len(request["zones"]) > 1
        )
        return
    drop = posted(client, request, reply)
    assert drop["status"] == "solved"
    assert [found["code"] for found in drop["findings"] if found["severity"] != "note"] == []
    fixtures = sum(int(line.get("count", 1)) for each in request["zones"] for line in each["fixtures"])
    assert len(drop["fixtures"]) == fixtures
    told = sum(
        abs(row["last"] - row["first"]) + 1
        for each in reply["zones"]
        for run in each["runs"]
        for row in run["fixtures"]
    )
    assert told == fixtures


@pytest.mark.parametrize("seed", range(25, 35))
def test_no_plan_of_one_zone_is_cheaper_than_the_one_that_is_taken(client: Client, seed: int) -> None:
    request = drawn_request(random.Random(seed))  # repeatable, not secret
    request = request | {"zones": request["zones"][:1], "stock": stock(), "currency": "USD"}
    reply = jobs.answer(client, request, PATH)
    if reply["status"] == "divided":
        prices = [float(row["price"]) for row in reply["compared"] if "price" in row]
        (taken,) = [float(row["price"]) for row in reply["compared"] if row["taken"]]
        assert taken == min(prices)
        # Lines are rounded to cents before they are added up.
        assert float(reply["total"]) <= taken + 0.02


@pytest.mark.parametrize("seed", range(35, 45))
def test_without_prices_no_plan_of_one_zone_has_less_metal(client: Client, seed: int) -> None:
    request = drawn_request(random.Random(seed))  # repeatable, not secret
    request = {key: value for key, value in request.items() if key not in {"stock", "currency"}}
    reply = jobs.answer(client, request | {"zones": request["zones"][:1]}, PATH)
    if reply["status"] == "divided":
        metal = [row["metal"]["value"] for row in reply["compared"] if "metal" in row]
        (taken,) = [row["metal"]["value"] for row in reply["compared"] if row["taken"]]
        assert taken == min(metal)
        # Both conductors of every piece that is chosen: their area times their length.
        assert taken == pytest.approx(sum(metal_of(row) for row in reply["chosen"]), rel=1e-3)


def metal_of(piece: Json) -> float:
    """Metal of a two-conductor cable whose size is its nominal area (IEC 60228). [mm² m]"""
    area_mm2, unit = piece["conductor"].split()
    assert (unit, piece["length"]["unit"]) == ("mm2", "m")
    return 2 * float(area_mm2) * float(piece["length"]["value"])


def test_a_long_zone_is_divided_where_one_run_does_not_pass(client: Client) -> None:
    request = asked(zone("Path", 25, lamps(0, 20, 3.0, 5.0)), stock=stock("12 AWG", "10 AWG"))
    reply = divided(client, request)
    rows = {(row["runs"], row["hubs"]): row["outcome"] for row in reply["compared"]}
    assert rows[1, False] == "fails"
    (found,) = reply["zones"]
    assert len(found["runs"]) > 1
    loads = [run["load"]["value"] for run in found["runs"]]
    # Twenty lamps alike: no run has more than one of them more than another.
    assert max(loads) - min(loads) <= 7.0 + 1e-9
    assert "Path in" in reply["summary"]["text"]


def test_a_route_that_the_cable_meets_in_the_middle_is_a_tee(client: Client) -> None:
    line = lamps(0, 6, 3.0, name="step")
    request = asked(zone("Stairs", 10, line, arrives_at=jobs.metres(7.5)), runs_at_most=1, hubs=False)
    reply = divided(client, request)
    assert forms(reply) == [["tee"]]
    (run,) = reply["wiring"]["runs"]
    assert [fixture["at"]["value"] for fixture in run["fixtures"]] == [11.5]
    (back,) = run["branches"]
    assert (back["at"]["value"], back["fixtures"][0]["at"]["value"]) == (10.0, 1.5)
    assert reply["zones"][0]["runs"][0]["fixtures"] == [
        {"pointer": "/zones/0/fixtures/0", "first": 4, "last": 6},
        {"pointer": "/zones/0/fixtures/0", "first": 3, "last": 1},
    ]


def test_every_leg_of_a_hub_gives_lamps_alike_the_same_volts(client: Client) -> None:
    # One thick feed far away and a window so narrow that only like volts fit in it.
    line = lamps(0, 5, 8.0, 6.0) | {"window": jobs.window(10.9, 11.6)}
    request = asked(
        zone("Bed", 6, line),
        supply=jobs.transformer(),
        runs_at_most=1,
        conditions={"range": "as-stated"},
        stock=stock("12 AWG", "10 AWG", "8 AWG"),
    )
    reply = divided(client, request)
    assert forms(reply) == [["hub"]]
    assert reply["zones"][0]["runs"][0]["hub"] == {
        "along": jobs.metres(16.0),
        "leg": jobs.metres(16.0),
        "legs": 5,
    }
    assert len(set(jobs.voltages(posted(client, request, reply)))) <= 2


def test_hubs_are_not_looked_at_where_they_are_not_wanted(client: Client) -> None:
    reply = divided(client, asked(zone("Bed", 6, lamps(0, 5)), hubs=False))
    assert not any(row["hubs"] for row in reply["compared"])


def test_runs_go_on_circuits_so_that_the_fullest_has_the_most_room(client: Client) -> None:
    circuits = [{"name": name, "limit": jobs.quantity(25, "A"), "listed_system": True} for name in "AB"]
    supply = jobs.transformer(winding=jobs.winding(600, 4), circuits=circuits)
    zones = [zone(f"zone {number}", 5, lamps(0, 4, 2.0, 5.0)) for number in range(4)]
    reply = divided(client, asked(*zones, supply=supply, runs_at_most=1, hubs=False))
    on = [run["circuit"] for each in reply["zones"] for run in each["runs"]]
    assert sorted(on) == ["A", "A", "B", "B"]
    assert [run["circuit"] for run in reply["wiring"]["runs"]] == on


def test_a_higher_tap_is_taken_where_it_lets_the_device_trip(client: Client) -> None:
    """Found by this study: two runs on taps got 10 AWG where 12 and 14 AWG pass on the next tap."""
    circuits = [{"name": name, "limit": jobs.quantity(25, "A"), "listed_system": True} for name in "AB"]
    supply = jobs.transformer(winding=jobs.winding(300, 4), circuits=circuits, taps=TAPS[:3])
    zones = [
        zone("Path", 11, lamps(0, 12, 2.7)),
        zone("Terrace", 18, lamps(0, 7, 2.4), arrives_at=jobs.metres(7.2)),
    ]
    both = divided(client, asked(*zones, supply=supply, runs_at_most=1, hubs=False, stock=stock()))
    each = [
        divided(client, asked(one, supply=supply, runs_at_most=1, hubs=False, stock=stock())) for one in zones
    ]
    # They share the winding alone, which is hardly loaded.
    assert float(both["total"]) == pytest.approx(sum(float(one["total"]) for one in each), rel=0.05)


def test_types_are_named_as_in_any_wiring(client: Client) -> None:
    kinds = [{"id": "p", "load": jobs.watts(4, power_factor=0.9), "name": "path light"}]
    line = {"type": "p", "at": jobs.metres(1), "count": 3, "spacing": jobs.metres(2)}
    reply = divided(client, asked(zone("Path", 6, line), fixture_types=kinds))
    assert posted(client, asked(), reply)["fixtures"][0]["name"].startswith("path light 1")


def test_a_division_that_holds_only_the_stated_state_says_so(client: Client) -> None:
    line = lamps(0, 8, 3.0, 5.0) | {"window": jobs.window(11.0, 12.4)}
    reply = divided(client, asked(zone("Path", 5, line)))
    assert "range-not-held" in {found["code"] for found in reply["findings"]}
    assert reply["judged_conditions"] == {"range": "as-stated"}


def test_where_nothing_passes_it_says_what_would_help(client: Client) -> None:
    reply = jobs.answer(client, asked(zone("Wood", 400, lamps(0, 10, 5.0, 9.0)), runs_at_most=2), PATH)
    assert (reply["status"], reply["summary"]["verdict"]) == ("none-found", "fails")
    assert {row["outcome"] for row in reply["compared"]} == {"fails"}
    assert reply["summary"]["text"].endswith("Wood in 2 runs of 5 and 5 fixtures.")
    for row in reply["remedies"]:
        if row["outcome"]["passes"]:
            job = {"supply": row.get("supply", asked()["supply"]), "wiring": row["wiring"]}
            judged = row.get("judged_conditions", reply["judged_conditions"])
            drop = jobs.answer(client, job | {"conditions": judged})
            assert [found["code"] for found in drop["findings"] if found["severity"] != "note"] == []


@pytest.mark.parametrize(
    ("line", "code", "pointer"),
    [
        ({"at": jobs.metres(1)}, "load-missing", "/zones/1/fixtures/0"),
        ({"at": jobs.metres(1), "type": "q"}, "unknown-type", "/zones/1/fixtures/0/type"),
    ],
)
def test_a_mistake_is_told_where_it_stands_in_the_request(
    client: Client, line: Json, code: str, pointer: str
) -> None:
    reply = client.post(PATH, json=asked(zone("Path", 5, lamps(0)), zone("Bed", 5, line)))
    assert reply.status_code == 422
    problem: Any = reply.json()
    assert [(error["code"], error["pointer"]) for error in problem["errors"]] == [(code, pointer)]


def test_too_many_fixtures_are_refused(client: Client) -> None:
    reply = client.post(PATH, json=asked(zone("Path", 5, lamps(0, 150)), zone("Bed", 5, lamps(0, 51))))
    assert (reply.status_code, reply.json()["code"]) == (422, "job-too-large")
    assert reply.json()["detail"].startswith("The wiring has 201 fixtures; one request may have 200.")


def test_where_no_cable_carries_it_the_thickest_is_told(client: Client) -> None:
    far = zone("Path", 3_000, lamps(0, 6))
    reply = jobs.answer(client, asked(far, stock=stock("16 AWG", "10 AWG", "12 AWG")), PATH)
    assert "With 10 AWG everywhere: The wiring cannot carry the load" in reply["summary"]["text"]


def test_runs_of_zones_with_the_same_name_are_told_apart(client: Client) -> None:
    zones = [zone("Bed", 5, lamps(0, 4)), zone("Bed 1", 6, lamps(0, 4)), zone("Bed", 8, lamps(0, 4))]
    reply = divided(client, asked(*zones, stock=stock(), runs_at_most=1))
    assert [run["name"] for run in reply["wiring"]["runs"]] == ["Bed 2", "Bed 1", "Bed 3"]


@pytest.mark.parametrize("runs", [4, 20])
def test_as_many_fixtures_and_runs_as_there_may_be_are_answered(client: Client, runs: int) -> None:
    supply = jobs.transformer(winding=jobs.winding(3000, 4), taps=TAPS)
    request = asked(zone("path", 10, lamps(0, 200, 0.5, 1.0)), supply=supply, stock=stock())
    assert "status" in jobs.answer(client, request | {"runs_at_most": runs}, PATH)


def test_a_route_of_which_no_cable_could_be_told_is_refused(client: Client) -> None:
    """Two lengths that are allowed each may be too much together."""
    far = zone("Path", 90_000, lamps(0, 3, 20_000.0))
    reply = client.post(PATH, json=asked(zone("Bed", 5, lamps(0)), far))
    assert reply.status_code == 422
    assert [(each["code"], each["pointer"]) for each in reply.json()["errors"]] == [
        ("route-too-long", "/zones/1")
    ]
