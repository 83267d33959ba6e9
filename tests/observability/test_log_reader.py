"""What becomes of a running service whose log is read late, by nobody, or goes nowhere."""

import asyncio
import json
import os
import re
import signal
import socket
import subprocess
import sys
import threading
import time
from typing import Any
from urllib.request import urlopen

import pytest

from service.observability.logs import MOST_WAITING_BYTES
from tests.load.asking import HOST, ask, closed, reply
from tests.load.replica import ROOT, Replica, free_port

REQUEST_ID = "a-long-request-id-so-that-fewer-lines-fill-the-log-"
LINE_BYTES = 250
"""What the line of one of these requests has at least."""

MORE_THAN_MAY_WAIT = MOST_WAITING_BYTES // LINE_BYTES + 65_536 // LINE_BYTES + 500


class Logging(Replica):
    """An instance whose log goes into a pipe that is read when the test says so."""

    def __init__(self, **settings: str) -> None:
        self.reading, writing = os.pipe()
        try:
            super().__init__(writing, LASTLAMP_DRAIN_SECONDS="0.5", **settings)
        finally:
            os.close(writing)

    def stop(self) -> int:
        self.send(signal.SIGTERM)
        return self.wait()

    def end(self) -> None:
        super().end()
        os.close(self.reading)


class Reader(threading.Thread):
    """Reads a log to its end; every line is whole."""

    def __init__(self, reading: int) -> None:
        super().__init__()
        self._reading = reading
        self.lines: list[Any] = []
        self.told = threading.Event()
        self.start()

    def run(self) -> None:
        with os.fdopen(os.dup(self._reading), "rb") as lines:
            for line in lines:
                self.lines.append(json.loads(line))
                if self.lines[-1]["event"] == "log-lines-lost":
                    self.told.set()


def asked(replica: Replica, numbers: range) -> set[int]:
    """Ask so often for what is not there, on one connection; the statuses."""

    async def go() -> set[int]:
        reader, writer = await asyncio.open_connection(HOST, replica.port)
        found = set()
        for number in numbers:
            head = f"GET /nowhere HTTP/1.1\r\nHost: a\r\nX-Request-ID: {REQUEST_ID}{number:06}\r\n\r\n"
            writer.write(head.encode())
            found.add((await asyncio.wait_for(reply(reader), 30))[0])
        await closed(writer)
        return found

    return asyncio.run(go())


def health(replica: Replica) -> int:
    return asyncio.run(ask(replica.port, b"GET /health/live HTTP/1.1\r\nHost: a\r\n\r\n"))[0]


def dropped(metrics_port: int) -> int:
    with urlopen(f"http://{HOST}:{metrics_port}/metrics", timeout=10) as exposition:
        shown = exposition.read().decode()
    found = re.search(r"^lastlamp_log_lines_dropped_total (\S+)$", shown, re.MULTILINE)
    assert found
    return int(float(found[1]))


def numbers_of(lines: list[Any]) -> list[int]:
    return [int(line["request_id"][-6:]) for line in lines if REQUEST_ID in line.get("request_id", "")]


def test_a_log_that_nobody_reads_stops_neither_replies_nor_health_nor_the_end() -> None:
    replica = Logging()
    try:
        assert asked(replica, range(1500)) == {404}
        assert health(replica) == 200
        assert replica.stop() == 0
        reader = Reader(replica.reading)
        reader.join()
    finally:
        replica.end()
    numbers = numbers_of(reader.lines)
    assert numbers == list(range(len(numbers)))
    # What the pipe holds, and no more: nobody read.
    assert 100 < len(numbers) < 1500


def test_a_log_that_is_read_again_says_how_many_lines_are_missing_and_goes_on() -> None:
    metrics_port = free_port()
    replica = Logging(LASTLAMP_METRICS_BIND=f"{HOST}:{metrics_port}")
    try:
        assert dropped(metrics_port) == 0
        assert asked(replica, range(MORE_THAN_MAY_WAIT)) == {404}
        missing = dropped(metrics_port)
        reader = Reader(replica.reading)
        assert reader.told.wait(30)
        assert asked(replica, range(MORE_THAN_MAY_WAIT, MORE_THAN_MAY_WAIT + 1)) == {404}
        assert dropped(metrics_port) == missing
        assert replica.stop() == 0
        reader.join()
    finally:
        replica.end()
    kept = MORE_THAN_MAY_WAIT - missing
    assert 0 < kept < MORE_THAN_MAY_WAIT
    assert numbers_of(reader.lines) == [*range(kept), MORE_THAN_MAY_WAIT]
    assert [line["lines"] for line in reader.lines if line["event"] == "log-lines-lost"] == [missing]
    assert reader.lines[-1]["event"] == "stopped"


def test_a_log_without_a_reader_stops_neither_replies_nor_the_end() -> None:
    replica = Logging()
    try:
        os.dup2(os.open(os.devnull, os.O_RDONLY), replica.reading)
        assert asked(replica, range(20)) == {404}
        assert replica.stop() == 0
    finally:
        replica.end()


@pytest.mark.parametrize("closing", [">&-", "2>&-", "<&- >&- 2>&-"])
def test_where_standard_output_is_closed_no_line_reaches_a_client(closing: str) -> None:
    # A connection is given the lowest number that is free, which would be that of standard output.
    port = free_port()
    started = subprocess.Popen(  # noqa: S603  # our own module
        ["/bin/sh", "-c", f'exec "$0" -m service serve {closing}', sys.executable],
        cwd=ROOT,
        env={**os.environ, "LASTLAMP_BIND": f"{HOST}:{port}", "LASTLAMP_DRAIN_SECONDS": "0.2"},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    last = b"GET /nowhere HTTP/1.1\r\nHost: a\r\nConnection: close\r\n\r\n"
    try:
        said = [said_to(port, last) for _ in range(8)]
        started.send_signal(signal.SIGTERM)
        assert started.wait(30) == 0
    finally:
        started.kill()
        started.wait()
    for each in said:
        assert each.startswith(b"HTTP/1.1 404 ")
        assert each.count(b"{") == 1


def said_to(port: int, message: bytes) -> bytes:
    """All that an instance says on one connection, once it listens; on a busy machine that takes a minute."""
    for _ in range(2_400):
        try:
            with socket.create_connection((HOST, port), timeout=30) as connection:
                connection.sendall(message)
                return b"".join(iter(lambda: connection.recv(65_536), b""))
        except ConnectionRefusedError:
            time.sleep(0.05)
    pytest.fail("The service does not listen.")


def test_probes_that_find_all_well_are_silent_at_info_and_others_are_not() -> None:
    replica = Logging()
    try:
        assert [health(replica) for _ in range(3)] == [200] * 3
        assert asked(replica, range(1)) == {404}
        replica.send(signal.SIGTERM)
        while replica.is_ready():
            time.sleep(0.01)
        assert replica.wait() == 0
        reader = Reader(replica.reading)
        reader.join()
    finally:
        replica.end()
    routes = [(line["route"], line["status"]) for line in reader.lines if line["event"] == "request"]
    # It is not ready before its worker is up, and when it stops; nothing was said of what found all well.
    assert [route for route in routes if route != ("/health/ready", 503)] == [("unmatched", 404)]
    assert routes[-1] == ("/health/ready", 503)
