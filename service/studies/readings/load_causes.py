"""What could be wrong with the fixtures: how much one draws, how many there are, which stands where."""

from __future__ import annotations

from functools import partial
from itertools import combinations
from math import hypot, sqrt
from typing import TYPE_CHECKING

from service.physics.load import Load
from service.physics.network import TERMINAL
from service.studies.readings.asked import NO_LOAD
from service.studies.readings.basis import fixed
from service.studies.readings.cause import EXCHANGED, LINE_POWER, POWER, POWER_FACTOR, UNDECLARED, Cause
from service.studies.readings.model import Change

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from service.studies.readings.basis import Basis
    from service.studies.readings.model import Hung

MOST_POWER = 10.0
"""Of a fixture's load, as of a halogen lamp in place of an LED; nought is a dark one. [-]"""

USUAL_POWER = 1.0
"""A fixture that draws nothing or twice its load surprises nobody. [-]"""

MOST_UNDECLARED, LEAST_UNDECLARED_W = 5.0, 300.0
"""Over everything that is declared, and at least so much. [-], [W]"""

USUAL_UNDECLARED_W = 20.0
"""So much more, or as much as is declared, surprises nobody. [W]"""

LOWEST_POWER_FACTOR = 0.3

MOST_PAIRS = 400
"""Pairs of fixtures that are tried as exchanged."""

MOST_PAIRED = 28
"""Fixtures from which they are taken where there are more: so many make about as many pairs."""


def power_causes(basis: Basis) -> Iterator[Cause]:
    """Each fixture, all fixtures of one line alike, and all there are alike, drawing more or less."""
    lines: dict[str, list[int]] = {}
    for row, placed in enumerate(basis.model.connected.layout.fixtures):
        lines.setdefault(placed.line.subject.pointer, []).append(row)
        yield _power(basis, POWER, (row,))
    for rows in lines.values():
        if len(rows) > 1:
            yield _power(basis, LINE_POWER, tuple(rows))
    # Where less was on than was written down, all of them together seem to draw less.
    if len(lines) > 1:
        yield _power(basis, LINE_POWER, tuple(range(len(basis.model.rows))))


def _power(basis: Basis, code: str, rows: tuple[int, ...]) -> Cause:
    return Cause(
        code,
        partial(_power_change, {row: basis.model.rows[row] for row in rows}),
        [sum(each.rows[row] for row in rows) for each in basis.slopes],
        "1",
        neutral=1.0,
        high=MOST_POWER,
        rows=rows,
        point=_point(basis, rows[0]) if len(rows) == 1 else None,
        usual=USUAL_POWER,
    )


def _point(basis: Basis, row: int) -> int:
    """Where a fixture hangs on the cable."""
    return basis.model.connected.layout.fixtures[row].cable_point


def power_factor_causes(basis: Basis) -> Iterator[Cause]:
    """Each driver with another power factor; on direct current there is none."""
    job = basis.model.connected.job
    if job.supply.direct_current or job.all_in_phase:
        return
    for row, hung in enumerate(basis.model.rows):
        load = hung[0][1]
        if load.power_w > 0.0 and load == Load(load.power_w, non_active_var=load.non_active_var):
            factor = load.power_w / hypot(load.power_w, load.non_active_var)
            yield Cause(
                POWER_FACTOR,
                partial(_power_factor_change, row, hung),
                [-each.rows[row] for each in basis.slopes],
                "1",
                neutral=factor,
                low=min(LOWEST_POWER_FACTOR, factor),
                high=1.0,
                rows=(row,),
                point=_point(basis, row),
            )


def undeclared_causes(basis: Basis) -> Iterator[Cause]:
    """At each point of the cable something more that draws whenever anything is on."""
    spans = basis.model.connected.layout.spans
    ends = [end for index, _ in basis.cable_spans() for end in (spans[index].start, spans[index].end)]
    declared_w = sum(basis.model.network.open_circuit_draw())
    idle = [basis.model.states[one.state].on == NO_LOAD for one in basis.taken]
    for point in dict.fromkeys(ends):
        yield Cause(
            UNDECLARED,
            partial(_undeclared_change, point),
            [
                0.0 if nothing_on else each.watts[point]
                for each, nothing_on in zip(basis.slopes, idle, strict=True)
            ],
            "W",
            high=max(MOST_UNDECLARED * declared_w, LEAST_UNDECLARED_W),
            point=point,
            usual=max(declared_w, USUAL_UNDECLARED_W),
        )


def exchange_causes(basis: Basis) -> Iterator[Cause]:
    """Two fixtures each at the other's place; strips stay, and alike ones make no difference."""
    hung = basis.model.rows
    single = [row for row, each in enumerate(hung) if len(each) == 1 and each[0][1].real_power(1.0)]
    pairs = list(combinations(single, 2))
    if len(pairs) > MOST_PAIRS:
        pairs = list(combinations(_most_urged(basis, single), 2))
    secondary_v = basis.model.network.open_circuit_v[TERMINAL]
    for a, b in pairs:
        (at_a, load_a), (at_b, load_b) = hung[a][0], hung[b][0]
        if load_a != load_b:
            ratio = load_b.real_power(secondary_v) / load_a.real_power(secondary_v)
            change = Change(rows={a: [(at_a, load_b)], b: [(at_b, load_a)]})
            slope = [
                each.rows[a] * (ratio - 1.0) + each.rows[b] * (1.0 / ratio - 1.0) for each in basis.slopes
            ]
            yield Cause(EXCHANGED, partial(fixed, change), slope, rows=(a, b))


def _most_urged(basis: Basis, rows: Iterable[int]) -> list[int]:
    """Fixtures whose own load the readings would change most, half of them each way."""
    urged = {
        row: sum(each.rows[row] * urge for each, urge in zip(basis.slopes, basis.urge, strict=True))
        for row in rows
    }
    ordered = sorted(urged, key=urged.__getitem__)
    half = MOST_PAIRED // 2
    return sorted({*ordered[:half], *ordered[-half:]})


def _power_change(hung: dict[int, Hung], size: float) -> Change:
    return Change(rows={row: [(at, load.scaled(size)) for at, load in each] for row, each in hung.items()})


def _power_factor_change(row: int, hung: Hung, size: float) -> Change:
    lag = sqrt(max(0.0, 1.0 - size * size)) / size
    return Change(rows={row: [(at, load._replace(non_active_var=load.power_w * lag)) for at, load in hung]})


def _undeclared_change(point: int, size: float) -> Change:
    return Change(more=((point, Load(power_w=size)),))
