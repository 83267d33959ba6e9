"""Gauge recommendation: the request into a question."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any

from msgspec import UNSET, UnsetType, to_builtins

from service import tables
from service.messages.gauge_recommendation import PricePerLength
from service.studies.candidates import Candidate
from service.studies.errors import Mistake, WiringContradictoryError
from service.studies.gauge_recommendation import Question
from service.studies.job import Listed, Subject
from service.studies.purchase import Spool
from service.translate.fixture import amount, said
from service.translate.job import job_of, length_unit
from service.units import inside

if TYPE_CHECKING:
    from service.messages.gauge_recommendation import GaugeRecommendationRequest, StockCable


def question_of(request: GaugeRecommendationRequest) -> Question:
    """What a request asks to be recommended."""
    _refuse_unknown_cables(request)
    job = job_of(request)
    supply = job.supply
    # A box that says no taps offers none to choose from: the runs keep theirs.
    chooses = request.taps == "choose" and bool(supply.taps_v)
    offered_v = sorted({supply.rated_v, *supply.taps_v}) if chooses else []
    return Question(
        job=job,
        open_cables=None if isinstance(request.open, UnsetType) else frozenset(request.open),
        candidates=_candidates(request),
        scope="one" if request.scope is UNSET else request.scope,
        offered_taps_v=() if supply.direct_current else tuple(offered_v),
    )


def _refuse_unknown_cables(request: GaugeRecommendationRequest) -> None:
    """Refuse pointers that name no cable of the wiring; the lead of a fixture stays as it is."""
    if isinstance(request.open, UnsetType):
        return
    tree = {"wiring": to_builtins(request.wiring)}
    mistakes = [
        Mistake("unknown-cable", f"/open/{index}", (pointer,))
        for index, pointer in enumerate(request.open)
        if pointer.endswith("/lead/cable") or not _is_cable(tree, pointer)
    ]
    if mistakes:
        raise WiringContradictoryError(mistakes)


def _is_cable(tree: Any, pointer: str) -> bool:  # noqa: ANN401  a tree of JSON
    """Whether a JSON Pointer names a `cable` member that is there."""
    for part in pointer.split("/")[1:]:
        if isinstance(tree, list) and part.isdecimal() and int(part) < len(tree):
            tree = tree[int(part)]
        elif isinstance(tree, dict) and part in tree:
            tree = tree[part]
        else:
            return False
    return pointer.endswith("/cable")


def _candidates(request: GaugeRecommendationRequest) -> tuple[Candidate, ...]:
    """The stock, or every size of the family in stranded copper."""
    if not isinstance(request.stock, UnsetType):
        return tuple(_candidate(cable, f"/stock/{index}") for index, cable in enumerate(request.stock))
    metric = length_unit(request) == "m" if request.family is UNSET else request.family == "metric"
    names = [name for name in tables.CONDUCTOR_NAMES if name.endswith("mm2") == metric]
    return tuple(Candidate(Subject(""), Listed(name, "copper", "stranded")) for name in names)


def _candidate(cable: StockCable, pointer: str) -> Candidate:
    conductor = Listed(cable.conductor, said(cable.material), said(cable.stranding))
    subject, price = Subject(pointer, cable.id), cable.price
    if isinstance(price, UnsetType):
        return Candidate(subject, conductor)
    if isinstance(price, PricePerLength):
        per_m = Decimal(price.amount) / Decimal(repr(inside(1.0, price.per)))
        return Candidate(subject, conductor, price_per_m=per_m)
    spools = tuple(Spool(amount(spool.length), Decimal(spool.amount)) for spool in price.spools)
    return Candidate(subject, conductor, spools=spools)
