"""The true size of a fault in the terms in which an explanation states it."""

from __future__ import annotations

from tests.jobs import Json
from tests.studies.readings_truth.population import Case


def size_is_inside(case: Case, explanation: Json) -> bool | None:
    """Whether the true size lies in the stated interval; nothing where the two have no size in common."""
    true = _true_size(case, explanation["code"])
    if true is None or "size" not in explanation:
        return None
    return bool(abs(explanation["size"]["value"] - true) <= explanation["uncertainty"]["value"])


def _true_size(case: Case, code: str) -> float | None:
    """Of a span a ratio of what was declared or ohm added, of a winding all its ohm, else as it was drawn."""
    fault, garden = case.world.fault, case.truth.garden
    if fault.kind == "span":
        ratio = 1.0 + fault.size / garden.spans[fault.at].ohm
        return {"splice-resistance": fault.size, "span-resistance": ratio}.get(code)
    if fault.kind == "winding" and code == "winding-resistance":
        return fault.size * garden.winding_ohm
    named = {
        "fixture-power": "power",
        "undeclared-load": "undeclared",
        "supply-voltage": "supply",
    }
    return fault.size if named.get(code) == fault.kind else None
