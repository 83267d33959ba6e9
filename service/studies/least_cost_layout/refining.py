"""A closed-form bound made better by relaxations, part by part, where the engine is installed.

A relaxation with boxes at more mounting points, or without what a winding takes, holds for all parts within
it, so that one of all is solved first. Its multipliers prove something of each part by itself; then the
weakest part is solved, or branched, over and over. Each part keeps the best that is proven of it, and the
least of all parts holds for every layout.
"""

from __future__ import annotations

from contextlib import suppress
from decimal import ROUND_FLOOR, Decimal
from math import inf
from typing import NamedTuple

from service.studies.least_cost_layout.bound import (
    CENT,
    GUARD,
    TINY,
    Bounding,
    BoundTerms,
    Part,
    drawn_by,
    joints_of,
    left_of,
    siemens_of,
    supply_of,
)
from service.studies.least_cost_layout.design import EffortSpentError, Meter
from service.studies.least_cost_layout.relaxation import Setting, grouped
from service.studies.least_cost_layout.relaxing import Family, Relaxed
from service.studies.least_cost_layout.site import Site


class Case(NamedTuple):
    """What a relaxation is of: mounting points, and the boxes, if they are counted by themselves."""

    mounts: tuple[int, ...]
    mix: tuple[int, ...] | None

    def has(self, part: Part) -> bool:
        """Whether all layouts of a part are in it."""
        if self.mix is not None:
            return (part.mounts, part.mix) == self
        return set(part.mounts) <= set(self.mounts)


class Refined(NamedTuple):
    """The bound, and the relaxations that it was made better by."""

    terms: BoundTerms
    relaxed: dict[Case, Relaxed]


def refined(bounding: Bounding, work: int, cost: Decimal) -> Refined:
    """Make a bound better.

    Parameters
    ----------
    bounding : Bounding
        What the closed form proves; the parts in it get what is proven here.
    work : int
        That it may take.
    cost : Decimal
        Of a layout that passes: no more than this need be proven. [currency]
    """
    return _Refining(bounding, Meter(work)).run(cost)


class _Refining:
    def __init__(self, bounding: Bounding, meter: Meter) -> None:
        self._bounding, self._meter = bounding, meter
        self._relaxed: dict[Case, Relaxed] = {}
        self._family: Family | None = None

    def run(self, cost: Decimal) -> Refined:
        bounding = self._bounding
        with suppress(EffortSpentError):
            while bounding.parts and bounding.least.amount < cost:
                part = bounding.parts[bounding.weakest]
                case, widest = Case(part.mounts, part.mix), self._widest(part, cost)
                if case in self._relaxed:
                    if not self._begun_better(case) and not self._relaxed[case].improve():
                        break
                elif widest is not None:
                    case = widest
                    self._relaxed[case] = self._begun(case)
                    self._relaxed[case].improve()
                else:
                    self._relaxed[case] = self._begun(case)
                self._take(case)
        return Refined(bounding.least, self._relaxed)

    def _widest(self, part: Part, cost: Decimal) -> Case | None:
        """A case of all parts below a cost, if there are others and none was looked at yet."""
        bounding = self._bounding
        below = [
            each for each, terms in zip(bounding.parts, bounding.terms, strict=True) if terms.amount < cost
        ]
        if self._relaxed or below == [part]:
            return None
        return Case(tuple(sorted({mount for each in below for mount in each.mounts})), None)

    def _begun_better(self, case: Case) -> bool:
        """Begin a case again that is not solved yet, where others were meanwhile that prove more of it."""
        before = self._relaxed[case]
        if before.solved:
            return False
        again = self._begun(case)
        if again.value > before.value:
            self._relaxed[case] = again
        return again.value > before.value

    def _begun(self, case: Case) -> Relaxed:
        site, setting = self._bounding.site, setting_of(self._bounding.site, case)
        if self._family is None:
            mounts = tuple(range(len(site.mounts)))
            widest = setting_of(site, Case(mounts, None))
            self._family = Family(site, widest, grouped(site, mounts), self._meter)
        wider = [own for each, own in self._relaxed.items() if set(case.mounts) <= set(each.mounts)]
        if not wider:
            return Relaxed(self._family, setting)
        # One with the fewest mounting points is nearest to it.
        fewest = min(len(each.setting.mounts) for each in wider)
        near = [each for each in wider if len(each.setting.mounts) == fewest]
        return max((Relaxed(self._family, setting, each) for each in near), key=lambda each: each.value)

    def _take(self, case: Case) -> None:
        """Give all parts of a case what is proven of it."""
        bounding, site = self._bounding, self._bounding.site
        value = self._relaxed[case].value
        counted = Decimal(value.numerator) / Decimal(value.denominator) * (1 - GUARD)
        for index, part in enumerate(bounding.parts):
            if case.has(part):
                terms = bounding.terms[index]
                amount = (part.boxes + counted + beside(site, part)).quantize(CENT, ROUND_FLOOR)
                if amount > terms.amount:
                    bounding.terms[index] = terms._replace(copper=terms.copper + amount - terms.amount)


def beside(site: Site, part: Part) -> Decimal:
    """The joints of a part that a relaxation does not count. [currency]

    It counts what leaves a box as a tee, if a tee is cheaper than an end.
    """
    return joints_of(site, part) - part.fewest * min(site.joints.cable_end, site.joints.tee)


def setting_of(site: Site, case: Case) -> Setting:
    """What a relaxation has of its own in a case."""
    return Setting(case.mounts, room_of(site, case), losses_of(site, case))


def losses_of(site: Site, case: Case) -> float | None:
    r"""What cables may lose behind the boxes of a case, times the square of the most that these feed by.

    None where they are not counted by themselves. Behind them :math:`|S + w| \ge |S| + w \cos\varphi`
    volt-amperes are drawn where w watts are lost, and a rating is of current: the lower a voltage the less it
    carries. Each lamp has its least watts over the voltage that feeds it as its current, or more. [W·V²]
    """
    if case.mix is None:
        return None
    part = Part(case.mounts, case.mix, Decimal(0))
    supply_v, drawn = supply_of(site, part), drawn_by(site)
    if not drawn.factor or supply_v <= 0.0:
        return None
    most_va = sum(
        site.boxes[box].rating_va
        * max(
            site.boxes[box].feedings[mount].low_ratio * left_of(site, part, place, mount, drawn)
            for mount in case.mounts
        )
        for place, box in enumerate(case.mix)
    )
    return max(0.0, most_va * (1.0 + TINY) - drawn.volt_amperes) / drawn.factor * supply_v**2 * (1.0 + TINY)


def room_of(site: Site, case: Case) -> tuple[float, ...]:
    """What the way to each lamp may take at most; infinite for one that draws nothing. [ohm]"""
    supply_v = supply_of(site, Part(case.mounts, case.mix, Decimal(0)))
    siemens = [siemens_of(lamp, supply_v) for lamp in site.lamps]
    return tuple(1.0 / each if each else inf for each in siemens)
