"""Sheets are drawn one at a time, and whoever would wait too long for that is told so."""

import asyncio
import time
from threading import Event, Lock

import pytest

from service.endpoints.in_turn import in_turn
from service.problems import Refused
from tests.client import Client
from tests.sheets.reading import PDF, printed
from tests.sheets.studies import STUDIES, Printed


class Pens:
    """Counts how many draw at once."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._drawing = self.most = self.drawn = 0

    def draw(self) -> None:
        with self._lock:
            self._drawing += 1
            self.most = max(self.most, self._drawing)
        time.sleep(0.01)
        with self._lock:
            self._drawing -= 1
            self.drawn += 1


def test_sheets_are_drawn_one_at_a_time() -> None:
    pens = Pens()

    async def go() -> None:
        await asyncio.gather(*(in_turn(5.0, pens.draw) for _ in range(10)))

    asyncio.run(go())
    assert (pens.most, pens.drawn) == (1, 10)


def test_a_sheet_whose_turn_does_not_come_in_time_is_refused_and_not_drawn() -> None:
    pens, released = Pens(), Event()

    async def go() -> None:
        before = asyncio.create_task(in_turn(5.0, released.wait, 5.0))
        await asyncio.sleep(0.05)
        with pytest.raises(Refused) as refusal:
            await in_turn(0.05, pens.draw)
        assert (refusal.value.code, refusal.value.headers["Retry-After"]) == ("busy", "1")
        released.set()
        # One that has begun is waited for, however long it takes.
        assert await before
        await in_turn(5.0, pens.draw)

    asyncio.run(go())
    assert pens.drawn == 1


def test_the_loop_goes_on_while_a_sheet_is_drawn() -> None:
    async def go() -> int:
        turns, drawing = 0, asyncio.create_task(in_turn(5.0, time.sleep, 0.2))
        while not drawing.done():
            await asyncio.sleep(0.01)
            turns += 1
        return turns

    assert asyncio.run(go()) >= 5


def test_a_mistake_while_drawing_is_the_mistake_of_that_request() -> None:
    async def go() -> None:
        with pytest.raises(ZeroDivisionError):
            await in_turn(5.0, lambda: 1 // 0)
        assert await in_turn(5.0, lambda: "drawn") == "drawn"

    asyncio.run(go())


@pytest.mark.parametrize("study", [STUDIES[0], STUDIES[-2]], ids=lambda each: each.file)
def test_a_sheet_waits_for_those_before_it(client: Client, study: Printed) -> None:
    released = Event()

    async def go() -> None:
        before = asyncio.create_task(in_turn(5.0, released.wait, 5.0))
        await asyncio.sleep(0.05)
        # The client has a loop of its own, and the pen is that of the process.
        asked = asyncio.create_task(asyncio.to_thread(printed, client, study.path, study.request(), PDF))
        assert not (await asyncio.wait([asked], timeout=0.3))[0]
        released.set()
        assert (await asked).startswith(b"%PDF-")
        await before

    asyncio.run(go())
