import json
import os
import select
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

from service.observability.logs import MOST_WAITING_BYTES, Sink, TextSink

LINE = b'{"event":"request"}\n'
COUNT = 3 * MOST_WAITING_BYTES // 1000
"""How many lines of 1,000 bytes are more than may wait."""

WRITER = "log"
"""The name of a sink's thread."""

# Always full: every write fails with ENOSPC (full(4) of the Linux manual pages).
FULL = Path("/dev/full")


class Dropped:
    """What a sink said that it dropped."""

    def __init__(self) -> None:
        self.lines = 0

    def __call__(self, lines: int) -> None:
        self.lines += lines


@pytest.fixture
def dropped() -> Dropped:
    return Dropped()


@pytest.fixture
def pipe() -> Iterator[tuple[int, int]]:
    """Reading and writing end of a pipe, as a container runtime holds them."""
    reading, writing = os.pipe()
    yield reading, writing
    os.close(reading)
    os.close(writing)


def taken(reading: int, told: threading.Event | None = None) -> bytes:
    """Read for as long as a sink writes, and what is there then; notice when it speaks of lost lines."""
    received = b""
    while select.select([reading], [], [], 0.02)[0] or WRITER in {
        each.name for each in threading.enumerate()
    }:
        if select.select([reading], [], [], 0)[0]:
            received += os.read(reading, 65_536)
            if told is not None and b"log-lines-lost" in received:
                told.set()
    return received


class Reader:
    """Somebody who begins to read now."""

    def __init__(self, reading: int) -> None:
        self.told = threading.Event()
        self._received = b""
        self._reading = reading
        self._thread = threading.Thread(target=self._read)
        self._thread.start()

    def _read(self) -> None:
        self._received = taken(self._reading, self.told)

    def lines(self) -> list[bytes]:
        self._thread.join()
        return self._received.splitlines()


@pytest.fixture
def unwaiting(pipe: tuple[int, int]) -> tuple[int, int]:
    """Reading and writing end of a pipe that says so when it is full, as a disk does."""
    os.set_blocking(pipe[1], False)
    return pipe


def numbered(number: int, size: int = 100) -> bytes:
    start = b'{"event":"request","number":%d,"pad":"' % number
    return start + b"x" * (size - len(start) - 3) + b'"}\n'


def lost(lines: list[bytes]) -> list[int]:
    """The numbers that the lines about lost lines give; every line is whole."""
    return [found["lines"] for found in map(json.loads, lines) if found["event"] == "log-lines-lost"]


def test_a_line_is_written_at_once(pipe: tuple[int, int], dropped: Dropped) -> None:
    Sink(pipe[1], dropped).write(LINE)
    assert os.read(pipe[0], 1000) == LINE


def test_text_is_written_as_utf_8(pipe: tuple[int, int], dropped: Dropped) -> None:
    TextSink(Sink(pipe[1], dropped)).write("Ω\n")
    assert os.read(pipe[0], 1000) == "Ω\n".encode()


def test_lines_that_find_no_room_are_counted_and_the_next_that_does_says_how_many(
    unwaiting: tuple[int, int], dropped: Dropped
) -> None:
    reading, writing = unwaiting
    sink = Sink(writing, dropped)
    for number in range(20):
        sink.write(numbered(number, 10_000))
    received = os.read(reading, 1_000_000)
    sink.write(LINE)
    lines = (received + os.read(reading, 1_000_000)).splitlines()
    whole = [line for line in lines if line.endswith(b"}")]
    assert lost(whole) == [20 - received.count(b"\n")] == [dropped.lines]
    assert whole[-1] + b"\n" == LINE


def test_a_descriptor_that_is_gone_is_borne(dropped: Dropped) -> None:
    reading, writing = os.pipe()
    os.close(reading)
    os.close(writing)
    sink = Sink(writing, dropped)
    sink.write(LINE)
    with sink.beside():
        sink.write(LINE)
    assert dropped.lines == 2


@pytest.mark.skipif(not FULL.exists(), reason="this system has no /dev/full")
def test_a_full_disk_loses_every_line_and_counts_each_once(dropped: Dropped) -> None:
    with FULL.open("wb") as full:
        sink = Sink(full.fileno(), dropped)
        sink.write(LINE)
        with sink.beside():
            for number in range(100):
                sink.write(numbered(number))
    assert dropped.lines == 101


def test_a_reader_that_is_gone_loses_lines_and_nothing_else(dropped: Dropped) -> None:
    reading, writing = os.pipe()
    os.close(reading)
    sink = Sink(writing, dropped)
    with sink.beside():
        sink.write(LINE)
    os.close(writing)
    assert dropped.lines == 1


def test_lines_written_beside_come_in_their_order_and_are_all_there_at_the_end(
    pipe: tuple[int, int], dropped: Dropped
) -> None:
    sink = Sink(pipe[1], dropped)
    sink.write(numbered(0))
    with sink.beside():
        for number in range(1, 300):
            sink.write(numbered(number))
    sink.write(numbered(300))
    received = os.read(pipe[0], 65_536)
    assert [json.loads(line)["number"] for line in received.splitlines()] == list(range(301))
    assert dropped.lines == 0


def test_lines_of_several_threads_stay_whole_and_each_thread_in_order(
    pipe: tuple[int, int], dropped: Dropped
) -> None:
    sink = Sink(pipe[1], dropped)

    def log(first: int) -> None:
        for number in range(first, first + 500):
            sink.write(numbered(number, 100 + number % 5000))

    with sink.beside():
        reader = Reader(pipe[0])
        threads = [threading.Thread(target=log, args=(1000 * each,)) for each in range(4)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    lines = reader.lines()
    numbers = [found["number"] for found in map(json.loads, lines) if found["event"] == "request"]
    for each in range(4):
        of_one = [number for number in numbers if number // 1000 == each]
        assert of_one == sorted(of_one)
    # More comes at once than may wait, so some may be dropped; none is dropped untold.
    assert len(numbers) + dropped.lines == 2000
    assert sum(lost(lines)) == dropped.lines


def test_where_nobody_reads_writing_returns_and_what_does_not_fit_is_dropped(
    pipe: tuple[int, int], dropped: Dropped
) -> None:
    sink = Sink(pipe[1], dropped)
    with sink.beside():
        for number in range(COUNT):
            sink.write(numbered(number, 1000))
        assert COUNT / 2 < dropped.lines < COUNT
    # The end has not waited for a reader; what is read after it is whole.
    lines = taken(pipe[0]).splitlines()
    assert [json.loads(line).get("number") for line in lines[:-1]] == list(range(COUNT - dropped.lines))
    assert lost(lines) == [dropped.lines]


def test_a_reader_that_comes_back_is_told_how_many_lines_are_missing_and_where(
    pipe: tuple[int, int], dropped: Dropped
) -> None:
    sink = Sink(pipe[1], dropped)
    with sink.beside():
        for number in range(COUNT):
            sink.write(numbered(number, 1000))
        reader = Reader(pipe[0])
        # It is said without another line to log.
        assert reader.told.wait(30)
        sink.write(numbered(COUNT))
    lines = reader.lines()
    assert lost(lines) == [dropped.lines]
    kept = list(range(COUNT - dropped.lines))
    assert [json.loads(line).get("number") for line in lines] == [*kept, None, COUNT]


def test_a_descriptor_that_must_not_be_waited_for_loses_nothing_while_somebody_reads(
    unwaiting: tuple[int, int], dropped: Dropped
) -> None:
    sink = Sink(unwaiting[1], dropped)
    with sink.beside():
        for number in range(900):
            sink.write(numbered(number, 1000))
        reader = Reader(unwaiting[0])
    assert [json.loads(line)["number"] for line in reader.lines()] == list(range(900))
    assert dropped.lines == 0
