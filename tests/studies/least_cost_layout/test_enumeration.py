"""Layouts of five and six lamps, and their bounds, beside the cheapest of all."""

from math import inf

import pytest

from service.studies.least_cost_layout.bound import bound_of
from service.studies.least_cost_layout.site import Site
from tests.studies.least_cost_layout import enumeration
from tests.studies.least_cost_layout.sites import site
from tests.studies.least_cost_layout.test_bound import found, tiny
from tests.studies.least_cost_layout.test_relaxation import proof_of

SITES = [(5, seed) for seed in range(1, 13)] + [(6, seed) for seed in range(1, 9)]

ABOVE = 1.0 + 1e-6
"""What enumeration looks below, over what is found: it has to find that or something cheaper."""


def small(lamps: int, seed: int) -> Site:
    """A site of a few lamps; in some copper decides, in some trenches do."""
    made = site(lamps, seed, trench=(0.5, 2.0, 6.0)[seed % 3], extra=0.3)
    longer = (1.5, 2.5, 4.0)[seed // 3 % 3]
    return made._replace(
        routes=tuple(each._replace(length_m=each.length_m * longer) for each in made.routes),
        cables=made.cables[:3],
        boxes=tuple(each._replace(taps_v=(12.0, 14.0)) for each in made.boxes[:2]),
        mounts=tuple(each._replace(boxes_at_most=1) for each in made.mounts),
    )


@pytest.mark.parametrize("seed", range(1, 7))
def test_leaving_what_cannot_be_cheapest_leaves_the_cheapest(seed: int) -> None:
    made = tiny(seed)
    cheapest = enumeration.cheapest(made)
    assert enumeration.cheapest_below(made, 1e9) == pytest.approx(cheapest, rel=1e-12)
    assert enumeration.cheapest_below(made, cheapest) == inf


@pytest.mark.parametrize(("lamps", "seed"), SITES)
def test_the_cheapest_of_all_layouts_is_between_its_bound_and_what_is_found(lamps: int, seed: int) -> None:
    made = small(lamps, seed)
    layout = found(made)
    cheapest = enumeration.cheapest_below(made, layout * ABOVE)
    assert cheapest < inf
    assert float(bound_of(made).amount) <= float(proof_of(made).terms.amount) <= cheapest + 1e-9
    assert layout <= 1.02 * cheapest
