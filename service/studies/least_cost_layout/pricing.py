"""What a design costs to the cent, and what is bought for it.

Each part is rounded up to the cent, so that no sum is below what it is a sum of.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import ROUND_CEILING, Decimal
from typing import Final, NamedTuple

from service.circuit.work import Budget
from service.purchase.cutting import CutPlan, Piece, SpoolKind, cut_joined, cut_whole
from service.studies.gauge_recommendation.buying import COINS, MICROMETRES
from service.studies.gauge_recommendation.candidates import Candidate
from service.studies.least_cost_layout.design import splices
from service.studies.least_cost_layout.drafts import SiteDesign
from service.studies.least_cost_layout.site import Site

CENT: Final = Decimal("0.01")


WORK_OF_A_CUT_LIST: Final = 2_000
"""Work that one cut list may take."""


LAST_DIGITS: Final = Decimal("0.000001")
"""What floats leave over of a length in feet is no part of a cent. [currency]"""


def up_to_cents(amount: Decimal) -> Decimal:
    """An amount rounded up to the cent."""
    return amount.quantize(LAST_DIGITS).quantize(CENT, ROUND_CEILING)


class BoughtPiece(NamedTuple):
    """A span of cable in one piece: its run and its point there, both by index, and its length. [m]"""

    run: int
    point: int
    length_m: float


class BoughtCable(NamedTuple):
    """What is bought of one cable, by its index. [m], [currency]

    Where it is sold in spools, the pieces and what they are cut from.
    """

    cable: int
    length_m: float
    price: Decimal
    pieces: tuple[BoughtPiece, ...]
    plan: CutPlan | None


class JointSum(NamedTuple):
    """How many joints of one kind, and what they cost together. [currency]"""

    kind: str
    number: int
    price: Decimal


class DesignCosts(NamedTuple):
    """The parts of what a design costs, each to the cent. [currency]"""

    boxes: Decimal
    mounting: Decimal
    cables: tuple[BoughtCable, ...]
    trenches: tuple[tuple[int, Decimal], ...]
    joints: tuple[JointSum, ...]

    @property
    def cable(self) -> Decimal:
        """Of all cable."""
        return sum((each.price for each in self.cables), start=Decimal(0))

    @property
    def trench(self) -> Decimal:
        """Of all routes in use."""
        return sum((price for _, price in self.trenches), start=Decimal(0))

    @property
    def joint(self) -> Decimal:
        """Of all joints."""
        return sum((each.price for each in self.joints), start=Decimal(0))

    @property
    def total(self) -> Decimal:
        """Of all parts."""
        return self.boxes + self.mounting + self.cable + self.trench + self.joint


def costs_of(site: Site, candidates: Sequence[Candidate], design: SiteDesign, *, joined: bool) -> DesignCosts:
    """What a design costs.

    Parameters
    ----------
    site : Site
    candidates : sequence of Candidate
        The cables of the site as they are sold.
    design : SiteDesign
    joined : bool
        Whether a piece of cable may be joined from several spools.

    Raises
    ------
    WorkOverLimitError
        There is not enough work left for a cut list.
    """
    pieces: dict[int, list[BoughtPiece]] = {}
    for index, run in enumerate(design.runs):
        for point in range(1, len(run.tree.parents)):
            piece = BoughtPiece(index, point, run.tree.lengths_m[point])
            pieces.setdefault(run.fit.cables[point], []).append(piece)
    mounts = {box.mount for box in design.boxes}
    return DesignCosts(
        boxes=up_to_cents(sum((site.boxes[box.offer].price for box in design.boxes), start=Decimal(0))),
        mounting=up_to_cents(sum((site.mounts[mount].price for mount in mounts), start=Decimal(0))),
        cables=tuple(
            _bought(cable, candidates[cable], pieces[cable], joined=joined) for cable in sorted(pieces)
        ),
        trenches=tuple((route, up_to_cents(site.routes[route].trench)) for route in design.routes),
        joints=_joints(site, design),
    )


def _bought(cable: int, candidate: Candidate, pieces: Sequence[BoughtPiece], *, joined: bool) -> BoughtCable:
    length_m = sum(piece.length_m for piece in pieces)
    if not candidate.spools:
        return BoughtCable(cable, length_m, up_to_cents(candidate.price_of(length_m)), tuple(pieces), None)
    wanted = [Piece(round(piece.length_m * MICROMETRES)) for piece in pieces]
    spools = [
        SpoolKind(round(spool.length_m * MICROMETRES), int(spool.price * COINS)) for spool in candidate.spools
    ]
    cut = cut_joined if joined else cut_whole
    plan = cut(wanted, spools, work=WORK_OF_A_CUT_LIST, budget=Budget(2 * WORK_OF_A_CUT_LIST))
    price = up_to_cents(Decimal(plan.price or 0) / COINS)
    return BoughtCable(cable, length_m, price, tuple(pieces), plan)


def _joints(site: Site, design: SiteDesign) -> tuple[JointSum, ...]:
    counted = (
        ("fixture", len(site.lamps), site.joints.fixture),
        ("tee", sum(run.tree.tees for run in design.runs), site.joints.tee),
        ("splice", sum(splices(run.tree, run.fit.cables) for run in design.runs), site.joints.splice),
        ("cable-end", len(design.runs), site.joints.cable_end),
    )
    return tuple(JointSum(kind, number, up_to_cents(number * price)) for kind, number, price in counted)
