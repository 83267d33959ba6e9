"""A relaxation made again from its site and solved by SCIP, which shares no code with the service."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import inf
from typing import Any

from pyscipopt import Model, quicksum

from tests.studies.least_cost_layout.certifier import Column, Remade


def least(
    remade: Remade, names: Iterable[tuple[Any, ...]], undug: Sequence[int] = (), dug: Sequence[int] = ()
) -> float:
    """The least cost of all points that keep the named rows, in a branch; infinite where there is none."""
    model = Model()
    model.hideOutput()
    for option in ("numerics/feastol", "numerics/dualfeastol"):
        model.setParam(option, 1e-9)
    variables: dict[Column, Any] = {}

    def variable(column: Column) -> Any:
        if column not in variables:
            cost, most = (float(each) for each in remade.cost_and_most(column))
            low, high = 0.0, most
            if column[0] == "dug":
                low, high = float(column[1] in dug), 0.0 if column[1] in undug else most
            variables[column] = model.addVar(lb=low, ub=high, obj=cost)
        return variables[column]

    for name in names:
        terms, bound = remade.row(name)
        kept = quicksum(float(weight) * variable(column) for column, weight in terms.items() if weight)
        if name[0] == "flow":
            model.addCons(kept == float(bound))
        else:
            model.addCons(kept >= float(bound))
    model.optimize()
    if model.getStatus() == "infeasible":
        return inf
    assert model.getStatus() == "optimal"
    return float(model.getObjVal())
