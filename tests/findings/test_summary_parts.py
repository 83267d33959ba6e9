"""What a summary says, part by part: each expectation follows from the values beside it."""

import json
from math import inf, nextafter
from typing import Final

import pytest

from service.circuit.corners import Corner
from service.circuit.job import JobPart
from service.circuit.reading import CircuitResult, SupplyResult
from service.circuit.state import connect_job
from service.findings.finding import FAULT, NOTE, WARNING, Amount, FindingFacts, FindingKind
from service.findings.summary import (
    FAILS,
    PASSES,
    WITH_WARNINGS,
    LampReading,
    Shown,
    grouped,
    summary_row,
    verdict_of,
)
from service.intake import decode
from service.studies.voltage_drop.request import VoltageDropRequest
from service.studies.voltage_drop.translate import job_of
from service.translate.naming import PlaceNames
from tests import jobs
from tests.client import Client
from tests.jobs import Json, job, lamp, run, solved, transformer, watts, window

KIND: Final = FindingKind("made-up", (FAULT, WARNING, NOTE), "{where} has {measured}.", "Meaning.")
KINDS: Final = [
    FindingKind(f"made-up-{place}", (FAULT, WARNING, NOTE), f"Thing {place} is odd.", "Meaning.")
    for place in range(5)
]
LAMP: Final = "/wiring/runs/0/fixtures/0"


def named(request: Json | None = None) -> PlaceNames:
    """The names of a wiring; left out, of 25 lamps on one run."""
    request = request or job(run(*(lamp(place, watts(1), name=f"lamp {place}") for place in range(25))))
    read = decode(json.dumps(request).encode(), VoltageDropRequest)
    return PlaceNames(connect_job(job_of(read)).layout, "m")


def found(
    value: float, limit: float, *, at: int = 0, towards: int = -1, severity: str = FAULT
) -> FindingFacts:
    """A value that stands beyond its limit. [V]"""
    subject = JobPart(f"/wiring/runs/0/fixtures/{at}")
    return KIND.found(subject, "caller", Amount(value, "V", towards), Amount(limit, "V"), severity=severity)


def odd(place: int, severity: str) -> FindingFacts:
    return KINDS[place].found(JobPart(LAMP), "caller", severity=severity)


def text_of(*findings: FindingFacts, shown: Shown | None = None) -> str:
    return summary_row(verdict_of(findings), findings, named(), shown or Shown()).text


def box(used_va: float, rating_va: float | None = 100.0) -> SupplyResult:
    """A supply that gives volt-amperes. [VA]"""
    return SupplyResult(
        12.0,
        12.0,
        used_va / 12.0,
        used_va,
        used_va,
        None,
        rating_va,
        below_minimum=False,
        taps=(),
        circuits=(),
    )


def lit(at: int, volts: float, corner: Corner | None = None, towards: int = 0) -> LampReading:
    subject = JobPart(f"/wiring/runs/0/fixtures/{at}", f"id {at}")
    return LampReading(subject, volts, corner, towards)


# The verdict.


def test_a_fault_fails_whatever_is_accepted() -> None:
    assert verdict_of([odd(0, FAULT)], frozenset({KINDS[0].code})) == FAILS
    assert verdict_of([odd(0, WARNING)], frozenset({KINDS[0].code})) == PASSES
    assert verdict_of([odd(0, WARNING), odd(1, NOTE)], frozenset({KINDS[1].code})) == WITH_WARNINGS


# Groups.


def test_findings_of_one_code_and_two_severities_are_two_groups_the_gravest_first() -> None:
    findings = [odd(1, NOTE), found(9.9, 10, severity=WARNING), found(8.0, 9, at=1), found(7.0, 9, at=2)]
    told = [(each.code, each.severity, each.count) for each in grouped(findings, named())]
    assert told == [("made-up", FAULT, 2), ("made-up", WARNING, 1), ("made-up-1", NOTE, 1)]


def test_the_worst_of_a_group_is_the_one_farthest_beyond_its_limit_as_a_share_of_that() -> None:
    # 18 V of 20 V is a tenth too little, 8.5 V of 10 V three twentieths, though 1.5 V and not 2 V.
    low = [found(18, 20), found(8.5, 10, at=1), found(9.9, 10, at=2)]
    # 22 V is a tenth too much for 20 V, 11.5 V three twentieths for 10 V.
    high = [found(22, 20, towards=1), found(11.5, 10, at=1, towards=1), found(10.1, 10, at=2, towards=1)]
    for findings, worst in ((low, 8.5), (high, 11.5)):
        for shuffled in (findings, findings[::-1], [findings[1], findings[2], findings[0]]):
            (group,) = grouped(shuffled, named())
            assert [pointer[-1] for pointer in group.pointers] == ["1", "0", "2"]
            assert group.message == f"lamp 1 has {worst} V. (2 more like this.)"


def test_a_group_lists_each_place_once_and_twenty_at_most() -> None:
    twice = [found(9.0, 10), found(8.0, 10, severity=FAULT), found(9.5, 10, at=1)]
    (group,) = grouped(twice, named())
    assert (group.count, [pointer[-1] for pointer in group.pointers]) == (3, ["0", "1"])
    (group,) = grouped([found(9.0 - at / 100, 10, at=at) for at in range(25)], named())
    assert group.count == 25
    # The worst are those that are farthest out: 24, 23, and so on.
    assert group.pointers == [f"/wiring/runs/0/fixtures/{at}" for at in range(24, 4, -1)]


def test_amperes_where_nothing_was_on_are_a_group_of_their_own_limit_of_zero(client: Client) -> None:
    """The limit is 0 A, of which nothing is a share."""
    nothing_on: Json = {"on": "no-load"}
    readings = [
        {
            "subject": {"kind": "wired", "pointer": f"/wiring/runs/{at}"},
            "quantity": {"kind": "current", "value": jobs.quantity(2 + at, "A")},
            "state": nothing_on,
        }
        for at in (0, 1)
    ]
    request = job(run(lamp(9, watts(20))), run(lamp(9, watts(20)))) | {"readings": readings}
    summary = jobs.answer(client, request, "/v1/readings-check")["summary"]
    (group,) = [each for each in summary["findings"] if each["code"] == "current-without-load"]
    assert (group["count"], group["limit"]) == (2, {"value": 0.0, "unit": "A"})
    assert group["message"].endswith(" (1 more like this.)")


def far(*windows_v: float, name: str) -> Json:
    """A run of lamps at its far end, each with a lowest voltage of its own."""
    return run(*(lamp(40, watts(15), window=window(low_v, 30)) for low_v in windows_v), name=name)


def below(client: Client, request: Json) -> Json:
    (group,) = [
        each for each in solved(client, request)["summary"]["findings"]
        if each["code"] == "fixture-below-window"
    ]  # fmt: skip
    read: Json = group
    return read


def test_a_run_is_named_only_where_all_of_a_group_are_on_it(client: Client) -> None:
    calm = run(lamp(0, watts(1)), name="calm")
    on_one = below(client, job(far(11.5, 11.5, name="pond"), calm))
    on_two = below(client, job(far(11.5, name="pond"), far(11.5, name="gate"), calm))
    assert on_one["message"].startswith("2 lamps on pond get less than 11.5 V; ")
    assert on_two["message"].startswith("2 lamps get less than 11.5 V; ")


def test_lamps_of_a_graph_are_on_no_run(client: Client) -> None:
    spans = [
        {"from": "supply", "to": to, "length": jobs.metres(40), "cable": jobs.ohms_per_km(5)}
        for to in ("gate", "pond")
    ]
    fixtures = [
        {"point": to, "load": watts(20), "window": window(11.5, 30), "name": to} for to in ("gate", "pond")
    ]
    request = {
        "supply": transformer(),
        "wiring": {"form": "spans", "spans": spans, "fixtures": fixtures},
    }
    assert below(client, request)["message"].startswith("2 lamps get less than 11.5 V; ")


def test_where_windows_differ_the_worst_is_told_with_its_own_limit_and_not_as_the_lowest(
    client: Client,
) -> None:
    """Of the lowest lamp a percent is missing, of another with more volts a seventh."""
    # 2 A through 0.4 ohm out and back: 24 V less 0.8 V are 23.2 V, of 23.5 V; at the supply 24 V of 28 V.
    low = run(lamp(40, jobs.amperes(2), window=window(23.5, 30), name="low"))
    spoilt = run(lamp(0, jobs.amperes(2), window=window(28, 30), name="spoilt"))
    group = below(client, job(low, spoilt, supply=transformer(24.0)))
    assert group["message"].startswith(
        "2 lamps get less than they need; the worst is spoilt with 24 V, below 28 V. "
    )


# The text.

LOW_AND_HOT: Final = Corner("lowest", 0.9, "hot", 40.0)
HIGH: Final = Corner("highest", 1.1, "as stated", None)


def test_a_text_tells_two_groups_and_counts_the_others_of_their_severity() -> None:
    assert text_of(odd(0, FAULT)) == "Does not pass. Thing 0 is odd."
    told = "Does not pass. Thing 0 is odd. Thing 1 is odd."
    assert text_of(*(odd(at, FAULT) for at in range(2))) == told
    assert text_of(*(odd(at, FAULT) for at in range(3))) == f"{told} One more fault."
    assert text_of(*(odd(at, FAULT) for at in range(4))) == f"{told} 2 more faults."
    warned = text_of(*(odd(at, WARNING) for at in range(4)))
    assert warned == "Passes with warnings. Thing 0 is odd. Thing 1 is odd. 2 more warnings."


def test_a_text_tells_the_first_warning_beside_a_single_fault_and_no_note() -> None:
    alone = text_of(odd(1, WARNING), odd(2, NOTE), odd(0, FAULT))
    assert alone == "Does not pass. Thing 0 is odd. Also: Thing 1 is odd."
    assert text_of(odd(1, NOTE), odd(0, WARNING)) == "Passes with warnings. Thing 0 is odd."
    assert text_of(odd(1, NOTE)) == "Passes."
    assert summary_row(FAILS, [odd(1, NOTE)], named()).text == "Does not pass."


def test_a_text_does_not_tell_a_warning_that_is_accepted() -> None:
    assert summary_row(PASSES, [odd(0, WARNING)], named()).text == "Passes."


@pytest.mark.parametrize(
    ("lamps", "words"),
    [
        ((lit(0, 11.0), lit(1, 12.0)), "The lamps get 11.00 V (lamp 0) to 12.00 V (lamp 1)."),
        ((lit(0, 11.0), lit(1, 11.0)), "The lamps all get 11.00 V."),
        ((lit(0, 11.0), lit(0, 11.0)), "The lamp gets 11.00 V."),
        ((lit(0, 11.0), lit(0, 12.0)), "The lamp gets 11.00 V to 12.00 V."),
        (
            (lit(0, 11.0, LOW_AND_HOT), lit(1, 12.0, HIGH)),
            "The lamps get 11.00 V (lamp 0, lowest mains, hot cable) to 12.00 V (lamp 1, highest mains).",
        ),
    ],
)  # fmt: skip
def test_lamps_are_told_by_their_voltage_and_where_there_are_several_by_name(
    lamps: tuple[LampReading, LampReading], words: str
) -> None:
    assert text_of(shown=Shown(lamps)) == f"Passes. {words}"


def test_a_lamp_below_its_window_is_not_told_with_the_volts_of_its_window() -> None:
    """Of 10.5 V, 10.4999 V are too little; to two decimals they are not 10.50 V but 10.49 V."""
    row = summary_row(WITH_WARNINGS, [], named(), Shown((lit(0, 10.49999, towards=-1), lit(1, 12.0))))
    assert "The lamps get 10.49 V (lamp 0) to 12.00 V (lamp 1)." in row.text
    assert "voltage=ShownVoltage(value=10.4999, unit='V')" in str(row.weakest)
    row = summary_row(WITH_WARNINGS, [], named(), Shown((lit(0, 10.0), lit(1, 15.00001, towards=1))))
    assert "to 15.01 V (lamp 1)." in row.text
    assert "voltage=ShownVoltage(value=15.0001, unit='V')" in str(row.highest)


def test_a_bound_of_which_no_place_is_known_is_told_of_the_far_end(client: Client) -> None:
    # 10 A through 0.05 ohm out and back: 12 V less 0.5 V, in a job whose layout nobody stated.
    request = jobs.totals(jobs.amperes(10), 5)
    said = solved(client, request)["summary"]["text"]
    assert "With all of the load at its far end the run has 11.50 V there." in said


def test_the_load_of_a_supply_is_told_in_whole_per_cent() -> None:
    assert text_of(shown=Shown(supply=box(66.6))) == "Passes. The supply is loaded to 67 % of its rating."
    assert text_of(shown=Shown(supply=box(66.1))) == "Passes. The supply is loaded to 66 % of its rating."
    assert text_of(shown=Shown(supply=box(0.26))) == "Passes. The supply is loaded to 0.3 % of its rating."
    assert text_of(shown=Shown(supply=box(nextafter(56.0, inf)))).endswith("loaded to 56 % of its rating.")
    assert text_of(shown=Shown(supply=box(nextafter(100.0, inf)))).endswith("loaded to 100 % of its rating.")
    assert text_of(shown=Shown(supply=box(66.6, None))) == "Passes."


@pytest.mark.parametrize(
    ("used_va", "most", "shown"),
    [(72.9, 73, "73"), (72.71, 72.8, "72.7"), (72.801, 72.81, "72.8"), (72.78, 72.79, "72.78")],
)
def test_a_load_that_keeps_a_share_is_never_told_above_it(used_va: float, most: float, shown: str) -> None:
    told = text_of(shown=Shown(supply=box(used_va), most_ratio=most / 100))
    assert told == f"Passes. The supply is loaded to {shown} % of its rating."


def test_a_load_over_a_share_is_told_above_it() -> None:
    told = text_of(odd(0, WARNING), shown=Shown(supply=box(72.01), most_ratio=0.72))
    assert "loaded to 73 % of its rating." in told


def test_what_opens_and_what_overheats_stands_before_a_dim_lamp(client: Client) -> None:
    # 12.1 A of halogens on a device of 10 A, 152 VA on 150 VA, and the last lamp below its range.
    circuits = [{"name": name, "limit": jobs.quantity(10, "A")} for name in ("left", "right")]
    supply = transformer(winding=jobs.winding(140, 4), circuits=circuits)
    lawn = lamp(9, jobs.halogen(50), count=3, spacing=jobs.metres(3), window=window(11.5, 13))
    text = solved(client, job(run(lawn, cable=jobs.awg(12), circuit="left"), supply=supply))["summary"][
        "text"
    ]
    opens = text.index('Circuit "left" carries')
    assert opens < text.index("rated 140 VA")
    assert "lamps get" not in text
    assert "One more fault." in text


# The numbers.


def supply_of(used_va: float) -> str:
    """What is said of a supply of 100 VA."""
    return str(summary_row(PASSES, [], named(), Shown(supply=box(used_va))).supply)


def load(ratio: float, spare_va: float) -> str:
    return f"SupplyLoad(loading_ratio={ratio}, spare=ShownApparentPower(value={spare_va}, unit='VA'))"


def test_a_supply_over_its_rating_is_never_shown_as_one_that_is_not() -> None:
    assert supply_of(55.5554) == load(0.5556, 44.445)
    # 100.00011 VA are 0.00011 VA too much, which to four and three decimals is more than nothing.
    assert supply_of(100.00011) == load(1.0001, -0.001)


def test_the_last_digits_of_what_was_solved_are_no_load() -> None:
    """A supply that is loaded to its rating passes, and nothing in its summary says that it is over it."""
    assert supply_of(nextafter(100.0, inf)) == load(1.0, 0.0)
    row = summary_row(PASSES, [], named(), Shown(circuits=[circuit("a", nextafter(4.0, inf), 5.0)])).circuit
    assert "current=ShownCurrent(value=4.0, unit='A')" in str(row)
    assert "loading_ratio=0.8, spare=ShownCurrent(value=0.0, unit='A')" in str(row)


def test_without_a_rating_nothing_is_spare() -> None:
    row = summary_row(PASSES, [], named(), Shown(supply=box(50.0, None)))
    assert repr(row.supply) == "UNSET"


def circuit(name: str, current_a: float, limit_a: float | None) -> CircuitResult:
    return CircuitResult(name, current_a, limit_a)


def test_the_fullest_circuit_is_by_its_share_and_not_by_its_amperes() -> None:
    # 4 A of 5 A are four fifths, 10 A of 25 A two; of a circuit without a stated device nothing is known.
    circuits = [circuit("a", 10.0, 25.0), circuit("b", 4.0, 5.0), circuit("c", 99.0, None)]
    row = summary_row(PASSES, [], named(), Shown(circuits=circuits)).circuit
    assert "name='b'" in str(row)
    # What is left of four fifths of 5 A, the limit of a continuous load, is nothing.
    assert "loading_ratio=0.8, spare=ShownCurrent(value=0.0, unit='A')" in str(row)


def test_a_circuit_over_its_continuous_limit_is_shown_over_it() -> None:
    # 4.000001 A of 5 A are 0.8000002 of it, and 0.000001 A more than four fifths: shown up, and spare down.
    row = summary_row(WITH_WARNINGS, [], named(), Shown(circuits=[circuit("a", 4.000001, 5.0)])).circuit
    assert "current=ShownCurrent(value=4.00001, unit='A')" in str(row)
    assert "loading_ratio=0.8001, spare=ShownCurrent(value=-1e-05, unit='A')" in str(row)


AT_HIGH: Final = {"mains": "highest", "temperature": "as stated"}


@pytest.mark.parametrize(
    ("load", "loading_ratio", "circuit_a"),
    [
        # A resistor of 100 W at 12 V on 12.6 V: 8.33333 A x 1.05 = 8.75 A, 110.25 VA of 150 VA.
        (jobs.resistor(100), 0.735, 8.75),
        # 100 W at 11 V draw 9.090909 A, for which the winding counts 12 V x 9.090909 A = 109.0909 VA.
        (watts(100), 0.7273, 9.09091),
    ],
)
def test_load_and_circuit_are_those_of_the_worst_state_of_a_range(
    client: Client, load: Json, loading_ratio: float, circuit_a: float
) -> None:
    supply = transformer(
        winding=jobs.winding(150, 0),
        primary={"rated": jobs.volts(120), "actual": jobs.volts(120)},
        circuits=[{"name": "a", "limit": jobs.quantity(25, "A")}],
    )
    mains = {"kind": "measured", "lowest": jobs.volts(110), "highest": jobs.volts(126)}
    request = job(run(lamp(0, load), circuit="a"), supply=supply) | {"conditions": {"mains": mains}}
    summary = solved(client, request)["summary"]
    assert summary["supply"]["loading_ratio"] == loading_ratio
    assert summary["circuit"]["current"]["value"] == circuit_a


def test_a_lamp_is_told_by_the_callers_id_and_its_number_within_its_line(client: Client) -> None:
    line = lamp(5, watts(4), id="path", count=3, spacing=jobs.metres(5))
    reply = solved(client, job(run(line)))
    ends = (reply["summary"]["weakest"], reply["summary"]["highest"])
    assert [(told["id"], told["number"]) for told in ends] == [("path", 3), ("path", 1)]


def test_a_lamp_just_below_its_window_is_shown_below_it_in_the_summary(client: Client) -> None:
    # 5.00003 A through 0.1 ohm out and back: 11.499997 V of 11.5 V.
    request = job(run(lamp(10, jobs.amperes(5.00003), window=window(11.5, 13))))
    assert solved(client, request)["summary"]["weakest"]["voltage"]["value"] == 11.4999
