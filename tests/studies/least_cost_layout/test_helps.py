"""What is said to help helps: the request with that change is answered with a layout that passes."""

from __future__ import annotations

from collections.abc import Callable
from copy import deepcopy
from random import Random

import pytest

from tests import jobs
from tests.client import Client
from tests.jobs import Json
from tests.studies.least_cost_layout.requests import CABLES, fed_by

PATH = "/v1/least-cost-layout"


def of_size(size: str) -> Json:
    """A cable of the stock."""
    return {
        "id": size,
        "conductor": size,
        "price": {"kind": "per-length", "amount": CABLES[size], "per": "ft"},
    }


def in_line(
    fixtures: int,
    apart_ft: float,
    watts: float,
    taps: tuple[float, ...] = (12,),
    **more: object,
) -> Json:
    """Fixtures in a line away from a box of 300 VA, with one thin cable."""
    box = fed_by(300, "100.00") | {"taps": [jobs.volts(each) for each in taps]}
    return {
        "places": {
            "frame": "local",
            "points": [
                {"name": f"p{at}", "x": jobs.feet(apart_ft * at), "y": jobs.feet(0)}
                for at in range(fixtures + 1)
            ],
        },
        "routes": [{"from": f"p{at}", "to": f"p{at + 1}"} for at in range(fixtures)],
        "fixtures": [{"place": f"p{at + 1}", "load": jobs.watts(watts)} for at in range(fixtures)],
        "mounting_points": [{"place": "p0"}],
        "transformers": [box],
        "stock": [of_size("16 AWG")],
        "effort": 3_000,
        **more,
    }


def scattered(seed: int) -> Json:
    """A line that may well be too long, or have too many watts, of unstated power factor."""
    random = Random(seed)  # repeatable, not secret
    sizes = random.choice((("16 AWG",), ("14 AWG", "12 AWG"), ("12 AWG",), ("10 AWG",)))
    taps = random.choice(((12,), (12, 13), (12, 14), (14,), (15,)))
    limits: Json = {}
    if random.random() < 0.3:
        limits = {"limits": {"maximum_drop_percent": random.choice((5, 8, 12))}}
    fixtures, apart_ft = random.randint(1, 6), random.choice((15, 25, 40, 60, 90))
    request = in_line(fixtures, apart_ft, random.choice((5, 12, 20, 35)), taps, **limits)
    request["transformers"][0]["rating"]["value"] = random.choice((60, 150, 300))
    return request | {"stock": [of_size(size) for size in sizes]}


def with_thicker(request: Json) -> None:
    thickest = min(int(each["conductor"].split()[0]) for each in request["stock"])
    size = f"{thickest - 4} AWG"
    price = max((each["price"] for each in request["stock"]), key=lambda each: float(each["amount"]))
    request["stock"].append({"id": size, "conductor": size, "price": price})


def with_higher_tap(request: Json) -> None:
    for each in request["transformers"]:
        each["taps"].append(jobs.volts(15))


def with_lower_tap(request: Json) -> None:
    for each in request["transformers"]:
        each["taps"].insert(0, jobs.volts(min(tap["value"] for tap in each["taps"]) - 1))


def with_24_volts(request: Json) -> None:
    assert "nominal_voltage" not in request, "the fixtures are for 12 V"
    request["nominal_voltage"] = jobs.volts(24)
    for each in request["transformers"]:
        each["taps"] = [jobs.volts(2 * tap["value"]) for tap in each["taps"]]


def with_more_volt_amperes(request: Json) -> None:
    for each in request["transformers"]:
        each["rating"]["value"] *= 2
    for each in request["mounting_points"]:
        each["transformers_at_most"] = 2


def with_smaller_device(request: Json) -> None:
    for each in request["transformers"]:
        for circuit in each["circuits"]:
            # 16 AWG stands behind 10 A at most.
            circuit["limit"]["value"] = min(circuit["limit"]["value"] / 2, 10)


HELPED: dict[str, Callable[[Json], None]] = {
    "thicker-cable": with_thicker,
    "higher-tap": with_higher_tap,
    "lower-tap": with_lower_tap,
    "24-volt-fixtures": with_24_volts,
    "more-volt-amperes": with_more_volt_amperes,
    "smaller-device": with_smaller_device,
}


def assert_helped(client: Client, request: Json) -> set[str]:
    """Whatever is said to help does; what was said."""
    reply, helped = jobs.answer(client, request, PATH), set()
    for help_ in reply.get("helps", []):
        changed = deepcopy(request) | {"effort": 30_000}
        HELPED[help_["code"]](changed)
        assert jobs.answer(client, changed, PATH)["status"] == "laid-out", help_
        helped.add(help_["code"])
    return helped


@pytest.mark.parametrize("start", range(0, 120, 40))
def test_what_helps_helps(client: Client, start: int) -> None:
    helped = set[str]()
    for seed in range(start, start + 40):
        helped |= assert_helped(client, scattered(seed))
    assert len(helped) > 1


@pytest.mark.parametrize("limit_a", [10, 15, 25, 40])
@pytest.mark.parametrize("apart_ft", [25, 90])
def test_a_smaller_device_is_said_to_help_where_it_does(
    client: Client, limit_a: float, apart_ft: float
) -> None:
    request = in_line(3, apart_ft, 5, (12, 14))
    request["transformers"][0]["circuits"] = [{"name": "A", "limit": jobs.quantity(limit_a, "A")}]
    helped = assert_helped(client, request)
    passes = limit_a == 10 and apart_ft == 25
    assert helped == (set() if passes or (apart_ft == 90 and limit_a > 10) else {"smaller-device"})


@pytest.mark.parametrize("volts", [15, 24])
@pytest.mark.parametrize("apart_ft", [60, 120, 200, 300])
def test_fixtures_for_more_than_12_volts_are_not_told_to_be_for_24(
    client: Client, volts: float, apart_ft: float
) -> None:
    request = in_line(5, apart_ft, 20, (volts,), nominal_voltage=jobs.volts(volts))
    reply = jobs.answer(client, request, PATH)
    assert "24-volt-fixtures" not in [each["code"] for each in reply.get("helps", [])]


@pytest.mark.parametrize(
    ("low", "high", "more"),
    [
        (24, 28, {"nominal_voltage": jobs.volts(24)}),
        (12, 15, {"conditions": {"wet_contact": True}}),
    ],
    ids=["low voltage", "wet contact"],
)
def test_a_tap_that_may_not_be_used_changes_nothing(
    client: Client, low: float, high: float, more: Json
) -> None:
    # 28 V stand above the 30 V of low voltage without load at high mains, 15 V above those of wet contact.
    alone, both = (
        jobs.answer(client, in_line(3, 30, 5, taps, **more), PATH) for taps in ((low,), (low, high))
    )
    assert alone["status"] == both["status"] == "laid-out"
    turned = jobs.answer(client, in_line(3, 30, 5, (high, low), **more), PATH)
    for reply in (both, turned):
        assert [reply[member] for member in ("costs", "bound")] == [alone["costs"], alone["bound"]]


def test_the_tap_of_an_earlier_layout_is_the_one_of_the_request(client: Client) -> None:
    request = in_line(3, 40, 5, (28, 24), nominal_voltage=jobs.volts(24))
    first = jobs.answer(client, request, PATH)
    [run] = first["certificate"]["supplies"][0]["runs"]
    assert run["tap_place"] == 1
    again = jobs.answer(client, request | {"previous": first["certificate"]}, PATH)
    assert again["previous"]["outcome"] == "passes"
    run["tap_place"] = 0
    wrong = jobs.answer(client, request | {"previous": first["certificate"]}, PATH)
    assert wrong["previous"]["outcome"] == "breaks-limits"
    assert wrong["costs"] == first["costs"]


def test_a_box_that_carries_its_fixtures_only_by_a_power_factor_of_one_is_no_end(client: Client) -> None:
    # Four times 20 W draw 114 VA at the usual 0.7, and more with what cable and winding take.
    request = in_line(4, 25, 20, (12, 14))
    request["transformers"][0]["rating"]["value"] = 120
    request["mounting_points"][0]["transformers_at_most"] = 2
    stated = deepcopy(request)
    for each in stated["fixtures"]:
        each["load"]["power_factor"] = 0.7
    assert jobs.answer(client, stated, PATH)["status"] == "laid-out"
    assert jobs.answer(client, request, PATH)["status"] == "laid-out"


def test_no_tap_is_lowered_to_nothing(client: Client) -> None:
    request = in_line(1, 30, 5, (1, 18))
    request["fixtures"][0]["load"] = {"kind": "constant-current", "current": jobs.quantity(1, "mA")}
    reply = jobs.answer(client, request, PATH)
    assert reply["status"] == "none-found"


def test_fixtures_of_next_to_no_watts_are_laid_by_their_volt_amperes(client: Client) -> None:
    request = in_line(2, 30, 1e-300, (12,))
    for each in request["fixtures"]:
        each["load"]["apparent_power"] = jobs.quantity(5.2, "VA")
    reply = jobs.answer(client, request, PATH)
    assert reply["status"] == "laid-out"
