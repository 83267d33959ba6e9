"""Every single fault that could be, by place: what the first explanation has to choose from."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from tests.studies.readings_truth.garden import Garden, Lamp
from tests.studies.readings_truth.world import Fault


class Where(NamedTuple):
    """Where a fault is: "span" or "load" at a point, "supply", "winding", "pair" of lamps, "run",
    "runs" exchanged, or "nothing".
    """

    kind: str
    at: int = -1
    other: int = -1


class Suspect(NamedTuple):
    """A family of faults of one place, with one free size between bounds, or of no size."""

    where: Where
    kind: str
    at: int
    start: float
    low: float
    high: float
    other: int = -1

    @property
    def sized(self) -> bool:
        return self.low < self.high

    def fault(self, size: float) -> Fault:
        return Fault(self.kind, self.at, size, self.other)


def where_is(garden: Garden, fault: Fault) -> Where:
    """The place of a fault."""
    if fault.kind in ("span", "open"):
        return Where("span", fault.at)
    if fault.kind in ("power", "undeclared"):
        return Where("load", garden.lamps[fault.at].point)
    if fault.kind == "exchanged":
        return Where("pair", fault.at, fault.other)
    if fault.kind == "other-tap":
        return Where("run", fault.at)
    if fault.kind == "exchanged-runs":
        return Where("runs", fault.at, fault.other)
    return Where("nothing" if fault.kind == "none" else fault.kind)


def suspects(garden: Garden) -> Iterator[Suspect]:
    """All families; `start` is the size at which nothing is wrong."""
    for point, span in garden.spans.items():
        yield Suspect(Where("span", point), "span", point, 0.0, -0.6 * span.ohm, 3.0)
        yield Suspect(Where("span", point), "open", point, 0.0, 0.0, 0.0)
    for index, lamp in enumerate(garden.lamps):
        where = Where("load", lamp.point)
        yield Suspect(where, "power", index, 1.0, 0.0, 1.0 + 60.0 / lamp.watts)
        yield Suspect(where, "undeclared", index, 0.0, 0.0, 60.0)
    yield Suspect(Where("supply"), "supply", -1, 1.0, 0.5, 1.5)
    yield Suspect(Where("winding"), "winding", -1, 1.0, 0.0, 20.0)
    for run, pointer in enumerate(garden.runs):
        for tap_v in garden.taps_v:
            if tap_v != garden.tap_v(pointer):
                yield Suspect(Where("run", run), "other-tap", run, tap_v, 0.0, 0.0)
        for other in range(run + 1, len(garden.runs)):
            yield Suspect(Where("runs", run, other), "exchanged-runs", run, 0.0, 0.0, 0.0, other)
    for one in range(len(garden.lamps)):
        for other in range(one + 1, len(garden.lamps)):
            if _load(garden.lamps[one]) != _load(garden.lamps[other]):
                yield Suspect(Where("pair", one, other), "exchanged", one, 0.0, 0.0, 0.0, other)


def _load(lamp: Lamp) -> tuple[str, float, float]:
    return lamp.kind, lamp.watts, lamp.power_factor
