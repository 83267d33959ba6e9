"""Relaxations beside another solver."""

from math import inf

import pytest

from service.studies.least_cost_layout.engine import engine_of
from service.studies.least_cost_layout.programme import Bounds, proven, rounded
from service.studies.least_cost_layout.refining import Case
from service.studies.least_cost_layout.relaxing import Relaxed
from service.studies.least_cost_layout.site import Site
from tests.studies.least_cost_layout.oracle import least
from tests.studies.least_cost_layout.sites import site
from tests.studies.least_cost_layout.test_relaxation import proof_of, random_site, remade_of

WORK = 6_000
MOST_ITERATIONS = 1_000_000


def assert_solved_alike(made: Site, case: Case, relaxed: Relaxed, *more: Bounds) -> int:
    """Every branch of a relaxation has the same least cost by both solvers; how many branches there are."""
    relaxation = relaxed.family.coarse
    relaxation.wake()
    programme, routes = relaxation.programme, {column: at for at, column in enumerate(relaxation.dug)}
    remade = remade_of(made, case, relaxation.lamps_of)
    standing = relaxation.standing(relaxed.setting)
    branches = {Bounds(), *more, *(leaf.bounds for leaf in (*relaxed.leaves, *relaxed.refuted))}
    names = [row.name for index, row in enumerate(programme.rows) if standing.get(index, 0.0) is not None]
    for bounds in branches:
        engine = engine_of(programme)
        engine.fix(bounds)
        engine.stand(standing)
        solved = engine.solve(MOST_ITERATIONS)
        assert solved is not None
        other = least(
            remade, names, [routes[each] for each in bounds.zero], [routes[each] for each in bounds.one]
        )
        assert solved.infeasible == (other == inf)
        multipliers = rounded(solved.multipliers, programme.rows)
        if solved.infeasible:
            assert proven(programme, multipliers, bounds, standing, costly=False) > 0
            continue
        cost = sum(price * value for price, value in zip(programme.costs, solved.values, strict=True))
        assert cost == pytest.approx(other, rel=1e-6)
        # What is proven in fractions is never more, and nearly all that there is to prove: the few digits
        # that are kept of a multiplier cost less than the cent that a bound is rounded down to.
        value = float(proven(programme, multipliers, bounds, standing))
        assert other - 0.01 < value <= other * (1.0 + 1e-6)
    return len(branches)


@pytest.mark.parametrize("seed", range(24))
def test_another_solver_finds_the_same_least_cost_of_every_relaxation(seed: int) -> None:
    made = random_site(seed)
    proof = proof_of(made, WORK)
    assert proof.relaxed
    for case, relaxed in proof.relaxed.items():
        assert_solved_alike(made, case, relaxed)


def test_another_solver_finds_the_same_least_cost_of_every_branch_of_a_garden() -> None:
    made = site(10, 6, trench=4.0, extra=1.2)
    proof = proof_of(made, 60_000)
    branches = [assert_solved_alike(made, case, relaxed) for case, relaxed in proof.relaxed.items()]
    assert max(branches) > 2


@pytest.mark.parametrize("seed", range(4))
def test_another_solver_finds_nothing_either_where_no_trench_is_dug(seed: int) -> None:
    made = random_site(seed)
    for case, relaxed in proof_of(made, WORK).relaxed.items():
        undug = Bounds(zero=frozenset(relaxed.family.coarse.dug))
        assert assert_solved_alike(made, case, relaxed, undug) > 1
