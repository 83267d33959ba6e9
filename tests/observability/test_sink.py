import json
import os
from collections.abc import Iterator

import pytest

from service.observability.sink import Sink, TextSink

LINE = b'{"event":"request"}\n'


@pytest.fixture
def pipe() -> Iterator[tuple[int, int]]:
    """Reading and writing end of a pipe that says so when it is full, as a disk does."""
    reading, writing = os.pipe()
    os.set_blocking(writing, False)
    yield reading, writing
    os.close(reading)
    os.close(writing)


def test_a_line_is_written_at_once(pipe: tuple[int, int]) -> None:
    Sink(pipe[1]).write(LINE)
    assert os.read(pipe[0], 1000) == LINE


def test_text_is_written_as_utf_8(pipe: tuple[int, int]) -> None:
    TextSink(Sink(pipe[1])).write("Ω\n")
    assert os.read(pipe[0], 1000) == "Ω\n".encode()


def test_lines_that_find_no_room_are_counted_and_the_next_that_does_says_how_many(
    pipe: tuple[int, int],
) -> None:
    sink = Sink(pipe[1])
    long_line = b'{"event":"%s"}\n' % (b"x" * 10_000)
    for _ in range(20):
        sink.write(long_line)
    received = os.read(pipe[0], 1_000_000)
    sink.write(LINE)
    lines = (received + os.read(pipe[0], 1_000_000)).splitlines()
    whole = [line for line in lines if line.endswith(b"}")]
    lost = [json.loads(line) for line in whole if b"log-lines-lost" in line]
    assert [line["lines"] for line in lost] == [20 - received.count(b"\n")]
    assert whole[-1] + b"\n" == LINE


def test_a_descriptor_that_is_gone_is_borne() -> None:
    reading, writing = os.pipe()
    os.close(reading)
    os.close(writing)
    Sink(writing).write(LINE)
