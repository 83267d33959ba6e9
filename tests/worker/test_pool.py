"""One worker at a time is stopped, killed or broken; what the others asked is never lost by it."""

import asyncio
import os
import signal
import sys
from contextlib import suppress
from typing import Any

import pytest
from structlog.testing import capture_logs

from service.problems import Refused
from service.worker import pool, process
from service.worker.pool import ClientLeftError, Workers
from tests.observability.exchanging import counted
from tests.worker.held import TASK, asked, at_work, begun, held, is_gone, run, settings, stays, until

RESTARTS = "lastlamp_worker_restarts_total"
HEAVY = "lastlamp_heavy_requests_total"


def refusal(answer: "asyncio.Task[Any]") -> tuple[str, dict[str, str]]:
    error = answer.exception()
    assert isinstance(error, Refused)
    return error.code, dict(error.headers)


def test_a_task_is_answered_and_the_worker_stays() -> None:
    async def test() -> None:
        async with at_work() as workers:
            before = list(workers.pids)
            first, second = await asked(workers), await asked(workers)
            assert first.end == second.end
            assert first.work["voltage-drop"] > 0
            assert workers.pids == before

    run(test())


def test_a_worker_that_takes_too_long_is_ended_and_replaced_and_its_request_told_not_to_come_again() -> None:
    async def test() -> None:
        was = counted(RESTARTS, reason="out-of-time")
        async with at_work(work_seconds=0.3) as workers:
            pid, answer = await held(workers)
            await asyncio.wait([answer])
            assert refusal(answer) == ("work-out-of-time", {})
            await until(lambda: workers.pids not in ([], [pid]))
            assert is_gone(pid)
        assert counted(RESTARTS, reason="out-of-time") == was + 1

    run(test())


def test_what_waits_behind_a_worker_that_takes_too_long_is_answered_by_the_next() -> None:
    async def test() -> None:
        async with at_work(work_seconds=2.0) as workers:
            _, first = await held(workers)
            second = asked(workers)
            await asyncio.wait([first])
            assert refusal(first)[0] == "work-out-of-time"
            assert (await second).work

    run(test())


@pytest.mark.parametrize("number", [signal.SIGKILL, signal.SIGSEGV])
def test_a_worker_that_dies_fails_its_own_request_alone(number: signal.Signals) -> None:
    async def test() -> None:
        was = counted(RESTARTS, reason="died")
        with capture_logs() as lines:
            async with at_work() as workers:
                pid, first = await held(workers)
                second = asked(workers)
                os.kill(pid, number)
                # One that was killed outright may be gone before it can go on.
                with suppress(ProcessLookupError):
                    os.kill(pid, signal.SIGCONT)
                await asyncio.wait([first])
                assert refusal(first) == ("internal-error", {})
                assert (await second).work
        assert counted(RESTARTS, reason="died") == was + 1
        [line] = [line for line in lines if line["event"] == "worker-died"]
        assert (line["pid"], line["request_id"], line["study"]) == (pid, "held-1", "voltage-drop")
        assert str(-number) in line["reason"]

    run(test())


def test_a_worker_that_dies_with_nothing_to_do_is_replaced_before_the_next_request() -> None:
    async def test() -> None:
        async with at_work() as workers:
            [pid] = workers.pids
            os.kill(pid, signal.SIGKILL)
            await until(lambda: workers.pids not in ([], [pid]))
            assert (await asked(workers)).work

    run(test())


def test_of_two_workers_one_that_is_ended_leaves_the_other_its_task() -> None:
    async def test() -> None:
        async with at_work(workers=2) as workers:
            for pid in workers.pids:
                os.kill(pid, signal.SIGSTOP)
            first, second = await begun(workers), await begun(workers)
            killed, spared = workers.pids
            os.kill(killed, signal.SIGKILL)
            await asyncio.wait([first, second], return_when=asyncio.FIRST_COMPLETED)
            os.kill(spared, signal.SIGCONT)
            ends = await asyncio.gather(first, second, return_exceptions=True)
            assert sorted(isinstance(end, Refused) for end in ends) == [False, True]
            assert spared in workers.pids

    run(test())


def test_a_client_that_leaves_before_its_turn_is_dropped_and_never_begun() -> None:
    async def test() -> None:
        answered, left = counted(HEAVY, outcome="answered"), counted(HEAVY, outcome="left")
        gone = asyncio.Event()

        async def leaves() -> None:
            await gone.wait()

        async with at_work() as workers:
            pid, first = await held(workers)
            second, third = asked(workers, left=leaves), asked(workers)
            await asyncio.sleep(0)
            gone.set()
            with pytest.raises(ClientLeftError):
                await second
            os.kill(pid, signal.SIGCONT)
            assert (await first).end == (await third).end
        assert counted(HEAVY, outcome="answered") == answered + 2
        assert counted(HEAVY, outcome="left") == left + 1

    run(test())


def test_a_client_that_leaves_while_its_request_is_computed_costs_no_worker() -> None:
    async def test() -> None:
        gone = asyncio.Event()

        async def leaves() -> None:
            await gone.wait()

        async with at_work() as workers:
            [pid] = workers.pids
            os.kill(pid, signal.SIGSTOP)
            first = asked(workers, left=leaves)
            await asyncio.sleep(0)
            await until(lambda: counted("lastlamp_heavy_requests_waiting") == 0)
            gone.set()
            os.kill(pid, signal.SIGCONT)
            await first
            assert workers.pids == [pid]

    run(test())


def test_one_more_than_may_wait_is_told_to_come_again() -> None:
    async def test() -> None:
        full, shed = counted(HEAVY, outcome="full"), counted("lastlamp_requests_shed_total")
        async with at_work(maximum_in_progress=8) as workers:
            pid, first = await held(workers)
            waiting = [asked(workers) for _ in range(2)]
            await asyncio.sleep(0)
            more = asked(workers)
            await asyncio.wait([more])
            assert refusal(more) == ("busy", {"Retry-After": "1"})
            os.kill(pid, signal.SIGCONT)
            assert all(outcome.work for outcome in await asyncio.gather(first, *waiting))
        assert counted(HEAVY, outcome="full") == full + 1
        assert counted("lastlamp_requests_shed_total") == shed + 1

    run(test())


def test_one_whose_turn_does_not_come_in_time_is_told_to_come_again_and_not_begun() -> None:
    async def test() -> None:
        answered = counted(HEAVY, outcome="answered")
        async with at_work(maximum_wait_seconds=0.2) as workers:
            pid, first = await held(workers)
            second = asked(workers)
            await asyncio.wait([second])
            assert refusal(second) == ("busy", {"Retry-After": "1"})
            os.kill(pid, signal.SIGCONT)
            await first
        assert counted(HEAVY, outcome="answered") == answered + 1

    run(test())


def test_waiting_counts_from_when_the_request_was_whole() -> None:
    async def test() -> None:
        async with at_work(maximum_wait_seconds=5.0) as workers:
            pid, first = await held(workers)
            with pytest.raises(Refused, match="busy"):
                await workers.outcome_of(TASK, -1e9, stays)
            os.kill(pid, signal.SIGCONT)
            await first

    run(test())


def test_a_request_that_is_given_up_leaves_no_place_behind() -> None:
    async def test() -> None:
        async with at_work(maximum_in_progress=4) as workers:
            pid, first = await held(workers)
            second = asked(workers)
            await asyncio.sleep(0)
            second.cancel()
            await asyncio.wait([second])
            third = asked(workers)
            os.kill(pid, signal.SIGCONT)
            assert (await first).end == (await third).end

    run(test())


def test_while_no_worker_can_start_it_is_not_ready_and_goes_on_trying(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    async def test() -> None:
        failed = counted(RESTARTS, reason="start-failed")
        workers = Workers(settings())
        async with workers.running():
            await until(lambda: counted(RESTARTS, reason="start-failed") >= failed + 2)
            assert not workers.are_ready
            monkeypatch.undo()
            await until(lambda: workers.pids)
            assert workers.are_ready
            assert (await asked(workers)).work

    monkeypatch.setattr(process, "_COMMAND", (sys.executable, "-c", "raise SystemExit(3)"))
    monkeypatch.setattr(pool, "BACKOFF_SECONDS", (0.01,))
    run(test())


def test_what_a_worker_prints_is_a_line_of_the_log(monkeypatch: pytest.MonkeyPatch) -> None:
    async def test() -> None:
        async with Workers(settings()).running():
            await until(lambda: any(line["event"] == "worker-said" for line in lines))

    monkeypatch.setattr(process, "_COMMAND", (sys.executable, "-c", "print('as it is')"))
    with capture_logs() as lines:
        run(test())
    said = next(line for line in lines if line["event"] == "worker-said")
    assert (said["text"], said["log_level"]) == ("as it is", "warning")


def test_a_worker_that_cannot_be_understood_is_replaced(monkeypatch: pytest.MonkeyPatch) -> None:
    async def test() -> None:
        workers = Workers(settings())
        async with workers.running():
            await until(lambda: workers.pids)
            answer = asked(workers)
            await asyncio.wait([answer])
            assert refusal(answer) == ("internal-error", {})

    says = (
        "import socket, sys; s = socket.socket(fileno=int(sys.argv[1]));"
        "s.sendall(bytes(8)); s.recv(1); s.sendall(bytes(7) + b'\\x01' + b'?'); s.recv(1 << 20); s.recv(1)"
    )
    monkeypatch.setattr(process, "_COMMAND", (sys.executable, "-c", says))
    with capture_logs() as lines:
        run(test())
    assert "worker-not-understood" in {line["event"] for line in lines}


def test_workers_end_with_the_block_and_leave_nothing_behind() -> None:
    async def test() -> None:
        async with at_work(workers=2) as workers:
            pids = list(workers.pids)
            assert workers.are_at_work
        assert all(map(is_gone, pids))
        assert not workers.are_at_work
        assert workers.are_ready

    run(test())


def test_a_task_that_is_with_a_worker_when_all_end_is_told_so() -> None:
    async def test() -> None:
        async with at_work() as workers:
            _, first = await held(workers)
            second = asked(workers)
            await asyncio.sleep(0)
        await asyncio.wait([first, second])
        assert refusal(first)[0] == refusal(second)[0] == "not-ready"

    run(test())


def test_without_workers_everything_is_answered_in_the_loop() -> None:
    async def test() -> None:
        workers = Workers(settings(workers=0))
        async with workers.running():
            assert (workers.are_at_work, workers.are_ready) == (False, True)

    run(test())
