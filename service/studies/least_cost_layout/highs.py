"""HiGHS, on one thread with one seed and no clock: the same programme always gives the same multipliers."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import highspy
import numpy as np

from service.studies.least_cost_layout.engine import Solved
from service.studies.least_cost_layout.programme import Bounds, Programme, Standing


class _Quiet(highspy.Highs):
    """Says nothing; what it prints as it begins would stand amid the log."""

    def __init__(self) -> None:
        super().__init__()  # type: ignore[no-untyped-call]  # the package has no types there

    def enableCallbacks(self) -> None:  # noqa: N802  # its name in the package, which calls it first of all
        self.setOptionValue("output_flag", False)  # noqa: FBT003  # the package takes any value there


def _indices(values: Sequence[int]) -> np.ndarray[tuple[int], np.dtype[np.int32]]:
    return np.array(values, dtype=np.int32)


class Highs:
    """Solves a programme, again and again while rows are added to it.

    Parameters
    ----------
    programme : Programme
    """

    def __init__(self, programme: Programme) -> None:
        self._programme, self._known = programme, 0
        self._fixed, self._standing = Bounds(), Standing()
        self._model = _Quiet()
        for option, value in OPTIONS.items():
            self._model.setOptionValue(option, value)
        columns = len(programme.costs)
        zeros = np.zeros(columns)
        self._model.addCols(
            columns,
            np.array(programme.costs),
            zeros,
            np.array(programme.most),
            0,
            _indices([]),
            _indices([]),
            np.zeros(0),
        )

    def _add(self) -> None:
        """The rows of the programme that the engine has not seen."""
        rows = self._programme.rows[self._known :]
        if not rows:
            return
        self._known += len(rows)
        starts, columns, coefficients = list[int](), list[int](), list[float]()
        for row in rows:
            starts.append(len(columns))
            for column, coefficient in row.terms:
                columns.append(column)
                coefficients.append(coefficient)
        least = np.array([row.least for row in rows])
        most = np.array([row.least if row.equal else highspy.kHighsInf for row in rows])
        self._model.addRows(
            len(rows),
            least,
            most,
            len(columns),
            _indices(starts),
            _indices(columns),
            np.array(coefficients),
        )

    def fix(self, bounds: Bounds) -> None:
        """Fix columns of a branch, and free all others."""
        most = self._programme.most
        before = self._fixed.zero | self._fixed.one
        for column in sorted(before | bounds.zero | bounds.one):
            low = 1.0 if column in bounds.one else 0.0
            high = 0.0 if column in bounds.zero else most[column]
            self._model.changeColBounds(column, low, max(low, high))
        self._fixed = bounds

    def stand(self, standing: Standing) -> None:
        """Let rows stand as they do in a case, and all others as they are."""
        self._add()
        before, rows = self._standing, self._programme.rows
        for index in sorted(before.keys() | standing.keys()):
            row = rows[index]
            least = standing.get(index, row.least)
            if index in before and before[index] == least:
                continue
            if least is None:
                self._model.changeRowBounds(index, -highspy.kHighsInf, highspy.kHighsInf)
            else:
                self._model.changeRowBounds(index, least, least if row.equal else highspy.kHighsInf)
        self._standing = dict(standing)

    def solve(self, most_iterations: int) -> Solved | None:
        """The programme as it stands; None where the engine does not end with one of its clear answers."""
        self._add()
        self._model.setOptionValue("simplex_iteration_limit", most_iterations)
        self._model.run()
        status = self._model.getModelStatus()
        iterations = max(0, int(self._model.getInfo().simplex_iteration_count))
        if status == highspy.HighsModelStatus.kInfeasible:
            _, shown, ray = self._model.getDualRay()  # type: ignore[attr-defined]  # the package's types lack it
            return Solved((), list(ray) if shown else (), iterations, infeasible=True)
        if status not in {
            highspy.HighsModelStatus.kOptimal,
            highspy.HighsModelStatus.kIterationLimit,
        }:
            return None
        solution = self._model.getSolution()
        return Solved(list(solution.col_value), list(solution.row_dual), iterations)


OPTIONS: Final[dict[str, bool | int | str]] = {
    "output_flag": False,
    "log_to_console": False,
    "threads": 1,
    "parallel": "off",
    "random_seed": 0,
    "solver": "simplex",
    "presolve": "off",
}
"""A time limit is none of them."""
