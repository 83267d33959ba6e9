"""What the choice of a transformer took for granted, and the sources that it rests on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from service import tables

if TYPE_CHECKING:
    from service.studies.selection import Selection
    from service.studies.stock import Question


def choice_assumptions(question: Question, selection: Selection | None, *, primary_shown: bool) -> list[str]:
    """Codes of the assumptions, in a fixed order."""
    stock = () if selection is None else question.stock
    held = {
        "connected-added-up": True,
        "stated-state-only": question.job.corners is None,
        "core-ideal": primary_shown,
        "spare-10-percent": selection is not None and question.spare_ratio is None,
        "usual-ratings": selection is not None and not stock,
        "stock-without-regulation": any(unit.regulation_ratio is None for unit in stock),
        "stock-without-circuits": any(not unit.circuits for unit in stock),
        "stock-without-limit": any(circuit.limit_a is None for unit in stock for circuit in unit.circuits),
        "prices-without-currency": question.currency is None
        and any(unit.price is not None for unit in stock),
        "runs-added-up": selection is not None and selection.recommended is not None,
    }
    return [code for code, holds in held.items() if holds]


def choice_sources(question: Question, selection: Selection | None) -> list[str]:
    """Ids of the sources, in the order of use; none where nothing was chosen."""
    if selection is None:
        return []
    default_limit = any(
        None in {c.limit_a for c in unit.circuits} or not unit.circuits for unit in question.stock
    )
    held = {
        tables.constant("spare_capacity_ratio").source: question.spare_ratio is None,
        tables.usual_ratings()[0].source: not question.stock,
        tables.constant("secondary_circuit_limit").source: default_limit or not question.stock,
        tables.constant("continuous_load_ratio").source: selection.recommended is not None,
    }
    return [source for source, holds in held.items() if holds]
