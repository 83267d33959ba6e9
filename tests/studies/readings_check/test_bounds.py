"""Where a reading begins to be something else: each bound from what the meter's sheet allows, worked by hand.

A limit of error is taken as the half-width of a rectangular distribution, so its standard uncertainty is that
over the root of 3 (GUM, JCGM 100:2008, 4.3.7), and twice that is what a reading may be off by (6.3.3). Of 3
counts of 0.1 and no per cent that is 2 x 0.3 / 1.7321 = 0.3464.
"""

import pytest

from service.estimation.job import VOLTAGE
from service.estimation.probes import Probe
from service.studies.readings_check import next_reading
from service.studies.readings_check.study import Judged
from tests import jobs
from tests.client import Client
from tests.jobs import Json, lamp, ohms_per_km, resistor, run, watts
from tests.studies.readings_check.jobs import amps_at, check, checked, fixture, volts_at

COARSE: Json = {
    "accuracy_percent": 0,
    "counts": 3,
    "voltage_resolution": jobs.volts(0.1),
    "current_accuracy_percent": 0,
    "current_counts": 3,
    "current_resolution": jobs.quantity(0.1, "A"),
}
OFF = 0.3464
ALONE: Json = jobs.job(run(lamp(10, jobs.amperes(5))), supply=jobs.DC_12_V)


def codes_of(client: Client, *readings: Json, job: Json = ALONE) -> list[str]:
    return jobs.codes(check(client, {**job, "readings": list(readings), "instrument": COARSE}))


@pytest.mark.parametrize(
    ("reading", "verdict"),
    [(13.0, "agrees"), (13.01, "high"), (11.0, "agrees"), (10.99, "low"), (12.0, "agrees")],
)
def test_a_reading_agrees_within_twice_its_standard_uncertainty(reading: float, verdict: str) -> None:
    # JCGM 100:2008, 6.3.3: a coverage factor of 2 for about 95 %.
    assert Judged(0, "voltage", reading, 12.0, 0.5).verdict == verdict


def test_a_reading_without_prediction_or_uncertainty_is_not_used() -> None:
    assert Judged(0, "voltage", 12.0).verdict == "not-used"
    assert Judged(0, "voltage", 12.0, 12.0, 0.0).verdict == "not-used"


@pytest.mark.parametrize(("read_a", "flows"), [(OFF - 0.005, False), (OFF + 0.005, True)])
def test_amperes_with_nothing_on_are_told_as_soon_as_the_clamp_cannot_be_so_far_off(
    client: Client, read_a: float, *, flows: bool
) -> None:
    told = codes_of(client, amps_at("/wiring/runs/0", read_a, "no-load"))
    assert ("current-without-load" in told) == flows


@pytest.mark.parametrize(("read_v", "above"), [(16.8 + OFF - 0.005, False), (16.8 + OFF + 0.005, True)])
def test_volts_are_above_the_supply_by_more_than_the_meter_may_be_off(
    client: Client, read_v: float, *, above: bool
) -> None:
    # 1.4 times the 12 V that the supply gives without load are 16.8 V.
    assert ("reading-above-supply" in codes_of(client, volts_at(None, read_v))) == above


@pytest.mark.parametrize(("more_v", "contradict"), [(2 * OFF - 0.01, False), (2 * OFF + 0.01, True)])
def test_volts_rise_on_the_way_out_by_more_than_both_readings_may_be_off(
    client: Client, more_v: float, *, contradict: bool
) -> None:
    told = codes_of(client, volts_at(None, 11.5), volts_at(fixture(0), 11.5 + more_v))
    assert ("reading-above-upstream" in told) == contradict


@pytest.mark.parametrize(("less_v", "draws"), [(2 * OFF - 0.01, False), (2 * OFF + 0.01, True)])
def test_volts_fall_with_nothing_on_by_more_than_both_readings_may_be_off(
    client: Client, less_v: float, *, draws: bool
) -> None:
    at_supply, behind = volts_at(None, 12.0, "no-load"), volts_at(fixture(0), 12.0 - less_v, "no-load")
    assert ("drop-without-load" in codes_of(client, at_supply, behind)) == draws


@pytest.mark.parametrize(("flows_a", "missed"), [(10 * OFF - 0.05, False), (10 * OFF + 0.05, True)])
def test_a_clamp_shows_nothing_where_ten_times_its_error_is_to_flow(
    client: Client, flows_a: float, *, missed: bool
) -> None:
    job = jobs.job(run(lamp(0, jobs.amperes(flows_a))), supply=jobs.DC_12_V)
    told = codes_of(client, amps_at("/wiring/runs/0", 0.1), job=job)
    assert ("clamp-reads-nothing" in told) == missed


@pytest.mark.parametrize(
    ("share", "fits"), [(0.94, False), (0.96, True), (1.04, True), (1.06, False)]
)  # fmt: skip
def test_a_reading_fits_with_its_decimal_point_moved_where_that_is_within_a_twentieth(
    client: Client, share: float, *, fits: bool
) -> None:
    # 11.5 V are expected: 12 V less 5 A through 0.1 ohm out and back.
    told = codes_of(client, volts_at(fixture(0), 11.5 * share / 10))
    assert ("reading-decimal" in told) == fits


@pytest.mark.parametrize(("read_v", "above"), [(19.0, False), (19.2, True)])
def test_what_a_meter_may_be_off_by_is_of_its_counts_and_of_its_reading_together(
    client: Client, read_v: float, *, above: bool
) -> None:
    # 10 % of 19 V beside 0.3 V: 1.1547 x root of (0.3² + 1.9²) = 2.22 V, and 16.78 V are left of 16.8 V.
    # Of 19.2 V they are 2.24 V, and 16.96 V are left.
    meter = COARSE | {"accuracy_percent": 10}
    request = {**ALONE, "readings": [volts_at(None, read_v)], "instrument": meter}
    assert ("reading-above-supply" in jobs.codes(check(client, request))) == above


@pytest.mark.parametrize(("read_v", "above"), [(15.4 + OFF - 0.02, False), (15.4 + OFF + 0.02, True)])
def test_the_supply_gives_what_its_mains_gave_while_it_was_read(
    client: Client, read_v: float, *, above: bool
) -> None:
    # 110 of 120 V mains leave 11 V of 12 V, and 1.4 times that are 15.4 V.
    supply = jobs.transformer(primary={"rated": jobs.volts(120), "actual": jobs.volts(120)})
    job = jobs.job(run(lamp(10, jobs.amperes(5))), supply=supply)
    told = codes_of(client, volts_at(None, read_v, {"on": "all-on", "mains": jobs.volts(110)}), job=job)
    assert ("reading-above-supply" in told) == above


@pytest.mark.parametrize(
    ("at_m", "drawn_a", "read_v", "beyond"),
    [
        # Over 0.1 ohm 6 V are 60 A: more than any garden draws.
        (10, 0.5, 6.05, False),
        (10, 0.5, 5.95, True),
        # Where 7 A are drawn ten times as much are 70 A, and over 0.1 ohm that is 7 V.
        (10, 7.0, 5.05, False),
        (10, 7.0, 4.95, True),
        # What shows less than a tenth of 12 V is behind a break; over 0.6 of it is no short. Of 5 m 0.05 ohm.
        (10, 0.5, 1.15, False),
        (10, 0.5, 1.25, True),
        (5, 0.5, 7.25, False),
        (5, 0.5, 7.15, True),
    ],
)
def test_a_drop_is_beyond_its_cable_where_that_would_carry_far_more_than_all_lamps_draw(
    client: Client, at_m: float, drawn_a: float, read_v: float, *, beyond: bool
) -> None:
    job = jobs.job(run(lamp(at_m, jobs.amperes(drawn_a))), supply=jobs.DC_12_V)
    assert ("drop-beyond-cable" in codes_of(client, volts_at(fixture(0), read_v), job=job)) == beyond


def garden() -> Json:
    """Three lamps on two runs, of which the farthest gets 9 V in place of 11 V."""
    cable = ohms_per_km(8.0)
    runs = [
        run(lamp(10, resistor(20)), lamp(25, resistor(20)), cable=cable),
        run(lamp(12, watts(15)), cable=cable),
    ]
    readings = [volts_at(None, 12.0), volts_at(fixture(1), 9.0)]
    return {**jobs.job(*runs, supply=jobs.DC_12_V), "readings": readings, "instrument": COARSE}


@pytest.mark.parametrize(("separation", "asked"), [(3.99, False), (4.0, True)])
def test_no_reading_is_asked_for_that_tells_less_than_two_standard_deviations(
    monkeypatch: pytest.MonkeyPatch, separation: float, *, asked: bool
) -> None:
    """Two standard deviations of one rival, squared, are 4."""
    monkeypatch.setattr(next_reading, "_separation", lambda *_: separation)
    found = checked(garden()).next_reading
    assert (found is not None) == asked


def test_a_rival_that_is_three_standard_deviations_away_is_as_far_as_any() -> None:
    # Of 10 V by 0.5 V: 1 V are 2 deviations, 3 V are 6 and count as 3; 4 + 9 = 13.
    place = next_reading._Candidate(Probe(VOLTAGE), "/supply", 0, [10.0, 11.0, 13.0])  # noqa: SLF001  # no public way to one
    assert place.separation(0.5) == pytest.approx(13.0)


def test_what_is_asked_for_tells_the_first_fault_from_at_least_one_rival() -> None:
    # 2 deviations of a meter that is off by 3 counts of 0.1 V, rectangular: 0.3464 V.
    answer = checked(garden())
    assert answer.next_reading is not None
    (_, first), *others = answer.next_reading.expected
    assert max(abs(value - first) for _, value in others) > OFF
