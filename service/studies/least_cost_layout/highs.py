"""HiGHS, on one thread with one seed and no clock: the same programme always gives the same multipliers."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import islice
from typing import Final

import highspy
import numpy as np

from service.studies.least_cost_layout.engine import Solved
from service.studies.least_cost_layout.programme import Bounds, Programme, Row, Standing


class _Quiet(highspy.Highs):
    """Says nothing; what it prints as it begins would stand amid the log."""

    def __init__(self) -> None:
        super().__init__()  # type: ignore[no-untyped-call]  # the package has no types there

    def enableCallbacks(self) -> None:  # noqa: N802  # its name in the package, which calls it first of all
        self.setOptionValue("output_flag", False)  # noqa: FBT003  # the package takes any value there


def _indices(values: Sequence[int]) -> np.ndarray[tuple[int], np.dtype[np.int32]]:
    return np.array(values, dtype=np.int32)


def _limits(row: Row, least: float | None) -> tuple[float, float]:
    """Between what a row is kept; where it does not hold it may be anything."""
    if least is None:
        return -highspy.kHighsInf, highspy.kHighsInf
    return least, least if row.equal else highspy.kHighsInf


class Highs:
    """Solves a programme, again and again while rows are added to it.

    Parameters
    ----------
    programme : Programme
    """

    def __init__(self, programme: Programme) -> None:
        self._programme, self._looked = programme, 0
        self._columns, self._rows = dict[int, int](), dict[int, int]()
        """Of each column and row that the engine has seen its place there."""
        self._fixed, self._standing = Bounds(), Standing()
        self._refused = False
        """Whether a number was too large for the engine, which then lacks columns or rows."""
        self._model = _Quiet()
        for option, value in OPTIONS.items():
            self._model.setOptionValue(option, value)

    def _add(self) -> None:
        """The columns and rows of the programme that the engine has not seen."""
        programme = self._programme
        columns = list(islice(programme.awake, len(self._columns), None))
        self._add_columns(columns)
        beside = {row for column in columns for row in programme.rows_of[column]}
        earlier = sorted(row for row in beside if row < self._looked and row not in self._rows)
        self._add_rows([*earlier, *range(self._looked, len(programme.rows))])
        self._looked = len(programme.rows)

    def _add_columns(self, columns: Sequence[int]) -> None:
        if not columns:
            return
        programme, starts, entries = self._programme, list[int](), list[tuple[int, float]]()
        for column in columns:
            self._columns[column] = len(self._columns)
            starts.append(len(entries))
            for row in programme.rows_of[column]:
                if row in self._rows:
                    entries.append((self._rows[row], dict(programme.rows[row].terms)[column]))
        self._took(
            self._model.addCols(
                len(columns),
                np.array([programme.costs[column] for column in columns]),
                np.zeros(len(columns)),
                np.array([programme.most[column] for column in columns]),
                len(entries),
                _indices(starts),
                _indices([row for row, _ in entries]),
                np.array([coefficient for _, coefficient in entries]),
            )
        )

    def _add_rows(self, indices: Sequence[int]) -> None:
        known, starts, entries = self._columns, list[int](), list[tuple[int, float]]()
        least, most = list[float](), list[float]()
        for index in indices:
            row = self._programme.rows[index]
            terms = [(known[column], coefficient) for column, coefficient in row.terms if column in known]
            if terms:
                self._rows[index] = len(self._rows)
                starts.append(len(entries))
                entries += terms
                low, high = _limits(row, self._standing.get(index, row.least))
                least.append(low)
                most.append(high)
        if least:
            self._took(
                self._model.addRows(
                    len(least),
                    np.array(least),
                    np.array(most),
                    len(entries),
                    _indices(starts),
                    _indices([column for column, _ in entries]),
                    np.array([coefficient for _, coefficient in entries]),
                )
            )

    def _took(self, status: highspy.HighsStatus) -> None:
        self._refused = self._refused or status == highspy.HighsStatus.kError

    def fix(self, bounds: Bounds) -> None:
        """Fix columns of a branch, and free all others."""
        self._add()
        most = self._programme.most
        before = self._fixed.zero | self._fixed.one
        for column in sorted(before | bounds.zero | bounds.one):
            low = 1.0 if column in bounds.one else 0.0
            high = 0.0 if column in bounds.zero else most[column]
            self._model.changeColBounds(self._columns[column], low, max(low, high))
        self._fixed = bounds

    def stand(self, standing: Standing) -> None:
        """Let rows stand as they do in a case, and all others as they are."""
        before, rows = self._standing, self._programme.rows
        for index in sorted(before.keys() | standing.keys()):
            row = rows[index]
            least = standing.get(index, row.least)
            if index in self._rows and before.get(index, row.least) != least:
                self._model.changeRowBounds(self._rows[index], *_limits(row, least))
        self._standing = dict(standing)

    def solve(self, most_iterations: int) -> Solved | None:
        """The programme as it stands; None where the engine does not end with one of its clear answers."""
        self._add()
        if self._refused:
            return None
        self._model.setOptionValue("simplex_iteration_limit", most_iterations)
        self._model.run()
        status = self._model.getModelStatus()
        iterations = max(0, int(self._model.getInfo().simplex_iteration_count))
        if status == highspy.HighsModelStatus.kInfeasible:
            _, shown, ray = self._model.getDualRay()  # type: ignore[attr-defined]  # the package's types lack it
            return Solved((), self._multipliers(ray if shown else ()), iterations, infeasible=True)
        if status not in {
            highspy.HighsModelStatus.kOptimal,
            highspy.HighsModelStatus.kIterationLimit,
        }:
            return None
        solution = self._model.getSolution()
        values = [0.0] * len(self._programme.costs)
        for column, value in zip(self._columns, solution.col_value, strict=True):
            values[column] = value
        return Solved(values, self._multipliers(solution.row_dual), iterations)

    def _multipliers(self, found: Iterable[float]) -> dict[int, float]:
        """Those that are not nothing, by the rows of the programme."""
        return {row: float(each) for row, each in zip(self._rows, found, strict=False) if each}


OPTIONS: Final[dict[str, bool | int | str]] = {
    "output_flag": False,
    "log_to_console": False,
    "threads": 1,
    "parallel": "off",
    "random_seed": 0,
    "solver": "simplex",
    "presolve": "off",
    "simplex_dual_edge_weight_strategy": 1,
}
"""A time limit is none of them."""
