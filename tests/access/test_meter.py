"""One request and its caller's quota, without HTTP: `Quotas` and `RequestMeter` with a clock of ours."""

import asyncio
from typing import Any, Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.access.client_address import ClientAddresses
from service.access.metering import Metering
from service.access.price import WORK_OF_A_REQUEST, work_of_reading
from service.access.quotas import MOST_HEAVY, Caller, Quotas, RequestMeter, Terms, meter_of
from service.observability.exchange import Exchange
from service.observability.metrics import REGISTRY
from service.problems import Refused
from tests.access.gates import Clock

SECOND: Final = 1_000_000_000
PER_MINUTE: Final = 60_000
LARGEST: Final = 20_000


def caller(number: int = 0) -> Caller:
    return Caller(None, f"198.51.100.{number}")


def quotas(clock: Clock, most: int = 10) -> Quotas:
    return Quotas(Terms(PER_MINUTE, LARGEST, clock), most)


def left(meter: RequestMeter) -> int:
    return int(meter.fields()[1][1].split(b"=")[1].split(b";")[0])


def forgotten() -> float:
    return REGISTRY.get_sample_value("lastlamp_quotas_forgotten_total") or 0.0


def refusal(ask: Any) -> Refused:
    with pytest.raises(Refused) as caught:
        ask()
    return caught.value


@given(st.integers(0, 2_000_000), st.integers(0, LARGEST), st.integers(0, LARGEST))
def test_a_request_costs_what_it_was_read_and_what_was_spent(size: int, estimate: int, spent: int) -> None:
    meter = Quotas(Terms(1_000_000, LARGEST, Clock())).meter(caller())
    meter.admit(size)
    meter.reserve(estimate, is_heavy=False)
    meter.settle(spent)
    assert left(meter) == 1_000_000 - WORK_OF_A_REQUEST - work_of_reading(size) - spent


def test_a_request_is_settled_once() -> None:
    meter = quotas(Clock()).meter(caller())
    meter.admit(0)
    meter.reserve(1_000, is_heavy=True)
    for _ in range(3):
        meter.settle(10)
    assert left(meter) == PER_MINUTE - WORK_OF_A_REQUEST - 10


@given(st.integers(0, PER_MINUTE), st.integers(0, 500_000), st.integers(0, 2 * PER_MINUTE))
def test_after_retry_after_the_same_request_passes(used: int, size: int, estimate: int) -> None:
    clock = Clock()
    every = quotas(clock)
    first = every.meter(caller())
    first.admit(0)
    first.settle(used)

    def ask() -> None:
        meter = every.meter(caller())
        try:
            meter.admit(size)
            meter.reserve(estimate, is_heavy=False)
        finally:
            meter.settle(0)

    try:
        ask()
    except Refused as refused:
        clock.now += int(refused.headers["Retry-After"]) * SECOND
        ask()


def test_a_refusal_for_want_of_quota_says_how_much_there_is_and_is_charged_what_is_there() -> None:
    every = quotas(Clock())
    first = every.meter(caller())
    first.admit(0)
    first.settle(PER_MINUTE - WORK_OF_A_REQUEST - 20)
    meter = every.meter(caller())
    refused = refusal(lambda: meter.admit(100))
    meter.settle(0)
    assert refused.code == "quota-spent"
    assert f"{PER_MINUTE} units" in refused.detail
    assert left(meter) == 0


def test_even_what_costs_more_than_a_full_quota_passes_when_it_is_full() -> None:
    meter = quotas(Clock()).meter(caller())
    meter.admit(10**9)
    meter.reserve(10**9, is_heavy=False)
    assert left(meter) == 0


def test_no_estimate_holds_more_than_any_request_may_ask_for_but_all_that_was_spent_is_charged() -> None:
    meter = quotas(Clock()).meter(caller())
    meter.admit(0)
    meter.reserve(10**9, is_heavy=False)
    assert left(meter) == PER_MINUTE - WORK_OF_A_REQUEST - LARGEST
    meter.settle(2 * LARGEST)
    assert left(meter) == PER_MINUTE - WORK_OF_A_REQUEST - 2 * LARGEST


def test_of_one_caller_a_third_heavy_request_waits_for_one_of_the_others() -> None:
    every = quotas(Clock())
    heavy = [every.meter(caller()) for _ in range(MOST_HEAVY)]
    for meter in heavy:
        meter.admit(0)
        meter.reserve(2_000, is_heavy=True)
    third = every.meter(caller())
    third.admit(0)
    refused = refusal(lambda: third.reserve(2_000, is_heavy=True))
    third.settle(0)
    assert (refused.code, refused.headers["Retry-After"]) == ("heavy-in-progress", "1")
    light, other = every.meter(caller()), every.meter(caller(1))
    light.reserve(10, is_heavy=False)
    other.reserve(2_000, is_heavy=True)
    heavy[0].settle(2_000)
    fourth = every.meter(caller())
    fourth.reserve(2_000, is_heavy=True)


def test_a_heavy_request_that_is_refused_takes_no_place() -> None:
    every = quotas(Clock())
    spender = every.meter(caller())
    spender.admit(0)
    spender.settle(PER_MINUTE - WORK_OF_A_REQUEST - 100)
    for _ in range(2 * MOST_HEAVY):
        meter = every.meter(caller())
        assert refusal(lambda: meter.reserve(101, is_heavy=True)).code == "quota-spent"  # noqa: B023  # run at once
        meter.settle(0)
    every.meter(caller()).reserve(0, is_heavy=True)


def test_the_wait_for_a_place_grows_with_what_is_in_progress() -> None:
    every = Quotas(Terms(1_000_000, 300_000, Clock()))
    for _ in range(MOST_HEAVY):
        every.meter(caller()).reserve(250_000, is_heavy=True)
    third = every.meter(caller())
    assert refusal(lambda: third.reserve(1, is_heavy=True)).headers["Retry-After"] == "5"


def test_who_was_silent_longest_is_forgotten_first() -> None:
    every = quotas(Clock(), most=3)
    for number in (1, 2, 3, 1):
        every.meter(caller(number)).reserve(1_000, is_heavy=False)
    every.meter(caller(4)).reserve(1_000, is_heavy=False)
    assert len(every) == 3
    assert left(every.meter(caller(1))) == PER_MINUTE - 2_000
    assert left(every.meter(caller(3))) == PER_MINUTE - 1_000
    assert left(every.meter(caller(2))) == PER_MINUTE


def test_only_what_somebody_gains_by_being_forgotten_is_counted() -> None:
    clock = Clock()
    every = quotas(clock, most=1)
    before = forgotten()
    every.meter(caller(1)).settle(0)
    every.meter(caller(2)).settle(0)
    assert forgotten() == before + 1
    clock.now = 60 * SECOND
    every.meter(caller(3))
    assert forgotten() == before + 1


def test_ten_thousand_callers_are_remembered_and_not_one_more() -> None:
    every = Quotas(Terms(PER_MINUTE, LARGEST, Clock()))
    for number in range(10_001):
        every.meter(Caller("shop", str(number)))
    assert len(every) == 10_000


class Ending(Exception):  # noqa: N818  # how a request may end, as much as an error
    """What an application may die of."""


def ended(every: Quotas, ending: str) -> None:
    """A heavy request through `Metering` that ends in one of several ways."""

    async def application(scope: Any, _: Any, send: Any) -> None:
        meter = meter_of(scope)
        assert meter is not None
        meter.admit(10)
        meter.reserve(5_000, is_heavy=True)
        if ending == "error":
            raise Ending
        if ending == "cancelled":
            await asyncio.sleep(60)
        if ending == "silent":
            return
        await send({"type": "http.response.start", "status": 200, "headers": []})
        if ending == "error after the head":
            raise Ending
        await send({"type": "http.response.body", "body": b""})

    async def send(_: Any) -> None:
        if ending == "client left":
            raise Ending

    async def go() -> None:
        scope = {
            "type": "http",
            "method": "POST",
            "path": "/v1/reach",
            "headers": [],
            "client": ("198.51.100.0", 1),
            "state": {"exchange": Exchange("id", work={"reach": 30, "batch": 40})},
        }
        metering = Metering(application, ["/v1/reach"], every, ClientAddresses())
        task = asyncio.create_task(metering(scope, None, send))  # type: ignore[arg-type]  # nothing is received
        await asyncio.sleep(0)
        if ending == "cancelled":
            task.cancel()
        await asyncio.gather(task, return_exceptions=True)

    asyncio.run(go())


@pytest.mark.parametrize(
    "ending", ["answered", "error", "error after the head", "client left", "cancelled", "silent"]
)
def test_however_a_request_ends_its_place_is_free_and_it_is_charged_what_it_spent(ending: str) -> None:
    every = quotas(Clock())
    for _ in range(2 * MOST_HEAVY):
        ended(every, ending)
    assert left(every.meter(caller())) == PER_MINUTE - 2 * MOST_HEAVY * (WORK_OF_A_REQUEST + 70 + 1)
