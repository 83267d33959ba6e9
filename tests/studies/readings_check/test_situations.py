"""What an installer meets in a garden, and the sentences that come back: true, plain, no more than is known.

The volts are those of another solver, power-grid-model (MPL-2.0); what an electrician would make of them is
common practice, no published source. Ohms are those of NEC chapter 9 table 8 for stranded, uncoated copper at
75 °C, taken to 20 °C by the 0.00323 a kelvin that stands under the table.
"""

from __future__ import annotations

import copy
from collections.abc import Collection, Mapping, Sequence
from typing import NamedTuple

import pytest

from service.physics.load import Load
from service.physics.network import Span
from tests import jobs
from tests.client import Client
from tests.jobs import Json
from tests.physics.networks import Circuit
from tests.physics.power_grid import arrays_of, flow
from tests.studies.readings_check.jobs import RUN, amps_at, check, fixture, volts_at

OHM_PER_KFT = {10: 1.24, 12: 1.98, 14: 3.14, 16: 4.99, 18: 7.95}
AT_FT = (25.0, 50.0, 75.0, 100.0)
STEP_W = (10.0, 10.0, 10.0, 10.0)
OPEN_V, WINDING_OHM = 12.6, 0.05 * 12.0**2 / 150.0


def pair_ohm(gauge: int, length_ft: float) -> float:
    """Both conductors of a stretch at 20 °C. [ohm]"""
    return 2.0 * length_ft / 1000.0 * OHM_PER_KFT[gauge] * (1.0 - 0.00323 * 55.0)


def described(powers: Sequence[float] = STEP_W, gauge: int = 12, supply: Json | None = None) -> Json:
    """Four steps at 25, 50, 75 and 100 ft behind 150 VA that were measured at 12.6 V without load."""
    steps = [
        {"at": jobs.feet(at), "load": jobs.watts(power), "name": f"step {index + 1}"}
        for index, (at, power) in enumerate(zip(AT_FT, powers, strict=True))
    ]
    measured = jobs.transformer(open_circuit={"voltage": jobs.volts(OPEN_V)}, winding=jobs.winding(150, 5))
    return jobs.job({"name": "walk", "cable": jobs.awg(gauge), "fixtures": steps}, supply=supply or measured)


class Walked(NamedTuple):
    """What a meter would show: volts of the terminals and the four steps, and the supply's amperes."""

    volts: list[float]
    amperes: float

    def readings(self, state: str | Json = "all-on") -> list[Json]:
        """Everything read in one state, to the hundredths that a meter shows."""
        return [
            volts_at(None, round(self.volts[0], 2), state),
            *(self.at(step, state) for step in range(1, len(self.volts))),
            amps_at(RUN, round(self.amperes, 2), state),
        ]

    def at(self, step: int, state: str | Json = "all-on") -> Json:
        """The volts at one step."""
        return volts_at(fixture(step - 1), round(self.volts[step], 2), state)


def walked(  # noqa: PLR0913  # one keyword for each thing that may be wrong
    powers: Sequence[float] = STEP_W,
    *,
    gauge: int = 12,
    gauges: Mapping[int, int] | None = None,
    joints_ohm: Mapping[int, float] | None = None,
    more_w: Mapping[int, float] | None = None,
    lit: Collection[int] = range(1, 5),
    open_v: float = OPEN_V,
    winding_ohm: float = WINDING_OHM,
) -> Walked:
    """The walk as it was built; `gauges` and `joints_ohm` by the step at the far end of the stretch."""
    other, joints = gauges or {}, joints_ohm or {}
    starts = (0.0, *AT_FT[:-1])
    spans = tuple(
        Span(step - 1, step, pair_ohm(other.get(step, gauge), end - start) + joints.get(step, 0.0))
        for step, (start, end) in enumerate(zip(starts, AT_FT, strict=True), 1)
    )
    drawn = [(step, power) for step, power in enumerate(powers, 1) if power and step in lit]
    loads = tuple((step, Load(power_w=power)) for step, power in (*drawn, *(more_w or {}).items()))
    circuit = Circuit(len(AT_FT) + 1, spans, loads, source_v=open_v, winding_ohm=winding_ohm)
    phasors, amperes = flow(arrays_of(circuit))
    return Walked([float(abs(each)) for each in phasors], amperes)


def sent(seen: list[Json], wiring: Json | None = None) -> Json:
    """The walk as described, with what was read, and 12.6 V without load first."""
    return {**(wiring or described()), "readings": [volts_at(None, OPEN_V, "no-load"), *seen]}


SOUND = walked()


def first(reply: Json) -> str:
    message: str = reply["explanations"][0]["message"]
    return message


def test_a_new_and_sound_job_agrees_and_nothing_is_said_against_it(client: Client) -> None:
    reply = check(client, sent(SOUND.readings()))
    assert reply["verdict"] == "agrees"
    assert jobs.codes(reply) == []
    assert reply["conclusion"] == (
        "The readings match the wiring as described; differences as small as these are normal."
    )


@pytest.mark.parametrize(
    ("built", "said"),
    [
        (
            walked(joints_ohm={3: 0.24}),
            "0.24 ohm extra between step 2 and step 3: a splice or a terminal there.",
        ),
        (walked((10, 10, 0, 10)), "step 3 draws next to nothing: dark, or not connected."),
        (walked(more_w={4: 18.0}), "About 18 W more than declared at step 4 or beyond."),
        (
            walked(gauge=14),
            (
                "The cable of walk has 58 % more resistance than expected: like 14 AWG, or like 12 AWG"
                " copper-clad aluminium, or like 58 % more length."
            ),
        ),
    ],
    ids=["splice", "dark", "pond", "gauge"],
)
def test_the_first_fault_is_what_was_done_to_the_walk(client: Client, built: Walked, said: str) -> None:
    reply = check(client, sent(built.readings()))
    assert (reply["verdict"], first(reply)) == ("disagrees", said)


def test_two_faults_at_once_are_not_told_as_one(client: Client) -> None:
    reply = check(client, sent(walked((10, 10, 10, 0), winding_ohm=0.3).readings()))
    assert reply["verdict"] == "contradicts"
    assert "or more than one thing is wrong" in reply["conclusion"]
    assert not reply["identifiability"]["separated"]


def test_a_stretch_of_a_thinner_cable_is_told_by_its_gauge(client: Client) -> None:
    # NEC chapter 9 table 8: 18 AWG has 7.95 ohm/kft, 12 AWG 1.98, which is 4.02 times as much.
    reply = check(client, sent(walked(gauges={3: 18}).readings()))
    told = next(each for each in reply["explanations"] if each["code"] == "span-resistance")
    assert "between step 2 and step 3" in told["message"]
    assert "like 18 AWG" in told["message"]
    assert told["size"]["value"] == pytest.approx(7.95 / 1.98, abs=0.1)
    assert reply["identifiability"]["separated"]


def test_a_supply_four_per_cent_low_is_told_in_per_cent(client: Client) -> None:
    low = walked(open_v=0.96 * OPEN_V)
    reply = check(client, {**described(), "readings": [volts_at(None, 12.1, "no-load"), *low.readings()]})
    assert first(reply) == "The supply is 4 % lower than expected: mains, tap or transformer."
    assert reply["conclusion"].startswith("The readings do not fit")


def test_every_reading_a_tap_too_high_does_not_agree(client: Client) -> None:
    # The 13 V tap in place of the 12 V tap, unmeasured: all volts are 8 % high, and for one reason.
    wiring = described(supply=jobs.transformer(winding=jobs.winding(150, 5)))
    high = walked(open_v=13.6)
    reply = check(client, {**wiring, "readings": [volts_at(None, 13.6, "no-load"), *high.readings()]})
    assert reply["verdict"] == "disagrees"
    assert first(reply) == "The supply is 7.9 % higher than expected: mains, tap or transformer."


def test_lamps_of_24_v_on_12_v_are_a_supply_of_half_the_volts(client: Client) -> None:
    wiring = described(
        supply=jobs.transformer(24, open_circuit={"voltage": jobs.volts(25.2)}, winding=jobs.winding(300, 5))
    )
    half = {**wiring, "readings": [volts_at(None, 12.6, "no-load"), *walked().readings()]}
    reply = check(client, half)
    assert reply["explanations"][0]["code"] == "supply-voltage"
    assert first(reply).startswith("The supply is 50 % lower")


def test_a_supply_that_gives_nothing_is_one_fault_and_is_at_the_supply(client: Client) -> None:
    dark = [volts_at(None, 0.0), *(volts_at(fixture(index), 0.0) for index in range(4))]
    reply = check(client, {**described(), "readings": dark})
    assert reply["verdict"] == "disagrees"
    assert first(reply).startswith("The supply gives nothing")
    assert "located_at" not in reply["explanations"][0]
    assert "between" not in reply["explanations"][0]


def test_terminals_that_live_with_every_lamp_dark_are_a_break_at_the_beginning(client: Client) -> None:
    dark = [volts_at(None, 12.6), *(volts_at(fixture(index), 0.0) for index in range(4)), amps_at(RUN, 0.0)]
    reply = check(client, sent(dark))
    assert first(reply) == "The cable is broken between the supply and step 1."


def test_readings_with_most_lamps_off_are_not_taken_for_a_thicker_cable(client: Client) -> None:
    one = walked(lit=(2,))
    reply = check(client, sent([volts_at(None, 12.56), one.at(1), one.at(4)]))
    assert first(reply).startswith("All fixtures together draw")
    assert "not everything was on" in first(reply)
    assert not any("6 AWG" in each["message"] for each in reply["explanations"])


def test_no_fault_is_told_whose_size_is_only_where_the_search_ended(client: Client) -> None:
    for joint_ohm in (0.2, 0.5, 1.0):
        reply = check(client, sent(walked(joints_ohm={3: joint_ohm}).readings()))
        sizes = [each["size"]["value"] for each in reply["explanations"] if "resistance" in each["code"]]
        assert not {0.25, 7.0} & set(sizes)


def test_volts_lost_without_load_say_that_something_was_on(client: Client) -> None:
    seen = [*SOUND.readings(), volts_at(fixture(3), 11.9, "no-load")]
    reply = check(client, sent(seen))
    assert jobs.codes(reply) == ["drop-without-load"]
    assert reply["verdict"] == "disagrees"
    assert reply["readings"][-1]["verdict"] == "not-used"


def test_amperes_without_load_never_let_the_job_agree(client: Client) -> None:
    reply = check(client, sent([*SOUND.readings(), amps_at(RUN, 0.4, "no-load")]))
    assert jobs.codes(reply) == ["current-without-load"]
    assert reply["verdict"] == "disagrees"


def test_a_clamp_round_both_conductors_is_named(client: Client) -> None:
    reply = check(client, sent([*SOUND.readings()[:-1], amps_at(RUN, 0.0)]))
    assert jobs.codes(reply) == ["clamp-reads-nothing"]
    assert reply["verdict"] == "contradicts"


@pytest.mark.parametrize(("typed", "meant"), [(1.15, "11.5 V"), (115.0, "11.5 V"), (0.01148, "11.48 V")])
def test_a_decimal_point_in_the_wrong_place_is_named(client: Client, typed: float, meant: str) -> None:
    last = volts_at(fixture(3), typed)
    seen = [volts_at(None, round(SOUND.volts[0], 2)), SOUND.at(1), last]
    reply = check(client, sent(seen))
    assert reply["verdict"] != "agrees"
    told = next(found for found in reply["findings"] if found["code"] == "reading-decimal")
    assert told["subject"]["pointer"] == "/readings/3"
    assert meant in told["message"]


def test_two_readings_written_down_for_each_other_are_named(client: Client) -> None:
    a, b = SOUND.at(1), SOUND.at(4)
    a["quantity"], b["quantity"] = b["quantity"], a["quantity"]
    reply = check(client, sent([volts_at(None, round(SOUND.volts[0], 2)), a, SOUND.at(2), SOUND.at(3), b]))
    assert reply["verdict"] == "contradicts"
    told = next(found for found in reply["findings"] if found["code"] == "readings-exchanged")
    assert "Reading 6" in told["message"]
    assert "reading 3" in told["message"]


def test_two_lamps_exchanged_are_not_two_readings_exchanged(client: Client) -> None:
    reply = check(client, sent(walked((20, 10, 4, 4)).readings(), described((4, 10, 4, 20))))
    assert first(reply) == "step 1 and step 4 stand in each other's place."
    assert jobs.codes(reply) == []


def test_the_same_reading_many_times_is_one_reading_and_is_pointed_at(client: Client) -> None:
    low = volts_at(fixture(3), round(SOUND.volts[4] - 0.26, 2))
    reply = check(client, {**described(), "readings": [low] * 4})
    assert reply["verdict"] == "agrees"
    outside = "Taken one by one reading 1, reading 2, reading 3 and reading 4 would be outside"
    assert outside in reply["conclusion"]


def test_millivolts_are_volts(client: Client) -> None:
    milli = copy.deepcopy(SOUND.at(4))
    milli["quantity"]["value"] = jobs.quantity(1000.0 * milli["quantity"]["value"]["value"], "mV")
    assert check(client, sent([milli]))["verdict"] == "agrees"


def test_a_list_of_nothing_is_told_as_nothing_on(client: Client) -> None:
    reply = check(client, sent([volts_at(fixture(3), 12.6, {"on": "listed", "lit": []})]))
    assert reply["readings"][1]["where"] == "Voltage at step 4, nothing on"


def test_a_state_with_one_lamp_is_told_by_its_name(client: Client) -> None:
    state = {"on": "listed", "lit": [{"pointer": fixture(1)}]}
    reply = check(client, sent([walked(lit=(2,)).at(4, state)]))
    assert reply["readings"][1]["where"] == "Voltage at step 4, only step 2 on"
    assert reply["verdict"] == "agrees"


def test_a_battery_may_stand_anywhere_between_empty_and_full(client: Client) -> None:
    wiring = described(supply=jobs.battery(11.5, 12.8, 14.4))
    low = {**wiring, "readings": [volts_at(None, 11.7, "no-load"), volts_at(None, 11.7)]}
    assert check(client, low)["verdict"] == "agrees"
    dead = {**wiring, "readings": [volts_at(None, 9.0, "no-load"), volts_at(None, 9.0)]}
    assert first(check(client, dead)) == "The supply is 30 % lower than expected: how full the battery is."


def test_a_dc_supply_has_no_tap_and_no_mains_to_blame(client: Client) -> None:
    low = {**described(supply=jobs.dc_supply()), "readings": [volts_at(None, 11.0, "no-load")]}
    said = "The supply is 8.3 % lower than expected: its setting, or the supply itself."
    assert first(check(client, low)) == said


def test_watts_of_a_24_v_lamp_are_told_at_24_v(client: Client) -> None:
    wiring = described(
        supply=jobs.transformer(24, open_circuit={"voltage": jobs.volts(24)}, winding=jobs.winding(300, 5))
    )
    for line in wiring["wiring"]["runs"][0]["fixtures"]:
        line["load"] = jobs.resistor(20, 24)
    reply = check(client, {**wiring, "readings": [amps_at(fixture(2), 1.6)]})
    told = next(each for each in reply["explanations"] if each["code"] == "fixture-power")
    assert told["message"].endswith("in place of 20 W.")


def test_a_meter_on_one_reading_alone_settles_nothing_and_says_what_to_read(client: Client) -> None:
    reply = check(client, {**described(), "readings": [volts_at(fixture(3), 9.8)]})
    assert not reply["identifiability"]["separated"]
    message = reply["next_reading"]["message"]
    assert message.startswith("Read the voltage at the supply, nothing on: ")
    assert message.count("about 12.60 V") == 1


def test_several_watts_are_told_without_more_digits_than_are_known(client: Client) -> None:
    reply = check(client, sent(walked(more_w={3: 43.0}).readings()))
    assert first(reply) == "About 43 W more than declared at step 3 or beyond."


def test_the_cautions_of_whoever_opens_a_joint_are_there(client: Client) -> None:
    reply = check(client, sent(walked(joints_ohm={3: 0.24}).readings()))
    text = " ".join(row["message"] for row in reply["cautions"])
    for word in ("Isolate", "arc", "burn", "category", "Local code"):
        assert word.lower() in text.lower()


def test_six_volts_at_25_ft_are_no_cable_at_all(client: Client) -> None:
    reply = check(client, sent([volts_at(None, 12.5), volts_at(fixture(0), 6.0)]))
    told = next(found for found in reply["findings"] if found["code"] == "drop-beyond-cable")
    assert "no cable explains it" in told["message"]
    assert reply["explanations"] == []


def test_amperes_into_lamps_of_no_watts_are_answered(client: Client) -> None:
    # Nothing that may be off moves a current that is nought, so there is no common fault to learn from.
    state = {"on": "listed", "lit": [{"pointer": fixture(0)}, {"pointer": fixture(2)}]}
    request = {**described((0, 5, 0, 10)), "readings": [amps_at(RUN, 24.0, state)]}
    assert check(client, request)["verdict"] in {"disagrees", "contradicts"}


def test_power_that_was_said_for_nobody_is_never_a_500(client: Client) -> None:
    for powers in ((0.0,) * 4, STEP_W):
        request = sent([volts_at(fixture(3), 0.0), amps_at(RUN, 0.0)], described(powers))
        assert check(client, request)["verdict"] in {"agrees", "disagrees", "contradicts"}
