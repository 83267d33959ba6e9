"""A running instance: what is light never waits for what is heavy, and stopping leaves nothing behind."""

import asyncio
import json
import os
import signal
import socket
import struct
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import pytest

from service.worker.__main__ import OUT_OF_MEMORY
from tests import jobs
from tests.bench.largest import park
from tests.load.asking import HOST, TWENTY_LAMPS, ask, closed, post
from tests.load.replica import Replica
from tests.worker.held import EXAMPLES, is_gone, until

BODY: Final = (EXAMPLES / "voltage_drop.json").read_bytes()
HEAVY: Final = post(BODY, "/v1/voltage-drop", "Accept: application/pdf", "X-Request-ID: heavy-1")
LIVE: Final = b"GET /health/live HTTP/1.1\r\nHost: a\r\n\r\n"
READY: Final = b"GET /health/ready HTTP/1.1\r\nHost: a\r\n\r\n"
CHART: Final = (
    b"GET /v1/drop-chart?conductor=14%20AWG&watts=60&volts=12&feet=25,50 HTTP/1.1\r\nHost: a\r\n"
    b"Accept: application/pdf\r\n\r\n"
)

Reply = tuple[int, dict[str, str], bytes]


@pytest.fixture
def log(tmp_path: Path) -> Path:
    return tmp_path / "log"


PATIENT = {"LASTLAMP_MAXIMUM_WAIT_SECONDS": "60", "LASTLAMP_WORK_SECONDS": "60"}


@pytest.fixture
def replica(log: Path) -> Iterator[Replica]:
    """One that a test may end, and the log of that test alone."""
    with log.open("wb") as output:
        running = Replica(output, **PATIENT)
    yield running
    running.end()


@pytest.fixture(scope="module")
def started() -> Iterator[Replica]:
    running = Replica(subprocess.DEVNULL, **PATIENT)
    yield running
    running.end()


@pytest.fixture
def standing(started: Replica) -> Iterator[Replica]:
    """One for all tests that let its worker go on; where one fails before that, it is done here."""
    yield started
    for worker in workers_of(started):
        os.kill(worker, signal.SIGCONT)


def workers_of(replica: Replica) -> list[int]:
    pid = replica.process.pid
    return [int(child) for child in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]


def lines(log: Path) -> list[Any]:
    return [json.loads(line) for line in log.read_text(encoding="utf-8").splitlines()]


def logged(log: Path, event: str) -> list[Any]:
    return [line for line in lines(log) if line["event"] == event]


def gone_for_good(writer: asyncio.StreamWriter) -> None:
    """Reset a connection: who only closes its side may still read the answer."""
    connection = writer.get_extra_info("socket")
    connection.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
    writer.transport.abort()


async def held(replica: Replica) -> tuple[int, "asyncio.Task[Reply]"]:
    """Stop the worker in its tracks, and ask for something heavy."""
    [worker] = workers_of(replica)
    os.kill(worker, signal.SIGSTOP)
    heavy = asyncio.create_task(ask(replica.port, HEAVY))
    # Asked after it and answered: the loop has it by now, and the worker too.
    await asyncio.sleep(0.2)
    assert (await ask(replica.port, LIVE))[0] == 200
    return worker, heavy


def test_whatever_is_light_is_answered_while_something_heavy_is_open(standing: Replica) -> None:
    async def test() -> None:
        worker, heavy = await held(standing)
        light = (LIVE, READY, TWENTY_LAMPS, b"GET /v1/units HTTP/1.1\r\nHost: a\r\n\r\n")
        replies = await asyncio.gather(*(ask(standing.port, message) for message in light * 20))
        assert {status for status, _, _ in replies} == {200}
        assert not heavy.done()
        os.kill(worker, signal.SIGCONT)
        status, fields, content = await heavy
        assert (status, fields["content-type"], content[:5]) == (200, "application/pdf", b"%PDF-")
        assert fields["x-request-id"] == "heavy-1"

    asyncio.run(test())


def test_heavy_charts_and_batches_wait_for_the_worker_too(standing: Replica) -> None:
    item = b'{"study": "voltage-drop", "request": %s}' % BODY
    many = post(b'{"items": [%s]}' % b",".join([item] * 40), "/v1/batch")
    few = post(b'{"items": [%s]}' % item, "/v1/batch")

    async def test() -> None:
        worker, heavy = await held(standing)
        waiting = [asyncio.create_task(ask(standing.port, message)) for message in (CHART, many)]
        assert (await ask(standing.port, few))[0] == 200
        assert not any(one.done() for one in (heavy, *waiting))
        os.kill(worker, signal.SIGCONT)
        chart, batch = await asyncio.gather(*waiting)
        assert (chart[0], chart[1]["content-type"]) == (200, "application/pdf")
        assert "etag" in chart[1]
        assert [one["outcome"] for one in json.loads(batch[2])["items"]] == ["answered"] * 40

    asyncio.run(test())


def test_the_document_whose_examples_are_heavy_is_served_while_the_worker_is_held(standing: Replica) -> None:
    async def test() -> Reply:
        worker, heavy = await held(standing)
        reply = await ask(standing.port, b"GET /openapi.json HTTP/1.1\r\nHost: a\r\n\r\n")
        os.kill(worker, signal.SIGCONT)
        await heavy
        return reply

    status, _, content = asyncio.run(test())
    assert status == 200
    assert content == (EXAMPLES.parent / "openapi.json").read_bytes()


def test_what_is_unfit_is_refused_while_the_worker_is_held(standing: Replica) -> None:
    unfit = post(BODY.replace(b'"listed"', b'"lsted"'), "/v1/voltage-drop", "Accept: application/pdf")

    async def test() -> None:
        worker, heavy = await held(standing)
        assert (await ask(standing.port, unfit))[0] == 400
        os.kill(worker, signal.SIGCONT)
        await heavy

    asyncio.run(test())


@pytest.mark.parametrize("path", ["/v1/voltage-drop", "/v1/batch"])
def test_a_long_body_is_not_even_read_by_the_process_that_serves(standing: Replica, path: str) -> None:
    unfit = b'{"items": [%s]}' % b",".join([b"{}"] * 20_000)

    async def test() -> None:
        worker, heavy = await held(standing)
        long = asyncio.create_task(ask(standing.port, post(unfit, path)))
        replies = await asyncio.gather(*(ask(standing.port, TWENTY_LAMPS) for _ in range(20)))
        assert {status for status, _, _ in replies} == {200}
        assert not long.done()
        os.kill(worker, signal.SIGCONT)
        status, fields, content = await long
        assert (status, fields["content-type"]) == (400, "application/problem+json")
        assert json.loads(content)["errors"]
        assert (await heavy)[0] == 200

    asyncio.run(test())


def test_a_worker_that_is_killed_costs_one_answer_and_no_instance(replica: Replica, log: Path) -> None:
    async def test() -> None:
        worker, heavy = await held(replica)
        os.kill(worker, signal.SIGKILL)
        status, fields, content = await heavy
        problem = json.loads(content)
        assert (status, problem["code"], problem["request_id"]) == (500, "internal-error", "heavy-1")
        assert "retry-after" not in fields
        assert (await ask(replica.port, HEAVY))[0] == 200
        assert workers_of(replica) != [worker]

    asyncio.run(test())
    [died] = logged(log, "worker-died")
    assert (died["request_id"], died["level"]) == ("heavy-1", "error")


def test_a_client_that_left_before_its_turn_is_told_apart_in_the_log(replica: Replica, log: Path) -> None:
    async def test() -> None:
        worker, heavy = await held(replica)
        _, writer = await asyncio.open_connection(HOST, replica.port)
        writer.write(HEAVY.replace(b"heavy-1", b"gone-1"))
        await asyncio.sleep(0.2)
        assert (await ask(replica.port, LIVE))[0] == 200
        gone_for_good(writer)
        await until(lambda: [line for line in lines(log) if line.get("request_id") == "gone-1"])
        os.kill(worker, signal.SIGCONT)
        await heavy

    asyncio.run(test())
    [line] = [line for line in lines(log) if line.get("request_id") == "gone-1"]
    assert (line["event"], line["status"], line["level"]) == ("request", 499, "info")


def test_a_stop_waits_for_what_is_heavy_and_leaves_no_process_behind(replica: Replica, log: Path) -> None:
    async def test() -> int:
        worker, heavy = await held(replica)
        replica.send(signal.SIGTERM)
        await until(lambda: not replica.is_ready())
        os.kill(worker, signal.SIGCONT)
        assert (await heavy)[0] == 200
        return worker

    worker = asyncio.run(test())
    assert replica.wait() == 0
    assert is_gone(worker)
    assert {line["level"] for line in lines(log)} == {"info"}
    assert lines(log)[-1]["event"] == "stopped"


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_signals_to_all_processes_stop_them_without_noise(
    replica: Replica, log: Path, number: signal.Signals
) -> None:
    [worker] = workers_of(replica)
    os.kill(worker, number)
    replica.send(number)
    assert replica.wait() == 0
    assert is_gone(worker)
    assert {line["level"] for line in lines(log)} == {"info"}


def test_a_worker_ends_with_an_instance_that_is_killed_even_while_it_computes(replica: Replica) -> None:
    slow = post(
        json.dumps(
            {
                **json.loads((EXAMPLES / "commissioning_sheet.json").read_bytes()),
                "wiring": jobs.even(100, jobs.watts(0.02), 100, cable=jobs.awg(4))["wiring"],
                "points": "every",
            }
        ).encode(),
        "/v1/commissioning-sheet",
        "Accept: application/pdf",
    )

    async def test() -> None:
        [worker] = workers_of(replica)
        opened = [await asyncio.open_connection(HOST, replica.port) for _ in range(3)]
        for _, writer in opened:
            writer.write(slow)
        await asyncio.sleep(0.2)
        assert (await ask(replica.port, LIVE))[0] == 200
        replica.process.kill()
        replica.process.wait(timeout=10)
        await until(lambda: not Path(f"/proc/{worker}/stat").exists() or is_zombie(worker))
        for _, writer in opened:
            await closed(writer)

    asyncio.run(test())


def is_zombie(pid: int) -> bool:
    """Whether a process has ended and nobody has asked how: where the tests' own machine has no init."""
    return Path(f"/proc/{pid}/stat").read_text(encoding="ascii").rpartition(")")[2].split()[0] == "Z"


def test_without_workers_an_instance_is_one_process() -> None:
    alone = Replica(LASTLAMP_WORKERS="0")
    try:
        assert workers_of(alone) == []
        assert asyncio.run(ask(alone.port, HEAVY))[0] == 200
    finally:
        alone.end()


def test_a_worker_is_told_no_setting_and_so_no_key(standing: Replica) -> None:
    [worker] = workers_of(standing)
    environment = Path(f"/proc/{worker}/environ").read_bytes().split(b"\0")
    assert environment != [b""]
    assert [name for name in environment if name.startswith(b"LASTLAMP_")] == []


def test_a_worker_that_needs_more_memory_than_it_may_have_dies_alone(log: Path) -> None:
    # Little more than it has at rest; answers of 25 MB are beyond it.
    with log.open("wb") as output:
        replica = Replica(output, LASTLAMP_WORKER_MEMORY_BYTES=str(256 * 2**20), **PATIENT)
    job = {"study": "voltage-drop", "request": jobs.even(1_998, jobs.watts(0.02), 200, cable=jobs.awg(4))}
    long = post(json.dumps({"items": [job] * 40}).encode(), "/v1/batch", "X-Request-ID: long-1")

    async def test() -> None:
        [worker] = workers_of(replica)
        status, _, content = await ask(replica.port, long)
        assert (status, json.loads(content)["code"]) == (500, "internal-error")
        assert (await ask(replica.port, HEAVY))[0] == 200
        assert workers_of(replica) != [worker]

    try:
        asyncio.run(test())
    finally:
        replica.end()
    [died] = logged(log, "worker-died")
    # Python says what it lacks; what is written in C may end first.
    ends = {OUT_OF_MEMORY, -signal.SIGSEGV, -signal.SIGABRT}
    assert died["request_id"] == "long-1"
    assert died["reason"] in {f"ended with {int(code)}" for code in ends}


def test_a_park_is_answered_whole_by_a_worker_with_what_memory_it_has(replica: Replica) -> None:
    status, _, content = asyncio.run(ask(replica.port, post(json.dumps(park()).encode(), "/v1/batch")))
    items = json.loads(content)["items"]
    assert (status, len(items)) == (200, 200)
    assert {len(item["answer"]["fixtures"]) for item in items} == {50}
    assert {item["answer"]["summary"]["verdict"] for item in items} <= {"passes", "passes-with-warnings"}
