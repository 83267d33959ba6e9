"""Layouts of made-up gardens: cost, bound and work, beside two usual ways to lay the same fixtures.

Cable is priced by length; what whole spools cost beyond stands by itself. `python -m tests.bench.layouts`
prints the gardens by number, none skipped; with `seeds` 60 more, and with `proofs` what is proven of 500
random sites, each proven again from the site alone and held against a layout that the search finds. With
`hundred` sites of 100 lamps, which no request may have: what the search finds of them, which nothing judges,
and what is proven.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from decimal import Decimal
from math import ceil, inf
from resource import RUSAGE_SELF, getrusage
from statistics import median
from typing import Final, NamedTuple

from service.circuit.work import begin_request, spent
from service.intake import decode
from service.studies import STUDIES
from service.studies.least_cost_layout.bound import Bounding, within_percent
from service.studies.least_cost_layout.refining import refined
from service.studies.least_cost_layout.reply import LaidOut
from service.studies.least_cost_layout.search import LayoutSearch
from tests.jobs import Json
from tests.studies.least_cost_layout.requests import garden
from tests.studies.least_cost_layout.sites import site
from tests.studies.least_cost_layout.test_bound import found
from tests.studies.least_cost_layout.test_relaxation import assert_proven_again, proof_of, random_site

GARDENS: Final = ((10, (1, 2, 3)), (30, (1, 2, 3)), (50, (1,)))
"""Fixtures, and the seeds of gardens with so many."""


HUNDREDS, WORK_FOR_HUNDRED = (1, 2, 3), 400_000
"""Seeds of sites of 100 lamps, and the work of a search and of a bound there."""


TRENCH_PER_M, NEARER = 8.0, 0.5
"""Of a common trench there [a metre], and how long routes are of those that are made up. [-]"""


SITES: Final = 500
"""Random sites of which bounds are proven twice."""


TRENCH, SIDE = 2.5, 6.0
"""Of a common trench [a foot], and how far the fixtures lie apart. [ft]"""


SPOOL_FT: Final = 250
"""Of a usual spool of cable, made up. [ft]"""


class LaidGarden(NamedTuple):
    """What came of one garden; costs are None where nothing was found.

    `spools` is what its cable costs beyond in whole spools.
    """

    fixtures: int
    seed: int
    status: str
    cost: str | None
    bound: str | None
    within_percent: float | None
    ways: tuple[str | None, ...]
    spools: str | None
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
        return LaidGarden(fixtures, seed, "none", None, None, None, (None, None), None, spent())
    ways = tuple(None if not isinstance(way.total, str) else way.total for way in reply.compared)
    gap, bound = reply.bound.within_percent, reply.bound.amount
    beyond = in_whole_spools(reply)
    return LaidGarden(fixtures, seed, "laid-out", reply.costs.total, bound, gap, ways, beyond, spent())


def in_whole_spools(reply: LaidOut) -> str:
    """What the cable of a layout costs beyond if it is bought in whole spools at the same price a foot."""
    beyond = Decimal(0)
    for row in reply.purchase:
        assert isinstance(row.line_total, str)
        spools = ceil(row.quantity.value / SPOOL_FT)
        beyond += Decimal(row.line_total) * (Decimal(spools * SPOOL_FT / row.quantity.value) - 1)
    return f"{beyond:.2f}"


def further() -> Iterator[LaidGarden]:
    """Further gardens: 30 of 10 fixtures, 30 of 30. Those from 24 on were not looked at before."""
    for fixtures in (10, 30):
        for seed in range(4, 34):
            yield laid(fixtures, seed)


def gardens() -> Iterator[LaidGarden]:
    """Every garden of the bench."""
    for fixtures, seeds in GARDENS:
        for seed in seeds:
            yield laid(fixtures, seed)


def proofs() -> None:
    """Print how near what is proven of random sites is to what is found."""
    shares, branches = [], 0
    for seed in range(SITES):
        made = random_site(seed)
        proof, cost = proof_of(made), found(made, 1_500)
        for case, relaxed in proof.relaxed.items():
            assert_proven_again(made, case, relaxed)
            branches += len(relaxed.leaves) + len(relaxed.refuted)
        assert float(proof.terms.amount) <= cost, seed
        if cost < inf:
            shares.append(float(proof.terms.amount) / cost)
    print(f"{SITES} sites, {branches} branches proven again; of {len(shares)} with a layout the bound is")
    least, middle, most = min(shares), median(shares), max(shares)
    print(f"{least:.3f} of its cost at least, {middle:.3f} in the median, {most:.3f} at most")


def hundred() -> None:
    """Print what is found and proven of sites of 100 lamps, by number."""
    row = "{:>4} {:>6} {:>9} {:>9} {:>6}"
    print(row.format("seed", "routes", "cost", "bound", "gap %"))
    for seed in HUNDREDS:
        made = site(100, seed, mounts=2 + seed % 2, trench=TRENCH_PER_M)
        nearer = [
            each._replace(length_m=NEARER * each.length_m, trench=each.trench / 2) for each in made.routes
        ]
        made = made._replace(routes=tuple(nearer))
        search = LayoutSearch(made, WORK_FOR_HUNDRED)
        search.run()
        cost = Decimal(search.drafts[0].design.cost)
        amount = refined(Bounding(made), WORK_FOR_HUNDRED, cost).terms.amount
        print(row.format(seed, len(made.routes), f"{cost:.2f}", amount, within_percent(cost, amount)))


def main() -> None:
    """Print the table."""
    if sys.argv[1:] == ["hundred"]:
        hundred()
        return
    if sys.argv[1:] == ["proofs"]:
        proofs()
        return
    tell(list(further() if sys.argv[1:] == ["seeds"] else gardens()))


def tell(laid_out: list[LaidGarden]) -> None:
    """Print what came of gardens."""
    row = "{:>8} {:>4} {:>9} {:>9} {:>6} {:>9} {:>9} {:>8} {:>7}"
    print(row.format("fixtures", "seed", "cost", "bound", "gap %", "chain", "hub", "spools", "work"))
    for each in laid_out:
        ways = [way or "none" for way in each.ways]
        told = [each.cost or "none", each.bound or "-", each.within_percent or "-", *ways]
        told += [each.spools or "-", each.work]
        print(row.format(each.fixtures, each.seed, *told))
    for fixtures in sorted({each.fixtures for each in laid_out}):
        gaps = [each.within_percent for each in laid_out if each.fixtures == fixtures and each.within_percent]
        print(f"{fixtures} fixtures: median gap {median(gaps) if gaps else 0.0:.2f} %")
    peak_kb = getrusage(RUSAGE_SELF).ru_maxrss
    print(f"peak memory of the process {peak_kb / 1024:.0f} MB")


if __name__ == "__main__":
    main()
