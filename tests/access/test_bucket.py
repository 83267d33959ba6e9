"""A token bucket, whatever is asked of it and whenever: `Bucket` alone, with a clock of ours."""

from typing import NamedTuple

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.access.quotas import NANOSECONDS, Bucket

PER_MINUTE = 6_000
SECOND = NANOSECONDS


class Asked(NamedTuple):
    """A request: when it comes, what is held for it, what it spends, how long it takes."""

    gap: int
    work: int
    spent_share: float
    takes: int


class Done(NamedTuple):
    began: int
    ended: int
    spent: int


requests = st.builds(
    Asked,
    st.integers(0, 20 * SECOND),
    st.integers(0, PER_MINUTE),
    st.floats(0, 1),
    st.integers(0, 90 * SECOND),
)


def answered(asked: list[Asked], bucket: Bucket) -> list[Done]:
    """Ask a bucket, settling each request when its time has come; return those that were granted."""
    granted: list[Done] = []
    open_requests: list[tuple[int, int, Done]] = []
    now = 0

    def settle_until(moment: int) -> None:
        open_requests.sort()
        while open_requests and open_requests[0][0] <= moment:
            ended, held, done = open_requests.pop(0)
            bucket.settle(held, done.spent, ended)

    for request in asked:
        now += request.gap
        settle_until(now)
        if bucket.hold(request.work, now):
            done = Done(now, now + request.takes, int(request.work * request.spent_share))
            open_requests.append((done.ended, request.work, done))
            granted.append(done)
    settle_until(now + 100 * SECOND)
    return granted


@given(st.lists(requests, max_size=40))
def test_in_no_span_of_time_is_more_done_than_one_bucket_and_what_flowed_in(asked: list[Asked]) -> None:
    granted = answered(asked, Bucket(PER_MINUTE, 0))
    for moments in ([done.began for done in granted], [done.ended for done in granted]):
        for start in moments:
            for end in moments:
                inside = [done.spent for done, at in zip(granted, moments, strict=True) if start <= at <= end]
                assert sum(inside) * 60 * SECOND <= PER_MINUTE * (60 * SECOND + max(0, end - start))


@given(st.lists(requests, max_size=40), st.integers(0, PER_MINUTE))
def test_it_never_holds_more_than_it_can(asked: list[Asked], work: int) -> None:
    bucket = Bucket(PER_MINUTE, 0)
    answered(asked, bucket)
    late = 10**15
    assert bucket.left(late) == PER_MINUTE
    assert bucket.is_whole(late)
    assert bucket.hold(work, late)
    assert bucket.left(late) == PER_MINUTE - work


@given(st.lists(requests, max_size=20), st.integers(1, PER_MINUTE))
def test_after_the_wait_so_much_is_left_and_a_second_before_it_is_not(asked: list[Asked], work: int) -> None:
    bucket = Bucket(PER_MINUTE, 0)
    answered(asked, bucket)
    now = sum(request.gap for request in asked) + 100 * SECOND
    left = bucket.left(now)
    assert bucket.hold(left, now)
    bucket.settle(left, left, now)
    wait = bucket.seconds_until(work, now)
    assert not bucket.hold(work, now + (wait - 1) * SECOND)
    assert bucket.hold(work, now + wait * SECOND)


@given(st.lists(st.integers(0, 3 * SECOND), min_size=1, max_size=200))
def test_many_small_steps_of_the_clock_give_what_one_large_one_gives(steps: list[int]) -> None:
    stepped, once = Bucket(PER_MINUTE, 0), Bucket(PER_MINUTE, 0)
    for bucket in (stepped, once):
        bucket.hold(PER_MINUTE, 0)
        bucket.settle(PER_MINUTE, PER_MINUTE, 0)
    now = 0
    for step in steps:
        now += step
        stepped.left(now)
    assert stepped.left(now) == once.left(now)


def test_a_clock_that_steps_back_gives_nothing() -> None:
    bucket = Bucket(PER_MINUTE, 100 * SECOND)
    assert bucket.hold(PER_MINUTE, 100 * SECOND)
    bucket.settle(PER_MINUTE, PER_MINUTE, 100 * SECOND)
    assert bucket.left(0) == 0
    assert bucket.left(100 * SECOND) == 0
    assert bucket.left(101 * SECOND) == PER_MINUTE // 60


def test_what_was_not_spent_is_given_back() -> None:
    bucket = Bucket(PER_MINUTE, 0)
    assert bucket.hold(4_000, 0)
    bucket.settle(4_000, 1_000, 0)
    assert bucket.left(0) == 5_000


def test_what_was_spent_beyond_is_owed_and_paid_first() -> None:
    bucket = Bucket(PER_MINUTE, 0)
    assert bucket.hold(1_000, 0)
    bucket.settle(1_000, 9_000, 0)
    assert bucket.left(0) == 0
    # 3,000 are owed, at 100 a second.
    assert not bucket.hold(1, 30 * SECOND)
    assert bucket.hold(100, 31 * SECOND)


def test_what_is_in_progress_takes_the_place_of_what_would_flow_in() -> None:
    bucket = Bucket(PER_MINUTE, 0)
    assert bucket.hold(PER_MINUTE, 0)
    assert bucket.left(600 * SECOND) == 0
    bucket.settle(PER_MINUTE, 0, 600 * SECOND)
    assert bucket.left(600 * SECOND) == PER_MINUTE


@given(st.lists(st.integers(0, 2 * PER_MINUTE), max_size=20))
def test_refusals_are_charged_but_never_owed(charges: list[int]) -> None:
    bucket = Bucket(PER_MINUTE, 0)
    for charge in charges:
        bucket.charge_at_most(charge, 0)
    assert bucket.left(0) == max(0, PER_MINUTE - sum(charges))
    assert bucket.hold(100, SECOND)


@pytest.mark.parametrize("work", [PER_MINUTE, PER_MINUTE + 1, 10**12])
def test_nobody_waits_for_more_than_a_full_bucket(work: int) -> None:
    bucket = Bucket(PER_MINUTE, 0)
    bucket.hold(PER_MINUTE, 0)
    bucket.settle(PER_MINUTE, PER_MINUTE, 0)
    assert bucket.seconds_until(work, 0) == bucket.seconds_until_whole(0) == 60
