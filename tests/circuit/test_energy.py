"""Energy and charge are conserved in what the reply prints, whatever solved it."""

from collections import defaultdict
from math import hypot

import pytest

from tests.circuit.gardens import ALL, IN_PHASE
from tests.client import Client
from tests.jobs import Json, solved

every_garden = pytest.mark.parametrize("name", ALL)
every_in_phase_garden = pytest.mark.parametrize("name", IN_PHASE)

ROUNDED_W = 0.0005
ROUNDED_A = 0.000005


def watts_of(rows: list[Json], member: str) -> float:
    return float(sum(row[member]["value"] * row.get("count", 1) for row in rows))


@every_garden
def test_the_supply_gives_what_lamps_and_cables_turn_into_light_and_heat(client: Client, name: str) -> None:
    reply = solved(client, ALL[name])
    totals = reply["totals"]
    spent_w = totals["fixture_power"]["value"] + totals["cable_loss"]["value"]
    assert reply["supply"]["real_power"]["value"] == pytest.approx(spent_w, abs=3 * ROUNDED_W)


@every_garden
def test_the_totals_are_the_sums_of_the_rows(client: Client, name: str) -> None:
    reply = solved(client, ALL[name])
    fixtures, spans, runs, totals = (reply[part] for part in ("fixtures", "spans", "runs", "totals"))
    lamps = sum(row.get("count", 1) for row in fixtures) + 1
    assert totals["fixture_power"]["value"] == pytest.approx(
        watts_of(fixtures, "real_power"), abs=lamps * ROUNDED_W
    )
    for rows, member in ((spans, "loss"), (runs, "cable_loss")):
        assert totals["cable_loss"]["value"] == pytest.approx(
            watts_of(rows, member), abs=(len(rows) + 1) * ROUNDED_W
        )


@every_garden
def test_a_span_loses_current_squared_times_resistance(client: Client, name: str) -> None:
    for span in solved(client, ALL[name])["spans"]:
        heat_w = span["current"]["value"] ** 2 * span["resistance"]["value"]
        assert span["loss"]["value"] == pytest.approx(heat_w, abs=0.001)


@every_in_phase_garden
def test_the_open_circuit_gives_what_the_winding_takes_as_well(client: Client, name: str) -> None:
    reply = solved(client, IN_PHASE[name])
    supply, totals = reply["supply"], reply["totals"]
    given_w = sum(tap["open_circuit"]["value"] * tap["current"]["value"] for tap in supply["taps"])
    taken_w = supply["real_power"]["value"] + totals["winding_loss"]["value"]
    # Volts are rounded to 5e-5 and amperes to 5e-6, at most 60 A and 15 V here.
    assert given_w == pytest.approx(taken_w, abs=0.005)


@every_in_phase_garden
def test_a_span_drops_what_ohm_says(client: Client, name: str) -> None:
    for span in solved(client, IN_PHASE[name])["spans"]:
        lost_v = span["current"]["value"] * span["resistance"]["value"]
        assert span["drop"]["value"] == pytest.approx(lost_v, abs=0.0001)


def point_of(fixture: Json) -> str:
    """The name that spans use for the point at which a fixture hangs."""
    if "splice_voltage" in fixture:
        return f"lamp of {fixture['name']}"
    parts = fixture["pointer"].split("/")[2:-2]
    kinds = {"runs": "run", "branches": "branch", "spurs": "spur"}
    named = [f"{kinds[kind]} {int(index) + 1}" for kind, index in zip(parts[::2], parts[1::2], strict=True)]
    return f"{' '.join(named)} at {fixture['at']['value']:g} m"


@every_in_phase_garden
def test_currents_balance_at_every_named_point(client: Client, name: str) -> None:
    reply = solved(client, IN_PHASE[name])
    arriving_a: dict[str, float] = defaultdict(float)
    met: dict[str, int] = defaultdict(lambda: 1)
    for span in reply["spans"]:
        for point, sign in ((span["from"], -1.0), (span["to"], 1.0)):
            arriving_a[point] += sign * span["current"]["value"]
            met[point] += 1
    for fixture in reply["fixtures"]:
        many = fixture.get("count", 1)
        arriving_a[point_of(fixture)] -= fixture["current"]["value"] * many
        met[point_of(fixture)] += many
    leaving_a = -arriving_a.pop("supply", 0.0)
    assert leaving_a == pytest.approx(
        sum(tap["current"]["value"] for tap in reply["supply"]["taps"]), abs=1e-4
    )
    for point, amps in arriving_a.items():
        assert amps == pytest.approx(0.0, abs=met[point] * ROUNDED_A + 1e-9), point


@every_garden
def test_a_fixture_draws_its_power_at_its_voltage(client: Client, name: str) -> None:
    for row in solved(client, ALL[name])["fixtures"]:
        most_w = row["voltage"]["value"] * row["current"]["value"]
        assert row["real_power"]["value"] <= most_w + 0.001


@every_garden
def test_drops_are_counted_from_the_terminal_and_from_the_open_circuit(client: Client, name: str) -> None:
    reply = solved(client, ALL[name])
    taps = [(tap["terminal"]["value"], tap["open_circuit"]["value"]) for tap in reply["supply"]["taps"]]
    for row in reply["fixtures"]:
        from_here = [row[drop]["value"] + row["voltage"]["value"] for drop in ("cable_drop", "total_drop")]
        assert any(from_here == pytest.approx(tap, abs=0.0002) for tap in taps), row


@every_garden
def test_the_supply_is_never_said_to_give_fewer_volt_amperes_than_watts(client: Client, name: str) -> None:
    supply = solved(client, ALL[name])["supply"]
    assert supply["apparent_power"]["value"] >= supply["real_power"]["value"] - 2 * ROUNDED_W


def test_volt_amperes_at_the_terminals_are_volts_times_amperes(client: Client) -> None:
    supply = solved(client, ALL["led"])["supply"]
    assert supply["apparent_power"]["value"] == pytest.approx(
        supply["terminal"]["value"] * supply["current"]["value"], abs=0.005
    )


def test_the_supply_draws_the_non_active_power_of_its_lamps_and_no_more(client: Client) -> None:
    # Copper is resistive here, so sqrt(S² - P²) at the terminals is what five lamps of 6 W and 9 VA draw.
    supply = solved(client, ALL["led"])["supply"]
    real_w, five_lamps_var = supply["real_power"]["value"], 5 * (9.0**2 - 6.0**2) ** 0.5
    assert supply["apparent_power"]["value"] == pytest.approx(hypot(real_w, five_lamps_var), abs=0.002)


@every_garden
def test_the_residual_is_shown_and_small(client: Client, name: str) -> None:
    residual = solved(client, ALL[name])["solution"]["residual"]
    assert residual["unit"] == "A"
    assert 0.0 <= residual["value"] < 1e-8
