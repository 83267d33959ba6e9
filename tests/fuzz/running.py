"""Sends bodies through the whole application and counts what came of them."""

import time
from collections import Counter
from collections.abc import Iterable
from typing import NamedTuple

import httpx

from tests.contract.matrix.soundness import JSON, assert_sound
from tests.fuzz.asking import CLIENT
from tests.fuzz.bodies import Body, body

SLOW_S = 1.0


class Fault(NamedTuple):
    """A reply that is not as described."""

    number: int
    body: Body
    what: str

    @property
    def kind(self) -> str:
        """By which like faults are counted together."""
        return f"{self.body.method} {self.body.path}: {self.what[:60]}"


class Figures(NamedTuple):
    """What came of a run."""

    statuses: Counter[tuple[str, int, str]]
    """By path, status and code of the problem; without one by media type."""
    microseconds: Counter[str]
    """In which the replies came, by path."""
    slow: list[tuple[float, int, str]]
    """Of each reply that took longer than a second: how long [s], number and path of its body."""
    faults: list[Fault]

    def __add__(self, other: "Figures") -> "Figures":  # type: ignore[override]  # figures are added, not joined
        """Both runs together."""
        return Figures(*(one + two for one, two in zip(self, other, strict=True)))  # type: ignore[operator]  # each member adds to its like


def nothing() -> Figures:
    return Figures(Counter(), Counter(), [], [])


def run(seed: int, numbers: Iterable[int]) -> Figures:
    """Send the bodies of some numbers."""
    found = nothing()
    for number in numbers:
        _send(number, body(seed, number), found)
    return found


def _send(number: int, sent: Body, found: Figures) -> None:
    started = time.perf_counter()
    reply = send(sent)
    seconds = time.perf_counter() - started
    found.microseconds[sent.path] += round(1e6 * seconds)
    if seconds > SLOW_S:
        found.slow.append((round(seconds, 2), number, sent.path))
    media_type = reply.headers["content-type"].partition(";")[0]
    code = media_type if reply.status_code == 200 else reply.json()["code"]
    found.statuses[f"{sent.method} {sent.path}", reply.status_code, code] += 1
    try:
        assert_sound(sent.path, sent.method, reply, reading=number % 8 == 0)
    except AssertionError as fault:
        found.faults.append(Fault(number, sent, str(fault)[:400]))


def send(sent: Body) -> httpx.Response:
    headers = {"accept": sent.accept, "content-type": JSON}
    if sent.method == "get":
        return CLIENT.get(f"{sent.path}?{sent.content.decode('ascii')}", headers=headers)
    return CLIENT.post(sent.path, content=sent.content, headers=headers)
