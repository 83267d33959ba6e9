import resource

import pytest

from service.server.serving import OTHERS, connections_with_room


@pytest.fixture
def limits(monkeypatch: pytest.MonkeyPatch) -> list[tuple[int, int]]:
    """The last item is the limit in force; nothing of the process that runs the tests is changed."""
    seen = [(1024, 4096)]
    monkeypatch.setattr(resource, "getrlimit", lambda _: seen[-1])
    monkeypatch.setattr(resource, "setrlimit", lambda _, pair: seen.append(pair))
    return seen


def test_the_limit_is_left_alone_where_it_is_enough(limits: list[tuple[int, int]]) -> None:
    assert connections_with_room(500) == 500
    assert len(limits) == 1


def test_the_limit_is_raised_where_the_machine_allows(limits: list[tuple[int, int]]) -> None:
    assert connections_with_room(2000) == 2000
    assert limits[-1] == (2000 + OTHERS, 4096)


def test_where_it_does_not_there_are_as_many_connections_as_fit(limits: list[tuple[int, int]]) -> None:
    assert connections_with_room(10_000) == 4096 - OTHERS
    assert limits[-1] == (4096, 4096)


def test_a_limit_that_is_none_is_enough(limits: list[tuple[int, int]]) -> None:
    limits.append((resource.RLIM_INFINITY, resource.RLIM_INFINITY))
    assert connections_with_room(10_000) == 10_000
