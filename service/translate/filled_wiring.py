"""The wiring of a request with the chosen cables and taps in it, ready to be posted again."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from msgspec import convert, to_builtins

from service.messages.wiring import EvenWiring, Wiring
from service.translate.rounding import rounded
from service.translate.wiring import even_run

if TYPE_CHECKING:
    from service.studies.gauge_recommendation import Recommendation
    from service.studies.job import Feeder, Listed
    from service.studies.search import Found

LENGTH_DECIMALS = 6


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
    """
    tree: dict[str, Any] = {"wiring": to_builtins(wiring)}
    by_cable: dict[str, list[tuple[float, Listed]]] = {}
    for index, listed in sorted(_conductors(recommendation, found).items()):
        span = recommendation.spans[index]
        by_cable.setdefault(span.cable_at, []).append((span.from_m, listed))
    if (
        isinstance(wiring, EvenWiring)
        and len({listed for _, listed in by_cable.get("/wiring/cable", [])}) > 1
    ):
        tree["wiring"] = _as_runs(wiring, tree["wiring"])
        by_cable = {"/wiring/runs/0/cable": by_cable["/wiring/cable"]}
    for pointer, pieces in by_cable.items():
        _fill(tree, pointer, pieces)
    for feeder, tap_v in zip(feeders, found.assessment.taps_v, strict=False):
        if feeder.subject.pointer != "/wiring":
            _member(tree, feeder.subject.pointer)["tap"] = {"value": tap_v, "unit": "V"}
    filled: Wiring = convert(tree["wiring"], Wiring)
    return filled


def _as_runs(wiring: EvenWiring, even: dict[str, Any]) -> dict[str, Any]:
    """The short form written out as one run, which can change its cable along the way."""
    run = even_run(wiring, "/wiring", direct_current=False)
    (line,) = run.fixtures
    fixture = {"at": _metres(line.at_m), "load": even["load"], "count": line.pieces}
    if line.pieces > 1:
        fixture["spacing"] = _metres(line.spacing_m or 0.0)
    kept = {name: even[name] for name in ("nominal_voltage",) if name in even}
    return {"form": "runs", "runs": [{"cable": even["cable"], "fixtures": [fixture]}], **kept}


def _conductors(recommendation: Recommendation, found: Found) -> dict[int, Listed]:
    """The conductor of each chosen span, by its index."""
    return {
        index: recommendation.compared[chosen].candidate.conductor
        for slot, chosen in zip(recommendation.slots, found.choice, strict=True)
        for index in slot.spans
    }


def _fill(tree: dict[str, Any], pointer: str, pieces: list[tuple[float, Listed]]) -> None:
    """Put a conductor in one cable; where it differs along the way, the rest become cable changes."""
    cable = _member(tree, pointer)
    kept = {name: cable[name] for name in ("cables_in_parallel",) if name in cable}
    cable.clear()
    cable.update(_listed(pieces[0][1]), **kept)
    previous = pieces[0][1]
    for from_m, listed in pieces[1:]:
        if listed != previous:
            owner = _member(tree, re.sub(r"(/cable_changes/[0-9]+)?/cable$", "", pointer))
            change = {"at": _metres(from_m), "cable": {**_listed(listed), **kept}}
            owner.setdefault("cable_changes", []).append(change)
        previous = listed


def _listed(listed: Listed) -> dict[str, Any]:
    members = {"kind": "listed", "conductor": listed.name}
    if listed.material is not None:
        members["material"] = listed.material
    if listed.stranding is not None:
        members["stranding"] = listed.stranding
    return members


def _metres(length_m: float) -> dict[str, Any]:
    return {"value": rounded(length_m, LENGTH_DECIMALS), "unit": "m"}


def _member(tree: Any, pointer: str) -> Any:  # noqa: ANN401  a tree of JSON
    """The member at a JSON Pointer that this service wrote itself."""
    for part in pointer.split("/")[1:]:
        tree = tree[int(part)] if isinstance(tree, list) else tree[part]
    return tree
