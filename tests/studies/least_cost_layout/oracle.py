"""A relaxation made again from its site and solved by SCIP, which shares no code with the service."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from math import inf
from typing import Any

import pytest

from tests.studies.least_cost_layout.certifier import Column, Remade, Weights

scip: Any = pytest.importorskip("pyscipopt", reason="SCIP has no wheel for this machine.")

Kept = tuple[Weights, Fraction]
"""The terms of a row, and what they are no less than."""


def least(  # noqa: PLR0913  # a relaxation, a branch of it, and what a problem has beside
    remade: Remade,
    names: Iterable[tuple[Any, ...]],
    undug: Sequence[int] = (),
    dug: Sequence[int] = (),
    *,
    more: Iterable[Kept] = (),
    whole: str | None = None,
    below: float | None = None,
) -> float:
    """The least cost of all points that keep the named rows, in a branch; infinite where there is none.

    `more` are rows that are kept as well, `whole` columns that have only whole values, by their kind; of
    points that cost more than `below` none is looked for.
    """
    model = scip.Model()
    model.hideOutput()
    for option in ("numerics/feastol", "numerics/dualfeastol"):
        model.setParam(option, 1e-9)
    if below is not None:
        model.setObjlimit(below)
        model.setHeuristics(scip.SCIP_PARAMSETTING.OFF)
    variables: dict[Column, Any] = {}

    def variable(column: Column) -> Any:
        if column not in variables:
            cost, most = (float(each) for each in remade.cost_and_most(column))
            low, high = 0.0, most
            if column[0] == "dug":
                low, high = float(column[1] in dug), 0.0 if column[1] in undug else most
            kind = "I" if column[0] == whole else "C"
            variables[column] = model.addVar(lb=low, ub=high, obj=cost, vtype=kind)
        return variables[column]

    rows = [(*remade.row(name), name[0] == "flow") for name in names]
    for terms, bound, equal in (*rows, *((*each, False) for each in more)):
        kept = scip.quicksum(float(weight) * variable(column) for column, weight in terms.items() if weight)
        model.addCons(kept == float(bound) if equal else kept >= float(bound))
    model.optimize()
    if model.getStatus() == "infeasible":
        return inf
    assert model.getStatus() == "optimal"
    return float(model.getObjVal())
