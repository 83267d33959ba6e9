"""What an installer's meter shows. Source of each: common practice, no published source."""

import pytest

from tests import jobs
from tests.client import Client
from tests.jobs import Json

MAINS_AT_WORK: Json = {"rated": jobs.volts(120), "actual": jobs.volts(114.7)}


def walk(*fixtures: Json, tail_ft: float) -> Json:
    return jobs.run(*fixtures, cable=jobs.awg(14), tail=jobs.feet(tail_ft))


def seven_watts_half_way(supply: Json) -> Json:
    lamp = {"at": jobs.feet(75), "load": jobs.watts(7, power_factor=1)}
    return jobs.job(
        walk(lamp, tail_ft=75),
        supply=supply,
        conditions={"conductor_temperature": jobs.quantity(20, "degC")},
    )


def test_an_open_end_without_load_reads_as_the_transformer(client: Client) -> None:
    measured = {"voltage": jobs.volts(12.25), "at_primary": jobs.volts(120)}
    plate = {"rating": jobs.quantity(150, "VA"), "regulation_percent": 4}
    supply = jobs.transformer(open_circuit=measured, primary=MAINS_AT_WORK, winding=plate)
    reply = jobs.solved(client, jobs.job(walk(tail_ft=150), supply=supply))
    assert reply["runs"][0]["end_voltage"] == reply["supply"]["terminal"] == reply["supply"]["open_circuit"]


def test_the_open_circuit_voltage_follows_the_mains(client: Client) -> None:
    measured = {"voltage": jobs.volts(12.25), "at_primary": jobs.volts(120)}
    supply = jobs.transformer(open_circuit=measured, primary=MAINS_AT_WORK)
    reply = jobs.solved(client, jobs.job(walk(tail_ft=150), supply=supply))
    assert reply["supply"]["open_circuit"]["value"] == pytest.approx(11.71, abs=0.005)


def test_seven_watts_half_way_along_150_ft_of_14_awg_leave_11_49_v_at_the_open_end(client: Client) -> None:
    # 11.70 V was read at the terminals under load, so the supply is stiff at that voltage.
    supply = jobs.transformer(open_circuit={"voltage": jobs.volts(11.70)})
    reply = jobs.solved(client, seven_watts_half_way(supply))
    assert reply["supply"]["terminal"]["value"] == 11.70
    assert reply["runs"][0]["end_voltage"]["value"] == pytest.approx(11.49, abs=0.05)


def test_no_voltage_is_lost_behind_the_last_lamp(client: Client) -> None:
    reply = jobs.solved(client, seven_watts_half_way(jobs.transformer()))
    assert reply["runs"][0]["end_voltage"] == reply["fixtures"][0]["voltage"]


@pytest.mark.parametrize(("reads_v", "severity"), [(7.9, "fault"), (8.1, "warning")])
def test_below_8_v_an_led_fixture_is_said_to_flicker_or_stay_dark(
    client: Client, reads_v: float, severity: str
) -> None:
    reply = jobs.solved(client, seven_watts_half_way(jobs.transformer(reads_v + 0.3)))
    assert (reply["fixtures"][0]["voltage"]["value"] < 8.0) == (severity == "fault")
    (found,) = jobs.findings(reply, "fixture-below-window")
    assert found["severity"] == severity
    assert ("likely to flicker or stay dark" in found["message"]) == (severity == "fault")
    sources = {row["code"]: row["message"] for row in reply["sources"]}
    assert "common practice, no published source" in sources[found["source"]]
