"""The budget of one request: what is charged before, what is charged after, and what is counted."""

from contextvars import Context

import pytest

from service.circuit.most import MAXIMUM_REQUEST_WORK
from service.circuit.work import (
    HEAVY_WORK,
    OPERATIONS_OF_WORK,
    WorkOverLimitError,
    begin_request,
    charge,
    charged,
    count,
    done,
    held_back,
    left,
    spent,
)


def in_a_request(*steps: int, operations: int = 0) -> tuple[int, int, int]:
    """What is spent, left and done after some charges, the last of them with so many operations."""

    def run() -> tuple[int, int, int]:
        begin_request()
        for work in steps[:-1]:
            charge(work)
        with charged(steps[-1]):
            count(operations)
        return spent(), left(), done()

    return Context().run(run)


def test_outside_of_a_request_nothing_is_spent_and_nothing_refused() -> None:
    def run() -> tuple[int, int, int]:
        charge(2 * MAXIMUM_REQUEST_WORK)
        count(10_000)
        return spent(), left(), done()

    assert Context().run(run) == (0, MAXIMUM_REQUEST_WORK, 0)


def test_what_takes_less_than_expected_is_charged_as_expected() -> None:
    assert in_a_request(30, 20, operations=5 * OPERATIONS_OF_WORK) == (50, MAXIMUM_REQUEST_WORK - 50, 5)


def test_what_takes_more_than_expected_is_charged_as_it_was() -> None:
    assert in_a_request(30, 20, operations=70 * OPERATIONS_OF_WORK) == (100, MAXIMUM_REQUEST_WORK - 100, 70)


def test_more_than_a_request_may_ask_for_is_refused_before_and_after() -> None:
    with pytest.raises(WorkOverLimitError):
        in_a_request(MAXIMUM_REQUEST_WORK, 1)
    with pytest.raises(WorkOverLimitError):
        in_a_request(1, operations=2 * MAXIMUM_REQUEST_WORK * OPERATIONS_OF_WORK)


def test_a_request_begins_with_nothing_spent() -> None:
    def run() -> tuple[int, int]:
        begin_request()
        charge(HEAVY_WORK)
        count(HEAVY_WORK * OPERATIONS_OF_WORK)
        begin_request()
        return spent(), done()

    assert Context().run(run) == (0, 0)


def test_work_that_is_held_back_is_there_afterwards() -> None:
    def run() -> int:
        begin_request()
        with held_back(40_000), pytest.raises(WorkOverLimitError):
            charge(MAXIMUM_REQUEST_WORK - 39_999)
        return left()

    assert Context().run(run) == MAXIMUM_REQUEST_WORK


def test_half_of_what_is_left_is_held_back_at_most() -> None:
    def run() -> int:
        begin_request()
        with held_back(10 * MAXIMUM_REQUEST_WORK):
            return left()

    assert Context().run(run) == MAXIMUM_REQUEST_WORK // 2
