"""`POST /v1/voltage-drop` as a client sees it."""

import pytest

from service.circuit.job import MAXIMUM_LOOPS, MAXIMUM_POINTS
from tests.client import Client
from tests.jobs import (
    Json,
    amperes,
    assumed,
    awg,
    branch,
    dc_supply,
    even,
    feet,
    findings,
    halogen,
    job,
    lamp,
    metres,
    ohms_per_km,
    quantity,
    resistor,
    run,
    solved,
    strip,
    totals,
    transformer,
    voltages,
    volts,
    watts,
    window,
)

ONE_LAMP = job(run(lamp(10, watts(6))))


def post(client: Client, request: Json) -> tuple[int, Json]:
    reply = client.post("/v1/voltage-drop", json=request)
    return reply.status_code, reply.json()


# What is echoed.


def test_ids_are_echoed_on_every_row_that_has_one(client: Client) -> None:
    side = branch(5, lamp(1, watts(3), id="lamp 3"), id="branch/1")
    request = job(
        run(
            lamp(10, watts(3), id='lamp "1"'),
            lamp(12, watts(3), id="lamp 2", count=2, spacing=metres(1)),
            branches=[side],
            id="run#0",
        )
    )
    reply = solved(client, request | {"id": "heron court 17"})
    assert reply["id"] == "heron court 17"
    assert [row.get("id") for row in reply["fixtures"]] == ['lamp "1"', "lamp 2", "lamp 2", "lamp 3"]
    assert reply["runs"][0]["id"] == "run#0"
    assert {span["id"] for span in reply["spans"]} == {"run#0", "branch/1"}


def test_the_sources_say_how_they_are_known(client: Client) -> None:
    reply = solved(client, job(run(lamp(10, halogen(20)), cable=awg(12))))
    assert {"nec-9-8", "lamp-rerating"} <= {row["code"] for row in reply["sources"]}
    assert all(": " in row["message"] for row in reply["sources"])


# Units.


def lengths(reply: Json) -> set[str]:
    rows = [row["at"] for row in reply["fixtures"]] + [row["length"] for row in reply["spans"]]
    return {row["unit"] for row in rows}


@pytest.mark.parametrize(("asked", "unit"), [("us", "ft"), ("metric", "m")])
def test_the_reply_speaks_the_units_that_were_asked_for(client: Client, asked: str, unit: str) -> None:
    reply = solved(client, ONE_LAMP | {"units": asked})
    assert lengths(reply) == {unit}
    assert voltages(reply) == voltages(solved(client, ONE_LAMP))


@pytest.mark.parametrize(("unit", "shown"), [("mm", "m"), ("km", "m"), ("in", "ft"), ("yd", "ft")])
def test_without_a_wish_the_reply_follows_the_first_length(client: Client, unit: str, shown: str) -> None:
    reply = solved(client, job(run({"at": quantity(0.5, unit), "load": watts(0.01)})))
    assert lengths(reply) == {shown}


def test_the_first_length_may_stand_on_a_branch(client: Client) -> None:
    side = {"at": feet(30), "cable": awg(12), "fixtures": [{"at": feet(5), "load": watts(3)}]}
    assert lengths(solved(client, job(run(branches=[side])))) == {"ft"}


def test_a_finding_about_a_length_speaks_the_units_of_the_reply(client: Client) -> None:
    request = job(run(lamp(12.192, watts(3))), supply=transformer(maximum_cable_length=metres(3.048)))
    (found,) = findings(solved(client, request | {"units": "us"}), "cable-too-long-for-supply")
    assert (found["measured"], found["limit"]) == (feet(40.0), feet(10.0))
    assert "40 ft" in found["message"]


# What is assumed.


def test_everything_stated_leaves_few_assumptions(client: Client) -> None:
    supply = dc_supply(
        12, internal_resistance=quantity(10, "mohm"), circuits=[{"name": "a", "limit": quantity(20, "A")}]
    )
    cable = awg(12, material="copper", stranding="stranded")
    stated = job(run(lamp(10, watts(3), window=window(9, 15)), cable=cable), supply=supply, nominal_v=12)
    stated["conditions"] = {"conductor_temperature": quantity(30, "degC")}
    assert assumed(solved(client, stated)) == []


TWO_CIRCUITS: list[Json] = [{"name": "left"}, {"name": "right"}]


ASSUMED: list[tuple[str, Json]] = [
    ("supply-ideal", ONE_LAMP),
    ("mains-nominal", ONE_LAMP),
    ("one-circuit", ONE_LAMP),
    ("first-circuit-taken", job(run(lamp(10, watts(6))), supply=transformer(circuits=TWO_CIRCUITS))),
    ("fixtures-12-volt", ONE_LAMP),
    ("power-factor-one", ONE_LAMP),
    ("window-default", ONE_LAMP),
    ("conductor-20-degrees", ONE_LAMP),
    ("conductor-copper", ONE_LAMP),
    ("conductor-stranded", job(run(lamp(10, watts(6)), cable=awg(12)))),
    ("conductor-derived", job(run(lamp(10, watts(6)), cable=awg(12, stranding="flexible")))),
    ("points-merged", job(run(lamp(10, watts(6)), lamp(10.0005, watts(6))))),
    ("all-current-in-phase", ONE_LAMP | {"conditions": {"non_active_current": "in-phase"}}),
    (
        "battery-nominal",
        job(
            run(lamp(1, watts(3))),
            supply={"kind": "battery", "lowest": volts(11), "nominal": volts(12), "highest": volts(14)},
        ),
    ),
    (
        "mains-as-measured",
        job(
            run(lamp(1, watts(3))),
            supply=transformer(open_circuit={"voltage": volts(12.3), "at_primary": volts(119)}),
        ),
    ),
    (
        "taps-share-winding",
        job(
            run(lamp(1, watts(3)), tap=volts(13)),
            supply=transformer(winding={"rating": quantity(100, "VA"), "regulation_percent": 4}),
        ),
    ),
    ("usual-range", ONE_LAMP | {"conditions": {"range": "usual"}}),
    ("layout-unknown", totals(watts(20), 10)),
    ("spread-as-lumps", totals(watts(20), 10)),
    ("strip-constant-power", job(run(lamp(5, strip(5, 9.6))))),
    ("strip-without-rail", job(run(lamp(5, strip(5, 9.6))))),
    ("strip-as-lumps", job(run(lamp(5, strip(5, 9.6, 0.09))))),
]


@pytest.mark.parametrize(("code", "request_body"), ASSUMED, ids=[code for code, _ in ASSUMED])
def test_what_is_left_open_is_said(client: Client, code: str, request_body: Json) -> None:
    assert code in assumed(solved(client, request_body))


def test_a_run_that_names_its_circuit_is_not_said_to_be_on_the_first(client: Client) -> None:
    named = job(run(lamp(1, watts(3)), circuit="right"), supply=transformer(circuits=TWO_CIRCUITS))
    assert "first-circuit-taken" not in assumed(solved(client, named))
    only = job(run(lamp(1, watts(3))), supply=transformer(circuits=TWO_CIRCUITS[:1]))
    assert "first-circuit-taken" not in assumed(solved(client, only))


def test_several_named_circuits_are_not_said_to_be_one(client: Client) -> None:
    two = job(run(lamp(1, watts(3)), circuit="left"), run(lamp(1, watts(3)), circuit="right"))
    reply = solved(client, two)
    assert "one-circuit" not in assumed(reply)
    assert [row["name"] for row in reply["supply"]["circuits"]] == ["left", "right"]


# How much one request may ask.


BACK = {"length": metres(1)}
RING = branch(1, lamp(1, watts(1)), cable=awg(12), return_leg=BACK)


def test_as_many_fixtures_as_may_be_are_answered(client: Client) -> None:
    # The supply is a point as well, and what leaves it another.
    most = MAXIMUM_POINTS - 2
    assert len(solved(client, even(most, watts(0.001), 400))["fixtures"]) == most


def test_many_fixtures_in_one_spot_are_one_row(client: Client) -> None:
    reply = solved(client, job(run(lamp(1, watts(0.005), count=10_000))))
    assert [row["count"] for row in reply["fixtures"]] == [10_000]


@pytest.mark.parametrize(
    "too_large",
    [
        job(*[run(lamp(1, watts(0.01), count=MAXIMUM_POINTS // 2 + 1, spacing=metres(1)))] * 2),
        job(*[run(lamp(2, watts(1)), return_leg=BACK, branches=[RING])] * (MAXIMUM_LOOPS // 2 + 1)),
    ],
    ids=["points", "loops"],
)  # fmt: skip
def test_a_job_too_large_is_refused_with_a_pointer(client: Client, too_large: Json) -> None:
    status, problem = post(client, too_large)
    assert (status, problem["code"]) == (422, "job-too-large")
    assert [error["pointer"] for error in problem["errors"]] == ["/wiring"]
    assert any(
        f"one request may have {limit}." in problem["detail"] for limit in (MAXIMUM_POINTS, MAXIMUM_LOOPS)
    )


def test_the_largest_number_of_loops_is_answered(client: Client) -> None:
    request = job(*[run(lamp(2, watts(0.1)), return_leg={"length": metres(1)}) for _ in range(MAXIMUM_LOOPS)])
    assert len(solved(client, request)["runs"]) == MAXIMUM_LOOPS


# Things of no length.

NOTHING_LONG: dict[str, Json] = {
    "lamp at the supply": job(run(lamp(0, watts(6)))),
    "run without anything": job(run()),
    "tail of nought": job(run(lamp(5, watts(6)), tail=metres(0))),
    "spacing of nought": job(run(lamp(5, watts(6), count=4, spacing=metres(0)))),
    "lead of nought": job(run(lamp(5, watts(6), lead={"length": metres(0), "cable": awg(18)}))),
    "lead and splice of nought": job(
        run(
            lamp(
                5,
                watts(6),
                lead={"length": metres(0), "cable": awg(18)},
                splice_resistance=quantity(0, "ohm"),
            )
        )
    ),
    "splice at the supply": job(run(lamp(0, watts(6), splice_resistance=quantity(10, "mohm")))),
    "branch at the supply": job(run(branches=[branch(0, lamp(0, watts(6)))])),
    "return leg of nothing": job(run(return_leg={"length": metres(5)})),
    "change at the start": job(
        run(lamp(5, watts(6)), cable_changes=[{"at": metres(0), "cable": ohms_per_km(9)}])
    ),
    "even over no length": even(3, watts(6), 0),
    "half a millimetre": job(run(lamp(0.0005, watts(6)))),
}


@pytest.mark.parametrize("name", NOTHING_LONG)
def test_things_of_no_length_are_answered(client: Client, name: str) -> None:
    reply = solved(client, NOTHING_LONG[name])
    assert all(11.0 < voltage <= 12.0 for voltage in voltages(reply))
    assert all(span["resistance"]["value"] > 0 for span in reply["spans"])


def test_spacing_of_nought_is_the_same_as_none(client: Client) -> None:
    apart = solved(client, NOTHING_LONG["spacing of nought"])
    together = solved(client, job(run(lamp(5, watts(6), count=4))))
    assert voltages(apart) == voltages(together) * 4


def test_a_lamp_at_the_supply_has_the_terminal_voltage(client: Client) -> None:
    reply = solved(client, job(run(lamp(0, resistor(30)), lamp(4, amperes(1)))))
    assert reply["fixtures"][0]["voltage"] == reply["supply"]["terminal"]


def test_a_return_leg_of_no_length_is_not_passed_over_in_silence(client: Client) -> None:
    # Of no length it would make the far end the near end; if it is set aside, that must be said.
    ring = solved(client, job(run(lamp(20, watts(6)), return_leg={"length": metres(0)})))
    plain = solved(client, job(run(lamp(20, watts(6)))))
    said = {entry["code"] for entry in [*ring["findings"], *ring["assumptions"]]}
    known = {entry["code"] for entry in [*plain["findings"], *plain["assumptions"]]}
    assert voltages(ring) == [12.0] or said - known


def test_a_first_fixture_past_the_end_is_not_moved_in_silence(client: Client) -> None:
    # The length is 10 m; the first fixture was asked for at 50 m.
    moved = solved(client, even(3, watts(6), 10, first_at=metres(50)))
    plain = solved(client, even(3, watts(6), 10))
    assert {entry["code"] for entry in moved["findings"]} - {entry["code"] for entry in plain["findings"]}
