"""The wiring of a request with what was chosen in its open places."""

from __future__ import annotations

import re
from typing import Any, NamedTuple

from msgspec import UnsetType, convert, to_builtins
from msgspec.structs import replace

from service.circuit.job import (
    Feeder,
    Graph,
    JobPart,
    JobTooLargeError,
    Listed,
)
from service.studies.gauge_recommendation.candidates import Candidate
from service.studies.gauge_recommendation.request import GaugeRecommendationRequest
from service.studies.gauge_recommendation.search import Found
from service.studies.gauge_recommendation.study import (
    Recommendation,
)
from service.translate.rounding import rounded
from service.translate.wiring import wiring_of
from service.units import from_inside
from service.wire.wiring import EvenWiring, TotalsWiring, Wiring


class ChosenConductor(NamedTuple):
    """What was chosen: a conductor, and the id of its row of the stock, where there is one."""

    conductor: Listed
    item: str | None


Pieces = dict[str, list[tuple[float, bool, ChosenConductor]]]


LENGTH_DECIMALS = 6


MOST_CHANGES = 100
"""Of the cable of one run, as the request has it."""


def filled_wiring(
    wiring: Wiring, recommendation: Recommendation, found: Found, feeders: tuple[Feeder, ...]
) -> Wiring:
    """Fill the open places.

    Parameters
    ----------
    wiring : Wiring
        As it stood in the request.
    recommendation, found : Recommendation, Found
        What was chosen, for which spans.
    feeders : tuple of Feeder
        What leaves the supply, in the order of the chosen taps.

    Raises
    ------
    JobTooLargeError
        A run would change its cable more often than a request may say.
    """
    tree: dict[str, Any] = {"wiring": to_builtins(wiring)}
    pieces = _pieces(recommendation, found)
    if _needs_runs(wiring, pieces, recommendation):
        assert isinstance(wiring, EvenWiring | TotalsWiring)  # noqa: S101  # only the short forms need it
        tree["wiring"] = _as_runs(wiring, tree["wiring"])
        run = "/wiring/runs/0"
        pieces = {pointer.replace("/wiring", run, 1): laid for pointer, laid in pieces.items()}
        feeders = (feeders[0]._replace(subject=JobPart(run)),)
    for pointer, laid in pieces.items():
        _fill(tree, pointer, laid)
    for feeder, tap_v in zip(feeders, found.assessment.taps_v, strict=False):
        owner = _member(tree, feeder.subject.pointer)
        if "form" not in owner:
            owner["tap"] = {"value": tap_v, "unit": "V"}
    filled: Wiring = convert(tree["wiring"], Wiring)
    return filled


def _needs_runs(wiring: Wiring, pieces: Pieces, recommendation: Recommendation) -> bool:
    """Whether a short form cannot say what was chosen: a cable that changes on the way, or a tap."""
    if not isinstance(wiring, EvenWiring | TotalsWiring):
        return False
    several = any(len({taken for _, _, taken in laid}) > 1 for laid in pieces.values())
    return several or recommendation.taps_moved


def runs_of(request: GaugeRecommendationRequest) -> GaugeRecommendationRequest:
    """The same request, its short form written out as one run."""
    wiring = request.wiring
    if not isinstance(wiring, EvenWiring | TotalsWiring):
        return request
    laid: Wiring = convert(_as_runs(wiring, to_builtins(wiring)), Wiring)
    if isinstance(request.open, UnsetType):
        return replace(request, wiring=laid)
    open_at = [pointer.replace("/wiring", "/wiring/runs/0", 1) for pointer in request.open]
    return replace(request, wiring=laid, open=open_at)


def _as_runs(wiring: EvenWiring | TotalsWiring, short: dict[str, Any]) -> dict[str, Any]:
    """A short form written out as one run, which can have a tap and change its cable along the way."""
    laid = wiring_of(wiring, "/wiring", direct_current=False)
    assert not isinstance(laid, Graph)  # noqa: S101  # a short form is one run
    (line,) = laid[0].fixtures
    unit = wiring.length.unit
    fixture = {"at": _length(line.at_m, unit), "load": short["load"], "count": line.pieces}
    fixture |= {name: short[name] for name in ("item", "lamp") if name in short}
    if line.spacing_m:
        fixture["spacing"] = _length(line.spacing_m, unit)
    kept = {name: short[name] for name in ("nominal_voltage",) if name in short}
    return {"form": "runs", "runs": [{"cable": short["cable"], "fixtures": [fixture]}], **kept}


def _pieces(recommendation: Recommendation, found: Found) -> Pieces:
    """Of each open cable its stretches as they were laid."""
    chosen = {
        index: _chosen(recommendation.compared[candidate].candidate)
        for slot, candidate in zip(recommendation.slots, found.choice, strict=True)
        for index in slot.spans
    }
    pieces: Pieces = {}
    for index, taken in sorted(chosen.items()):
        span = recommendation.spans[index]
        leg = span.subject.pointer.endswith("/return_leg")
        pieces.setdefault(span.cable_at, []).append((span.from_m, leg, taken))
    return pieces


def _chosen(candidate: Candidate) -> ChosenConductor:
    return ChosenConductor(candidate.conductor, candidate.subject.id)


def _fill(tree: dict[str, Any], pointer: str, laid: list[tuple[float, bool, ChosenConductor]]) -> None:
    """Put what was chosen in one cable; where it differs along the way, the rest become cable changes.

    A return leg of the run's own cable gets a cable of its own where that was chosen otherwise.
    """
    cable = _member(tree, pointer)
    kept = {name: cable[name] for name in ("cables_in_parallel",) if name in cable}
    cable.clear()
    cable.update(_listed(laid[0][2]), **kept)
    owner = _member(tree, re.sub(r"(/cable_changes/[0-9]+)?/cable$", "", pointer))
    unit = next((each["at"]["unit"] for each in owner.get("fixtures", ())), "m")
    previous = laid[0][2]
    for from_m, leg, taken in laid[1:]:
        if leg and taken != laid[0][2]:
            owner["return_leg"]["cable"] = {**_listed(taken), **kept}
        elif not leg and taken != previous:
            change = {"at": _length(from_m, unit), "cable": {**_listed(taken), **kept}}
            changes = owner.setdefault("cable_changes", [])
            changes.append(change)
            previous = taken
            if len(changes) > MOST_CHANGES:
                what = "cable changes"
                raise JobTooLargeError(what, len(changes), MOST_CHANGES)


def _listed(taken: ChosenConductor) -> dict[str, Any]:
    listed = taken.conductor
    members = {"kind": "listed", "conductor": listed.name}
    if listed.material is not None:
        members["material"] = listed.material
    if listed.stranding is not None:
        members["stranding"] = listed.stranding
    if taken.item is not None:
        members["item"] = taken.item
    return members


def _length(length_m: float, unit: str) -> dict[str, Any]:
    """A length in the unit in which the caller stated those beside it. [m]"""
    return {"value": rounded(from_inside(length_m, unit), LENGTH_DECIMALS), "unit": unit}


def _member(tree: Any, pointer: str) -> Any:  # noqa: ANN401  # a tree of JSON
    """The member at a JSON Pointer that this service wrote itself."""
    for part in pointer.split("/")[1:]:
        tree = tree[int(part)] if isinstance(tree, list) else tree[part]
    return tree
