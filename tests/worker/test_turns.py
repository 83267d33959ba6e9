"""Who is next among those that wait for a worker."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.worker.pool import MOST_REMEMBERED, Turns


def waiting(*callers: str | None) -> Turns[tuple[int, str | None]]:
    turns: Turns[tuple[int, str | None]] = Turns()
    for number, caller in enumerate(callers):
        turns.append((number, caller), caller)
    return turns


def taken(turns: Turns[tuple[int, str | None]]) -> list[str | None]:
    return [turns.popleft()[1] for _ in range(len(turns))]


def test_callers_take_turns() -> None:
    assert taken(waiting("a", "a", "a", "b", "b", "c")) == ["a", "b", "c", "a", "b", "a"]


def test_who_was_just_answered_waits_for_all_others() -> None:
    turns = waiting("a")
    turns.popleft()
    for number, caller in enumerate("aabc"):
        turns.append((number, caller), caller)
    assert taken(turns) == ["b", "c", "a", "a"]


@given(st.lists(st.sampled_from("abcde"), max_size=40))
def test_nobody_is_passed_over_for_a_second_of_another(callers: list[str]) -> None:
    turns, order = waiting(*callers), []
    while turns:
        order.append(turns.popleft())
    assert sorted(order) == sorted(enumerate(callers))
    names = [caller for _, caller in order]
    for caller in set(names):
        first = names.index(caller)
        assert len(set(names[:first])) == first
    for caller in set(names):
        numbers = [number for number, each in order if each == caller]
        assert numbers == sorted(numbers)


@given(st.lists(st.integers(), max_size=20, unique=True))
def test_where_callers_are_not_told_apart_it_is_a_queue(items: list[int]) -> None:
    turns: Turns[int] = Turns()
    for item in items:
        turns.append(item, None)
    assert [turns.popleft() for _ in items] == items


def test_who_leaves_is_not_taken_and_cannot_leave_twice() -> None:
    turns = waiting("a", "b")
    turns.remove((0, "a"))
    with pytest.raises(ValueError, match="not in list"):
        turns.remove((0, "a"))
    assert taken(turns) == ["b"]


def test_callers_of_long_ago_are_forgotten() -> None:
    turns: Turns[int] = Turns()
    for number in range(MOST_REMEMBERED + 1):
        turns.append(number, number)
        turns.popleft()
    turns.append(1, 1)
    turns.append(0, 0)
    assert [turns.popleft(), turns.popleft()] == [0, 1]
