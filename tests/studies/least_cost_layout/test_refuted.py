"""Sites of which the engine finds that no layout passes, proven twice, beside all layouts enumerated.

Every lamp alone is within reach there, and the box carries what all lamps draw; but not with what cable and
winding take as well.
"""

from collections.abc import Sequence
from math import inf
from random import Random

import pytest

from service.studies.least_cost_layout.bound import Bounding, impossible
from service.studies.least_cost_layout.design import Meter
from service.studies.least_cost_layout.polishing import LARGEST
from service.studies.least_cost_layout.programme import Bounds, proven, refutes, rounded
from service.studies.least_cost_layout.refining import Case, refined, setting_of
from service.studies.least_cost_layout.relaxing import Family, Relaxed
from service.studies.least_cost_layout.site import Site
from service.studies.least_cost_layout.study import ABOVE_ALL, refuted
from tests.studies.least_cost_layout import enumeration
from tests.studies.least_cost_layout.sites import box, site
from tests.studies.least_cost_layout.test_relaxation import WORK, assert_proven_again

REFUTED: Sequence[int] = (1, 39, 73, 74, 75, 88, 118, 161, 201, 303)
"""Seeds of sites of two to four lamps whose one box is too small."""


def scarce(seed: int) -> Site:
    """A few lamps on long ways, and one box that carries little more than they draw."""
    random = Random(seed)  # repeatable, not secret
    made = site(random.randint(2, 4), seed, trench=2.0, extra=random.choice((0.0, 0.3)))
    longer = random.choice((2.0, 4.0, 6.0, 8.0))
    watts = sum(lamp.load.power_w for lamp in made.lamps)
    rating = round(watts * random.uniform(1.12, 1.5))
    return made._replace(
        routes=tuple(each._replace(length_m=each.length_m * longer) for each in made.routes),
        cables=made.cables[:2],
        boxes=(box(rating, "95", taps=(12.0, 14.0), regulation=random.choice((0.02, 0.04, 0.08))),),
        mounts=tuple(each._replace(boxes_at_most=1) for each in made.mounts),
    )


def shortened(made: Site, ratio: float) -> Site:
    """The same with shorter ways."""
    return made._replace(routes=tuple(each._replace(length_m=each.length_m * ratio) for each in made.routes))


def is_refuted(made: Site, work: int = WORK) -> bool:
    """Whether it is proven that none passes; every proof is proven a second time, from the site alone."""
    bounding = Bounding(made)
    bound = refined(bounding, work, ABOVE_ALL)
    for case, relaxed in bound.relaxed.items():
        assert_proven_again(made, case, relaxed)
    return refuted(bounding, bound)


def passes(made: Site) -> bool:
    """Whether any layout does, of all of them."""
    return enumeration.cheapest_below(made, 1e9) < inf


@pytest.mark.parametrize("seed", REFUTED)
def test_where_lamps_fit_alone_and_not_together_it_is_proven_that_none_passes(seed: int) -> None:
    made = scarce(seed)
    assert not impossible(made).proven
    assert Bounding(made).parts, "the closed form alone leaves something"
    assert is_refuted(made)
    assert not passes(made)


@pytest.mark.parametrize("start", range(1_000, 1_300, 50))
def test_nothing_is_refuted_where_a_layout_passes(start: int) -> None:
    found = dict.fromkeys((False, True), 0)
    for seed in range(start, start + 50):
        made = scarce(seed)
        if not impossible(made).proven:
            passing = passes(made)
            assert not (passing and is_refuted(made)), seed
            found[passing] += 1
    assert min(found.values()) > 0


@pytest.mark.parametrize("seed", REFUTED)
def test_where_ways_are_just_short_enough_nothing_is_refuted(seed: int) -> None:
    made = scarce(seed)
    short, long = 0.0625, 1.0
    assert passes(shortened(made, short))
    while long > short * (1.0 + 1e-4):
        middle = 0.5 * (short + long)
        short, long = (middle, long) if passes(shortened(made, middle)) else (short, middle)
    assert not is_refuted(shortened(made, short))


@pytest.mark.parametrize("seed", REFUTED)
def test_without_work_nothing_is_refuted(seed: int) -> None:
    assert not is_refuted(scarce(seed), 1)


@pytest.mark.parametrize("seed", range(1, 6))
def test_what_groups_of_lamps_refute_each_lamp_by_itself_refutes_as_clearly(seed: int) -> None:
    made = site(14, seed, trench=1.0)
    widest = setting_of(made, Case((0,), None))
    setting = widest._replace(losses=1.0)
    groups = [list(range(start, start + 7)) for start in (0, 7)]
    family = Family(made, widest, groups, Meter(10**6))
    relaxed = Relaxed(family, setting)
    assert relaxed.improve()
    assert not relaxed.leaves
    [leaf] = relaxed.refuted
    coarse, fine = family.coarse, family.fine
    family.engine.stand(coarse.standing(setting))
    solved = family.engine.solve(10**6)
    assert solved is not None
    assert solved.infeasible
    ray = solved.multipliers
    carried = rounded(family.polishing.carried(ray), fine.programme.rows)
    scale = LARGEST / max(abs(each) for each in ray.values())
    grouped = proven(
        coarse.programme,
        rounded({index: scale * each for index, each in ray.items()}, coarse.programme.rows),
        Bounds(),
        coarse.standing(setting),
        costly=False,
    )
    alone = proven(fine.programme, carried, Bounds(), fine.standing(setting), costly=False)
    assert grouped > 0
    assert float(alone) >= float(grouped) * (1.0 - 1e-4)
    assert refutes(fine.programme, leaf.multipliers, Bounds(), fine.standing(setting))


def test_a_proof_must_be_clear_of_the_last_digits() -> None:
    made = scarce(REFUTED[0])
    bounding = Bounding(made)
    bound = refined(bounding, WORK, ABOVE_ALL)
    [leaf] = [leaf for relaxed in bound.relaxed.values() for leaf in relaxed.refuted]
    [relaxed] = [relaxed for relaxed in bound.relaxed.values() if relaxed.refuted]
    programme, fine = relaxed.family.fine.programme, relaxed.family.fine
    standing = fine.standing(relaxed.setting)
    assert refutes(programme, leaf.multipliers, leaf.bounds, standing)
    # The cables may lose just so much more that a whisker of the proof is left.
    value = proven(programme, leaf.multipliers, leaf.bounds, standing, costly=False)
    rating = programme.places["rating",]
    assert relaxed.setting.losses is not None
    looser = relaxed.setting.losses + float(value / leaf.multipliers[rating]) * (1.0 - 1e-13)
    standing = fine.standing(relaxed.setting._replace(losses=looser))
    assert not refutes(programme, leaf.multipliers, leaf.bounds, standing)
