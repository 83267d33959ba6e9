"""What would help where no layout passes: only what was tried, and with which one is found."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import inf
from typing import Final

from service.physics.load import FILAMENT_EXPONENT, Load
from service.studies.least_cost_layout.search import LayoutSearch
from service.studies.least_cost_layout.site import (
    Site,
    SiteLamp,
    cheapest_ways,
    neighbours,
    usable_taps,
)


def helping(site: Site, codes: Sequence[str], work: int) -> list[str]:
    """Those of some changes, by their codes, with which the search finds a layout.

    Parameters
    ----------
    site : Site
    codes : sequence of str
        Of :data:`CHANGES`.
    work : int
        That each may take.
    """
    return [code for code in codes if _helps(CHANGES[code](site), work)]


def _helps(changed: Site | None, work: int) -> bool:
    if changed is None:
        return False
    highest_v = changed.rules.highest_open_v
    boxes = [each._replace(taps_v=usable_taps(each, highest_v)) for each in changed.boxes]
    boxes = [each for each in boxes if each.taps_v]
    if not boxes:
        return False
    search = LayoutSearch(changed._replace(boxes=tuple(boxes)), work, brief=True)
    search.run()
    return bool(search.drafts)


def _nearer(site: Site) -> Site | None:
    """A box that may hang amid the lamps: where the way to the farthest is least, of places without one."""
    beside, lit = neighbours(len(site.positions), site.routes), {lamp.place for lamp in site.lamps}
    far_m = dict[int, float]()
    for place in range(len(site.positions)):
        if place not in lit and all(mount.place != place for mount in site.mounts):
            costs = cheapest_ways(beside, [place], lambda route: site.routes[route].length_m).costs
            far_m[place] = max(costs[each] for each in lit)
    if not far_m:
        return None
    place = min(far_m, key=lambda each: (far_m[each], each))
    return site._replace(
        mounts=(*site.mounts, site.mounts[0]._replace(place=place)),
        boxes=tuple(each._replace(feedings=(*each.feedings, each.feedings[0])) for each in site.boxes),
    )


def _thicker(site: Site) -> Site:
    """Cable four numbers of AWG thicker, at the price of the dearest."""
    thickest = min(site.cables, key=lambda each: each.hot_ohm_per_m)
    return site._replace(
        cables=(
            *site.cables,
            thickest._replace(
                price_per_m=max(each.price_per_m for each in site.cables),
                hot_ohm_per_m=THICKER * thickest.hot_ohm_per_m,
                cold_ohm_per_m=THICKER * thickest.cold_ohm_per_m,
                ampacity_a=None,
                device_a=None,
                longest_m=inf,
            ),
        )
    )


def _higher(site: Site) -> Site | None:
    """A tap of 15 V."""
    highest_v = max(tap for box in site.boxes for tap in box.taps_v)
    if highest_v >= FIFTEEN_V:
        return None
    return site._replace(boxes=tuple(each._replace(taps_v=(*each.taps_v, FIFTEEN_V)) for each in site.boxes))


def _lower(site: Site) -> Site:
    """A tap a volt below the lowest, where one can be."""
    boxes = [
        each._replace(taps_v=(lowest - 1.0, *each.taps_v)) if lowest > LEAST_TAP_V + 1.0 else each
        for each in site.boxes
        for lowest in [min(each.taps_v)]
    ]
    return site._replace(boxes=tuple(boxes))


def _twice_the_volts(site: Site) -> Site:
    """The same lamps and boxes for twice the volts."""
    return site._replace(
        lamps=tuple(_at_twice_the_volts(each) for each in site.lamps),
        boxes=tuple(each._replace(taps_v=tuple(2.0 * tap for tap in each.taps_v)) for each in site.boxes),
    )


def _at_twice_the_volts(lamp: SiteLamp) -> SiteLamp:
    load = lamp.load
    return lamp._replace(
        least_v=2.0 * lamp.least_v,
        highest_v=2.0 * lamp.highest_v,
        load=Load(
            power_w=load.power_w,
            current_a=0.5 * load.current_a,
            conductance_s=0.25 * load.conductance_s,
            filament_a=load.filament_a * 0.5 ** (1.0 + FILAMENT_EXPONENT),
            non_active_var=load.non_active_var,
            non_active_a=0.5 * load.non_active_a,
        ),
    )


def _larger(site: Site) -> Site:
    """Boxes of twice the rating, twice as many at each place."""
    return site._replace(
        boxes=tuple(each._replace(rating_va=2.0 * each.rating_va) for each in site.boxes),
        mounts=tuple(each._replace(boxes_at_most=2 * each.boxes_at_most) for each in site.mounts),
    )


def _more_circuits(site: Site) -> Site:
    """Boxes with twice as many circuits."""
    return site._replace(
        boxes=tuple(each._replace(limits_a=(*each.limits_a, *each.limits_a)) for each in site.boxes)
    )


def _smaller_devices(site: Site) -> Site:
    """Devices of half the size, no larger than the best cable of the stock may stand behind."""
    most_a = max(inf if each.device_a is None else each.device_a for each in site.cables)
    return site._replace(
        boxes=tuple(
            each._replace(
                limits_a=tuple(
                    None if limit_a is None else min(0.5 * limit_a, most_a) for limit_a in each.limits_a
                )
            )
            for each in site.boxes
        )
    )


CHANGES: Final[dict[str, Callable[[Site], Site | None]]] = {
    "nearer-mounting-point": _nearer,
    "thicker-cable": _thicker,
    "higher-tap": _higher,
    "24-volt-fixtures": _twice_the_volts,
    "lower-tap": _lower,
    "more-volt-amperes": _larger,
    "more-circuits": _more_circuits,
    "smaller-device": _smaller_devices,
}
"""What is tried, by its code."""


THICKER: Final = 92.0 ** (-8 / 39)
"""The resistance of a size of AWG over that of one four numbers thinner: 39 equal ratios of diameter are 92
in all, and the resistance goes with its square (ASTM B258). [-]"""


LEAST_TAP_V: Final = 1.0
"""No tap is lowered below this. [V]"""


FIFTEEN_V: Final = 15.0
"""The highest tap that boxes for 12 V fixtures usually have: common practice, no published source. [V]"""
