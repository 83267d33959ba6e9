"""What relaxations prove, beside layouts that are enumerated and found, and proven a second time."""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from functools import cache
from random import Random

import pytest

from service.circuit.job import JobPart
from service.physics.load import constant_power
from service.studies.least_cost_layout import study, translate
from service.studies.least_cost_layout.bound import Bounding, bound_of
from service.studies.least_cost_layout.design import Meter
from service.studies.least_cost_layout.programme import Bounds, Programme, Row, proven, rounded
from service.studies.least_cost_layout.refining import Case, Refined, refined, setting_of
from service.studies.least_cost_layout.relaxing import NOTHING_PASSES, Family, Relaxed
from service.studies.least_cost_layout.site import Position, Route, Site
from tests import jobs
from tests.client import Client
from tests.studies.least_cost_layout import enumeration
from tests.studies.least_cost_layout.certifier import Remade
from tests.studies.least_cost_layout.requests import garden
from tests.studies.least_cost_layout.sites import site
from tests.studies.least_cost_layout.test_bound import found, tiny

WORK = 20_000
"""Enough for every site here to be proven to the end."""

WITHOUT_ENGINE = "bound-closed-form"
"""What is assumed where the packages of the extra are not there."""


def proof_of(made: Site, work: int = WORK) -> Refined:
    """The bound of a site, made better without a layout to stop at."""
    return refined(Bounding(made), work, Decimal(10**9))


@cache
def random_site(seed: int) -> Site:
    """A site of a few lamps, with lagging currents, long ways and free trenches among them."""
    random = Random(seed)  # repeatable, not secret
    made = site(
        random.randint(2, 7), seed, mounts=random.randint(1, 3), trench=random.choice((0.0, 1.0, 6.0))
    )
    longer, factor = random.choice((0.5, 1.0, 2.5)), random.choice((1.0, 1.0, 0.8, 0.6))
    return made._replace(
        routes=tuple(each._replace(length_m=each.length_m * longer) for each in made.routes),
        lamps=tuple(
            each._replace(load=constant_power(each.load.power_w, apparent_va=each.load.power_w / factor))
            for each in made.lamps
        ),
    )


@cache
def proof_of_random_site(seed: int) -> Refined:
    return proof_of(random_site(seed))


@pytest.mark.parametrize("seed", range(1, 25))
def test_what_is_proven_is_never_above_the_cheapest_of_all_layouts(seed: int) -> None:
    made = tiny(seed)
    closed, bound = bound_of(made).amount, proof_of(made).terms.amount
    assert float(closed) <= float(bound) <= enumeration.cheapest(made) + 1e-9


@pytest.mark.parametrize("seed", range(60))
def test_what_is_proven_is_below_what_is_found(seed: int) -> None:
    proof = proof_of_random_site(seed)
    assert float(proof.terms.amount) <= found(random_site(seed), 1_500)


def remade_of(made: Site, case: Case, groups: Sequence[Sequence[int]]) -> Remade:
    """The programme of a site in a case, made a second time."""
    own, widest = setting_of(made, case), setting_of(made, Case(tuple(range(len(made.mounts))), None))
    roots, widest_roots = ([made.mounts[mount].place for mount in each.mounts] for each in (own, widest))
    return Remade(made, roots, groups, own.room_ohm, own.losses, widest_roots, widest.room_ohm)


def assert_proven_again(made: Site, case: Case, relaxed: Relaxed) -> None:
    """Every branch is proven from the site alone, and all branches together leave nothing out."""
    relaxation = relaxed.family.fine
    rows, routes = relaxation.programme.rows, {column: at for at, column in enumerate(relaxation.dug)}
    remade = remade_of(made, case, relaxation.lamps_of)
    whole = Fraction(0)
    for leaf in (*relaxed.leaves, *relaxed.refuted):
        multipliers = {rows[index].name: each for index, each in leaf.multipliers.items()}
        undug, dug = [routes[each] for each in leaf.bounds.zero], [routes[each] for each in leaf.bounds.one]
        refuted = leaf.value == NOTHING_PASSES
        value = remade.proven(multipliers, undug, dug, costly=not refuted)
        if refuted:
            assert value > 0
        else:
            # Weights of lamps are floats in the one and fractions in the other.
            assert float(value) == pytest.approx(float(leaf.value), rel=1e-9, abs=1e-6)
        whole += Fraction(1, 2 ** (len(leaf.bounds.zero) + len(leaf.bounds.one)))
    assert whole == 1


@pytest.mark.parametrize("seed", range(1, 31))
def test_what_is_proven_is_proven_a_second_time_from_the_site_alone(seed: int) -> None:
    proof = proof_of_random_site(seed)
    assert proof.relaxed
    for case, relaxed in proof.relaxed.items():
        assert_proven_again(random_site(seed), case, relaxed)


def test_a_garden_with_branches_is_proven_a_second_time() -> None:
    made = site(10, 6, trench=4.0, extra=1.2)
    proof = proof_of(made, 60_000)
    assert any(len(relaxed.leaves) > 1 for relaxed in proof.relaxed.values())
    for case, relaxed in proof.relaxed.items():
        assert_proven_again(made, case, relaxed)


def programme() -> Programme:
    """Two columns of which three at least are wanted; the least cost is 2 + 2 × 3 = 8."""
    made = Programme()
    columns = [made.column(1.0, 2.0), made.column(3.0, 5.0), made.column(7.0, 1.0)]
    made.row(Row(("wanted",), 4.0, tuple((each, 1.0) for each in columns)))
    return made


@pytest.mark.parametrize("multiplier", [0.0, 0.5, 1.0, 2.0, 3.0, 4.0, 100.0])
def test_any_multiplier_gives_a_bound_and_the_right_one_gives_the_least_cost(multiplier: float) -> None:
    made = programme()
    bound = proven(made, rounded({0: multiplier}, made.rows), Bounds())
    assert bound <= 8
    assert (bound == 8) == (multiplier == 3.0)


def test_a_multiplier_of_the_wrong_sign_counts_as_none() -> None:
    made = programme()
    assert rounded({0: -3.0}, made.rows) == {}


def test_what_cannot_be_is_refuted_without_costs() -> None:
    made = programme()
    made.row(Row(("none",), 0.0, ((0, -1.0), (1, -1.0), (2, -1.0))))
    multipliers = {0: Fraction(1), 1: Fraction(1)}
    assert proven(made, multipliers, Bounds(), costly=False) == 4


def test_the_same_site_is_proven_alike_each_time() -> None:
    made = site(12, 5, mounts=2)
    one, other = (proof_of(made, 15_000) for _ in range(2))
    assert one.terms == other.terms
    for case, relaxed in one.relaxed.items():
        assert [leaf.multipliers for leaf in relaxed.leaves] == [
            leaf.multipliers for leaf in other.relaxed[case].leaves
        ]


def test_more_work_never_proves_less() -> None:
    made = site(10, 3, mounts=2)
    amounts = [proof_of(made, work).terms.amount for work in (1, 2_000, 8_000, 30_000)]
    assert amounts == sorted(amounts)
    assert amounts[0] == bound_of(made).amount < amounts[-1]


def test_the_bound_says_what_it_was_proven_by(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    request = garden(5, 3, effort=4_000)
    path = "/v1/least-cost-layout"
    relaxed = jobs.answer(client, request, path)
    for module in (study, translate):
        monkeypatch.setattr(module, "available", lambda: False)
    closed = jobs.answer(client, request, path)
    assert (relaxed["method"], closed["method"]) == ("relaxation", "closed-form")
    assert WITHOUT_ENGINE in jobs.assumed(closed)
    assert WITHOUT_ENGINE not in jobs.assumed(relaxed)
    assert Decimal(closed["bound"]["amount"]) <= Decimal(relaxed["bound"]["amount"])
    assert closed["costs"] == relaxed["costs"]


@pytest.mark.parametrize("seed", range(1, 6))
def test_with_each_lamp_by_itself_as_much_is_proven_as_with_lamps_in_groups_or_more(seed: int) -> None:
    made = site(14, seed, trench=1.0)
    setting = setting_of(made, Case((0,), None))
    groups = [list(range(start, start + 7)) for start in (0, 7)]
    family = Family(made, setting, groups, Meter(10**6))
    relaxed = Relaxed(family, setting)
    assert relaxed.improve()
    coarse, standing = family.coarse, family.coarse.standing(setting)
    coarse.wake()
    family.engine.stand(standing)
    solved = family.engine.solve(10**6)
    assert solved is not None
    grouped = proven(coarse.programme, rounded(solved.multipliers, coarse.programme.rows), Bounds(), standing)
    assert 0 < grouped < relaxed.value


def test_lamps_in_a_group_lie_in_more_than_one_cable() -> None:
    made, lamps = site(2, 1), range(24)
    ends = [Position(61.0, float(each)) for each in lamps]
    long = Route(JobPart("/routes/0"), 0, 1, 60.0, Decimal(100))
    short = [Route(JobPart(f"/routes/{1 + each}"), 1, 2 + each, 1.0, Decimal(1)) for each in lamps]
    made = made._replace(
        positions=(Position(0.0, 0.0), Position(60.0, 0.0), *ends),
        routes=(long, *short),
        lamps=tuple(made.lamps[0]._replace(place=2 + each, load=constant_power(20.0)) for each in lamps),
        boxes=made.boxes[-1:],
    )
    setting = setting_of(made, Case((0,), (0,)))
    relaxed = Relaxed(Family(made, setting, [lamps], Meter(10**6)), setting)
    assert relaxed.improve()
    assert 0.5 * found(made) < relaxed.value <= found(made)


@pytest.mark.parametrize("power_w", [1e-9, 1e-6, 1e-4])
def test_lamps_that_draw_next_to_nothing_leave_the_bound_what_it_was_or_better(power_w: float) -> None:
    # Numbers of such lamps are larger than the engine takes.
    made = random_site(34)
    made = made._replace(lamps=tuple(each._replace(load=constant_power(power_w)) for each in made.lamps))
    assert bound_of(made).amount <= proof_of(made).terms.amount <= found(made, 1_500)
