"""Whole runs: on another tap, exchanged at the supply or in the record, and each with a fault of its own."""

from typing import Any

import pytest

from tests.client import Client
from tests.http.jobs import Json, job, lamp, run, transformer, volts, watts, winding
from tests.studies.readings_check.jobs import amps_at, as_built, check, fixture, lit, volts_at

TAPS = [12.0, 13.0, 14.0, 15.0]


def garden(*taps_v: float, loads: tuple[float, ...] = (20.0, 8.0, 14.0), **supply: Any) -> Json:
    """Two runs or three, each on its tap, of three lamps 8 m apart."""
    offered = {"taps": [volts(each) for each in TAPS], **supply}
    runs = [
        run(
            *(lamp(8.0 * place, watts(loads[index], power_factor=1)) for place in (1, 2, 3)),
            cable={"kind": "listed", "conductor": "12 AWG"},
            name=name,
            tap=volts(tap_v),
        )
        for index, (name, tap_v) in enumerate(zip(("Drive", "Terrace", "Pond"), taps_v, strict=False))
    ]
    return job(*runs, supply=transformer(12, winding=winding(300, 4), **offered))


def run_at(index: int) -> str:
    return f"/wiring/runs/{index}"


def visit(runs: int, *, amperes: bool = False) -> list[Json]:
    """Bare terminals, everything on, each run alone; amperes into each run where wanted."""
    found = [volts_at(None, state="no-load"), volts_at(None)]
    for index in range(runs):
        alone = lit(run_at(index))
        found += [volts_at(fixture(place, index)) for place in (0, 1, 2)]
        found += [volts_at(None, state=alone), volts_at(fixture(2, index), state=alone)]
        found += [amps_at(run_at(index))] if amperes else []
    return found


def told(client: Client, described: Json, built: Json, readings: list[Json]) -> Json:
    """The reply to readings of one garden, sent with the description of another."""
    return check(client, as_built({**described, "readings": readings}, built))


@pytest.mark.parametrize(("described_v", "built_v"), [(12.0, 13.0), (12.0, 15.0), (15.0, 13.0), (14.0, 12.0)])
def test_a_run_on_another_tap_is_found(client: Client, described_v: float, built_v: float) -> None:
    reply = told(client, garden(12.0, described_v), garden(12.0, built_v), visit(2))
    first = reply["explanations"][0]
    assert reply["verdict"] == "disagrees"
    assert first["code"] == "other-tap"
    assert first["located_at"]["pointer"] == run_at(1)
    assert first["tap"] == {"value": built_v, "unit": "V"}
    assert first["message"] == f"Terrace is on the {built_v:g} V tap, not on the {described_v:g} V tap."
    assert first["chi_square"] < 1.0


def test_only_taps_that_the_supply_offers_are_causes(client: Client) -> None:
    # Built on 15 V, which this box has not got by what the request says of it: 12 and 13 V are all.
    described = garden(12.0, 12.0)
    described["supply"]["taps"] = [volts(12.0), volts(13.0)]
    reply = told(client, described, garden(12.0, 15.0), visit(2))
    taps = [each["tap"]["value"] for each in reply["explanations"] if each["code"] == "other-tap"]
    assert set(taps) <= {13.0}
    assert reply["explanations"] == [] or reply["explanations"][0]["code"] != "other-tap"


def test_a_supply_of_one_tap_has_no_other(client: Client) -> None:
    described = garden(12.0, 12.0)
    del described["supply"]["taps"]
    built = garden(12.0, 12.0)
    built["wiring"]["runs"][1]["fixtures"][2]["load"] = watts(2.0, power_factor=1)
    reply = told(client, described, built, visit(2))
    assert "other-tap" not in {each["code"] for each in reply["explanations"]}


def test_two_runs_on_each_others_taps_are_found(client: Client) -> None:
    reply = told(client, garden(12.0, 14.0), garden(14.0, 12.0), visit(2))
    first = reply["explanations"][0]
    assert (reply["verdict"], first["code"]) == ("disagrees", "exchanged-runs")
    assert first["located_at"]["pointer"] == run_at(0)
    assert first["exchanged_with"]["pointer"] == run_at(1)
    assert first["message"].startswith("Drive and Terrace are on each other's terminals at the supply")


def test_two_cables_exchanged_on_one_tap_show_in_the_amperes_at_the_supply(client: Client) -> None:
    readings = as_built({**garden(12.0, 12.0), "readings": visit(2, amperes=True)}, garden(12.0, 12.0))
    amps = [each for each in readings["readings"] if each["quantity"]["kind"] == "current"]
    amps[0]["quantity"], amps[1]["quantity"] = amps[1]["quantity"], amps[0]["quantity"]
    reply = check(client, readings)
    assert (reply["verdict"], reply["explanations"][0]["code"]) == ("disagrees", "exchanged-runs")


def test_two_runs_mixed_up_in_the_record_are_found(client: Client) -> None:
    ends = [volts_at(run_at(index), state=state) for state in ("all-on", lit(run_at(0))) for index in (0, 1)]
    readings = [volts_at(None, state="no-load"), volts_at(None), *ends]
    request = as_built({**garden(12.0, 12.0), "readings": readings}, garden(12.0, 12.0))
    for first, second in (request["readings"][2:4], request["readings"][4:6]):
        first["quantity"], second["quantity"] = second["quantity"], first["quantity"]
    reply = check(client, request)
    said = reply["explanations"][0]
    assert (reply["verdict"], said["code"]) == ("disagrees", "exchanged-runs")
    assert said["message"].startswith("What was written down for Drive was read on Terrace")
