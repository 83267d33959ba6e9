"""What a request asks of its supply: the share and the spare, by the figures that are printed."""

import pytest

from tests import jobs
from tests.client import Client
from tests.jobs import Json
from tests.studies.transformer_loading.transformers import FREE, ask, at_terminals, reasons, unit

LOW_MAINS: Json = {"rated": jobs.volts(120), "actual": jobs.volts(110)}
HUNDRED_WATTS = jobs.watts(100, power_factor=1)


def low(most: float, **more: object) -> Json:
    """100 W on 150 VA at 11 V: 66.67 % in volt-amperes and, of 9.0909 A, 72.73 % of the 12.5 A it may carry.

    IEC 61558-1 defines a rated output by rated voltage and rated current, and a winding heats by its current.
    """
    supply = jobs.transformer(winding=jobs.winding(150, 0), primary=LOW_MAINS)
    return at_terminals(HUNDRED_WATTS, supply, maximum_loading_percent=most) | FREE | more


@pytest.mark.parametrize(
    ("most", "passes", "told"),
    [
        (70, False, "loaded to 73 % of its rating; the request allows 70 %."),
        (72.7, False, "loaded to 73 % of its rating; the request allows 72.7 %."),
        (72.8, True, "loaded to 72.7 % of its rating."),
        (73, True, "loaded to 73 % of its rating."),
    ],
)
def test_the_share_that_is_printed_is_the_one_that_is_judged(
    client: Client, most: float, *, passes: bool, told: str
) -> None:
    reply = ask(client, low(most))
    assert told in reply["summary"]["text"]
    assert ("loading-over-share" not in jobs.codes(reply)) is passes
    assert ("passes" in reply["summary"]["verdict"]) is passes


def test_a_share_by_the_current_is_shown_to_the_last_digit_beside_the_sentence(client: Client) -> None:
    (found,) = jobs.findings(ask(client, low(70)), "loading-over-share")
    assert found["measured"] == jobs.quantity(72.728, "percent")
    assert found["limit"] == jobs.quantity(70.0, "percent")


def test_stock_is_judged_by_the_current_as_the_stated_supply_is(client: Client) -> None:
    # 70 % of 150 VA over 12 V are 8.75 A; of 200 VA 11.67 A.
    reply = ask(client, low(70, stock=[unit("same", 150), unit("more", 200)]))
    assert reply["recommended"]["id"] == "more"
    assert reasons(reply) == {"same": ["loading-over-maximum"]}
    (reason,) = reply["rejected"][0]["reasons"]
    assert reason["message"] == "It would carry 9.09 A; the most that it may be loaded to is 8.75 A."


def asked_for(spare: float | None, supply: Json, **more: object) -> Json:
    wanted = {} if spare is None else {"spare_percent": spare}
    return at_terminals(jobs.watts(55, power_factor=1), supply, **wanted, **more)


SIXTY_VA = jobs.transformer(winding=jobs.winding(60, 0))
SIXTY_W = jobs.dc_supply(rating=jobs.quantity(60, "W"))


@pytest.mark.parametrize(("supply", "shown"), [(SIXTY_VA, "68.75 VA"), (SIXTY_W, "68.75 W")])
def test_a_spare_that_was_asked_for_and_is_not_there_fails(client: Client, supply: Json, shown: str) -> None:
    """55 and a quarter are 68.75, over 60."""
    reply = ask(client, asked_for(25, supply))
    assert reply["summary"]["verdict"] == "fails"
    assert reply["stated"] == {"verdict": "fails", "broken": ["rating-below-connected"]}
    (found,) = jobs.findings(reply, "rating-below-connected")
    assert (found["severity"], found["subject"]["pointer"]) == ("fault", "/supply")
    assert reply["summary"]["text"].count(f"need {shown}") == 1


@pytest.mark.parametrize(("supply", "spare"), [(SIXTY_VA, None), (SIXTY_W, None), (SIXTY_VA, 9)])
def test_a_spare_that_nobody_asked_for_is_advice(client: Client, supply: Json, spare: float | None) -> None:
    reply = ask(client, asked_for(spare, supply))
    assert "passes" in reply["summary"]["verdict"]
    assert "rating-below-connected" not in jobs.codes(reply)
    assert ("rating-below-connected" in reply["stated"]["broken"]) is (spare is None)


def test_a_tap_that_nobody_offers_is_named_and_the_size_is_not(client: Client) -> None:
    run = jobs.run(jobs.lamp(0, jobs.watts(60, power_factor=1)), tap=jobs.volts(14))
    supply = jobs.transformer(taps=[jobs.volts(12), jobs.volts(14)])
    request = jobs.job(
        run, supply=supply, stock=[unit("small", 50), unit("two", 150, 12, 13), unit("one", 300)]
    )
    (found,) = jobs.findings(ask(client, request), "no-transformer-fits")
    assert found["message"] == "No transformer on offer carries this job: none has a 14 V tap."
    assert "measured" not in found
    small = {**request, "stock": [unit("fits", 50, 12, 14), unit("two", 150, 12, 13)]}
    (found,) = jobs.findings(ask(client, small), "no-transformer-fits")
    assert found["message"] == (
        "No transformer on offer carries this job: none that is large enough has a 14 V tap."
    )
    large = jobs.run(jobs.lamp(0, jobs.watts(600, power_factor=1)), tap=jobs.volts(14))
    (found,) = jobs.findings(
        ask(client, {**request, "wiring": jobs.job(large)["wiring"]}), "no-transformer-fits"
    )
    assert found["message"] == (
        "No transformer on offer carries this job: it asks for 660 VA, spare included, and the largest is"
        " rated 300 VA."
    )
    assert found["measured"] == jobs.quantity(660.0, "VA")


def two_of_20_a(*amps: float) -> Json:
    """600 VA with two circuits of 20 A, and a run of so many amperes on each."""
    circuits = [{"name": name, "limit": jobs.quantity(20, "A")} for name in "AB"]
    runs = [
        jobs.run(jobs.lamp(0, jobs.amperes(each, power_factor=1)), cable=jobs.awg(6), circuit=name)
        for each, name in zip(amps, "AB", strict=False)
    ]
    supply = jobs.transformer(winding=jobs.winding(600, 0), circuits=circuits)
    return jobs.job(*runs, supply=supply)


def test_a_run_that_the_circuits_of_a_box_cannot_hold_is_told_how_many_it_takes(client: Client) -> None:
    # 24.3 A and 11.5 A are 35.8 A, over twice 16 A, four fifths of 20 A: a third circuit.
    text = ask(client, two_of_20_a(24.3, 11.5))["summary"]["text"]
    assert "the load takes at least 3 of 20 A, and this supply has 2" in text
    assert 'The 600 VA that is stated is large enough; only circuit "A" is too full.' in text
    assert text.endswith("500 VA, the best on offer, would leave a circuit too full as well.")


def test_a_box_with_room_for_half_a_run_is_told_which_circuit_has_it(client: Client) -> None:
    # Of 24.3 A 8.3 A are over 16 A; beside 5 A the other has 11 A to spare.
    text = ask(client, two_of_20_a(24.3, 5))["summary"]["text"]
    assert 'Move part of its run to circuit "B", which has 11 A to spare.' in text


def test_a_box_whose_circuits_hold_the_run_is_recommended(client: Client) -> None:
    # 19 A on 20 A are over four fifths, and 19 A on 25 A under.
    wide = [{"name": name, "limit": jobs.quantity(25, "A")} for name in "ab"]
    stock = [
        unit("full", 500, circuits=[{"name": name, "limit": jobs.quantity(20, "A")} for name in "ab"]),
        unit("wide", 600, circuits=wide),
    ]
    text = ask(client, two_of_20_a(21, 5) | {"stock": stock[1:]})["summary"]["text"]
    assert '600 VA ("wide"), the best on offer, would leave a circuit too full as well.' in text
    reply = ask(client, two_of_20_a(19, 5) | {"stock": stock, "accept": ["conductor-below-device"]})
    assert reply["recommended"]["id"] == "wide"
    assert (
        'The 600 VA that is stated is large enough; only circuit "A" is too full.' in reply["summary"]["text"]
    )
