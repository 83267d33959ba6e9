"""Layouts of made-up gardens: cost, bound and work, beside two usual ways to lay the same fixtures.

Cable is priced by length. `python -m tests.bench.layouts` prints the gardens by number, none skipped.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from statistics import median
from typing import Final, NamedTuple

from service.circuit.work import begin_request, spent
from service.intake import decode
from service.studies import STUDIES
from service.studies.least_cost_layout.reply import LaidOut
from tests.jobs import Json
from tests.studies.least_cost_layout.requests import garden

GARDENS: Final = ((10, (1, 2, 3)), (30, (1, 2, 3)), (50, (1,)))
"""Fixtures, and the seeds of gardens with so many."""


TRENCH, SIDE = 2.5, 6.0
"""Of a common trench [a foot], and how far the fixtures lie apart. [ft]"""


class LaidGarden(NamedTuple):
    """What came of one garden; costs are None where nothing was found."""

    fixtures: int
    seed: int
    status: str
    cost: str | None
    bound: str | None
    within_percent: float | None
    ways: tuple[str | None, ...]
    work: int


def site_of(fixtures: int, seed: int) -> Json:
    """A garden of the bench."""
    return garden(fixtures, seed, mounts=1 + seed % 3, trench=TRENCH, side=SIDE)


def laid(fixtures: int, seed: int) -> LaidGarden:
    """The answer to one garden."""
    study = STUDIES["least-cost-layout"]
    message = decode(json.dumps(site_of(fixtures, seed)).encode(), study.request)
    begin_request()
    reply = study.answer(message, study.prepare(message), "")
    if not isinstance(reply, LaidOut):
        return LaidGarden(fixtures, seed, "none", None, None, None, (None, None), spent())
    ways = tuple(None if not isinstance(way.total, str) else way.total for way in reply.compared)
    gap = reply.bound.within_percent
    return LaidGarden(fixtures, seed, "laid-out", reply.costs.total, reply.bound.amount, gap, ways, spent())


def gardens() -> Iterator[LaidGarden]:
    """Every garden of the bench."""
    for fixtures, seeds in GARDENS:
        for seed in seeds:
            yield laid(fixtures, seed)


def main() -> None:
    """Print the table."""
    row = "{:>8} {:>4} {:>9} {:>9} {:>6} {:>9} {:>9} {:>7}"
    print(row.format("fixtures", "seed", "cost", "bound", "gap %", "chain", "hub", "work"))
    found = list(gardens())
    for each in found:
        ways = [way or "none" for way in each.ways]
        told = [each.cost or "none", each.bound or "-", each.within_percent or "-", *ways, each.work]
        print(row.format(each.fixtures, each.seed, *told))
    for fixtures, _ in GARDENS:
        gaps = [each.within_percent for each in found if each.fixtures == fixtures and each.within_percent]
        print(f"{fixtures} fixtures: median gap {median(gaps) if gaps else 0.0:.2f} %")


if __name__ == "__main__":
    main()
