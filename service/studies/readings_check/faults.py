"""Every single thing that could be wrong with a job: supply, cable, joints, fixtures."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator
from functools import partial
from itertools import accumulate, combinations
from math import hypot, sqrt

from service.circuit.work import OPERATIONS_OF_WORK, count
from service.estimation.job import CURRENT, NO_LOAD
from service.estimation.model import Change, Loads
from service.physics.load import Load
from service.physics.network import TERMINAL
from service.studies.readings_check.fault import (
    CABLE,
    EXCHANGED,
    LINE_POWER,
    OPEN,
    POWER,
    POWER_FACTOR,
    SPAN,
    SPLICE,
    SUPPLY,
    UNDECLARED,
    USUAL_LOG,
    WINDING,
    Basis,
    FaultHypothesis,
    FaultKind,
    fixed,
)
from service.studies.readings_check.plausible import (
    HIGHEST_SUPPLY,
    LEAST_UNDECLARED_W,
    LOWEST_POWER_FACTOR,
    LOWEST_SUPPLY,
    LOWEST_WINDING,
    MOST_POWER,
    MOST_SPLICE_OHM,
    MOST_UNDECLARED,
    MOST_WINDING,
    SMALL_SPLICE_OHM,
    cable_bounds,
)
from service.studies.readings_check.runs import run_faults

CAUSES_OF_POINT = 6
"""Causes for each point: a joint, a stretch, a break; a fixture, its power factor, one more."""

CONCEIVED, FOLLOWED = 60, 2
"""Operations of one fault, and for each reading of what it does to that."""


def faults_of(basis: Basis) -> list[FaultHypothesis]:
    """Every fault, in the order in which equals are told: the supply first, then joints, then the rest."""
    basis.model.spend(work_of_faults(basis.model.network.points, len(basis.measurements)))
    # Volts hardly follow a power factor: it is a fault only where amperes were read.
    currents = any(one.probe.quantity == CURRENT for one in basis.measurements)
    found = [
        *supply_faults(basis),
        *splice_faults(basis),
        *span_faults(basis),
        *cable_faults(basis),
        *break_faults(basis),
        *power_faults(basis),
        *(power_factor_faults(basis) if currents else ()),
        *undeclared_faults(basis),
        *exchange_faults(basis),
        *run_faults(basis),
    ]
    count(len(found) * (CONCEIVED + FOLLOWED * len(basis.measurements)))
    return found


def work_of_faults(points: int, readings: int) -> int:
    """Work of finding what each fault would do to each reading."""
    return 1 + points * CAUSES_OF_POINT * (CONCEIVED + FOLLOWED * readings) // OPERATIONS_OF_WORK


USUAL_SUPPLY = 0.1
"""A tenth of the volts off surprises nobody. [-]"""


BROKEN_OHM = 1e9


def supply_faults(basis: Basis) -> Iterator[FaultHypothesis]:
    """The volts that the supply gives without load, and what it loses under load."""
    slope = [each.supply for each in basis.sensitivities]
    yield FaultHypothesis(
        SUPPLY,
        _supply_change,
        slope,
        "1",
        neutral=1.0,
        low=LOWEST_SUPPLY,
        high=HIGHEST_SUPPLY,
        usual=USUAL_SUPPLY,
    )
    ohm, small = basis.model.source_ohm, 0.05 * basis.model.full_load_ohm
    slope_ohm = basis.model.near_ideal.source_ohm or ohm
    yield FaultHypothesis(
        WINDING,
        _winding_change,
        [each.source / slope_ohm for each in basis.sensitivities],
        "ohm",
        neutral=ohm,
        low=LOWEST_WINDING * ohm,
        high=ohm + MOST_WINDING * max(ohm, small),
        scale=ohm or small,
        usual=USUAL_LOG,
    )
    yield _dead_supply(basis)


def _dead_supply(basis: Basis) -> FaultHypothesis:
    """A supply that gives nothing in any state, so that no meter on the wiring shows anything."""
    everything = basis.routes.all_points()
    slope = [-each.value for each in basis.sensitivities]
    return FaultHypothesis(OPEN, partial(fixed, Change(cut=everything)), slope, point=TERMINAL)


def splice_faults(basis: Basis) -> Iterator[FaultHypothesis]:
    """A joint with resistance on each stretch of cable."""
    for index, ohm in basis.cable_spans():
        yield FaultHypothesis(
            SPLICE,
            partial(_splice_change, index, ohm),
            [each.spans[index] / ohm for each in basis.sensitivities],
            "ohm",
            high=MOST_SPLICE_OHM,
            scale=max(ohm, SMALL_SPLICE_OHM),
            spans=(index,),
        )


def span_faults(basis: Basis) -> Iterator[FaultHypothesis]:
    """Each stretch of cable by itself longer, shorter, thinner, thicker or of another metal."""
    for index, _ in basis.cable_spans():
        yield _cable(basis, SPAN, (index,))


def cable_faults(basis: Basis) -> Iterator[FaultHypothesis]:
    """Whole cables of several spans, and all cables of one kind where there are several."""
    by_cable: dict[str, list[int]] = {}
    by_kind: dict[object, list[str]] = {}
    for index, _ in basis.cable_spans():
        span = basis.model.connected.layout.spans[index]
        by_cable.setdefault(span.cable_at, []).append(index)
        kind = by_kind.setdefault(span.cable and span.cable.spec, [])
        if span.cable_at not in kind:
            kind.append(span.cable_at)
    groups = [tuple(spans) for spans in by_cable.values() if len(spans) > 1]
    groups += [
        tuple(index for cable in kind for index in by_cable[cable])
        for kind in by_kind.values()
        if len(kind) > 1
    ]
    return (_cable(basis, CABLE, group) for group in groups)


def _cable(basis: Basis, kind: FaultKind, spans: tuple[int, ...]) -> FaultHypothesis:
    layout = basis.model.connected.layout
    ohms = {index: layout.spans[index].resistance_ohm for index in spans}
    low, high = cable_bounds(layout.spans[spans[0]].cable, layout.temperature_c)
    return FaultHypothesis(
        kind,
        partial(_cable_change, ohms),
        [sum(each.spans[index] for index in spans) for each in basis.sensitivities],
        "1",
        neutral=1.0,
        low=low,
        high=high,
        scale=1.0,
        spans=spans,
        usual=USUAL_LOG,
    )


def break_faults(basis: Basis) -> Iterator[FaultHypothesis]:
    """Spans that may be broken: all behind goes dark, or on a loop is fed the other way alone."""
    number, rows = basis.routes.number, basis.model.rows
    ordered = sorted(range(len(rows)), key=lambda row: number[rows[row][0][0]])
    numbers = [number[rows[row][0][0]] for row in ordered]
    so_far = [
        list(accumulate((each.rows[row] for row in ordered), initial=0.0)) for each in basis.sensitivities
    ]
    for index, _ in basis.cable_spans():
        cut = basis.routes.cut_off(index)
        first, last = bisect_left(numbers, cut.first), bisect_right(numbers, cut.last)
        slope = [sums[first] - sums[last] for sums in so_far]
        if not cut:
            slope = [each.spans[index] for each in basis.sensitivities]
        for at, one in enumerate(basis.measurements):
            if one.probe.is_voltage and one.probe.point in cut:
                slope[at] = -basis.sensitivities[at].value
        change = Change(span_ohm={index: BROKEN_OHM}, cut=cut)
        yield FaultHypothesis(OPEN, partial(fixed, change), slope, spans=(index,))


def _supply_change(size: float) -> Change:
    return Change(supply_ratio=size)


def _winding_change(size: float) -> Change:
    return Change(source_ohm=size)


def _splice_change(span: int, ohm: float, size: float) -> Change:
    return Change(span_ohm={span: ohm + size})


def _cable_change(ohms: dict[int, float], size: float) -> Change:
    return Change(span_ohm={span: ohm * size for span, ohm in ohms.items()})


USUAL_POWER = 1.0
"""A fixture that draws nothing or twice its load surprises nobody. [-]"""

USUAL_UNDECLARED_W = 20.0
"""So much more, or as much as is declared, surprises nobody. [W]"""


NO_POWER_FACTOR = 1e-3
"""Of a load below this nearly all is lag: no driver, and nothing to divide by. [-]"""

MOST_PAIRS = 400
"""Pairs of fixtures that are tried as exchanged."""

MOST_PAIRED = 28
"""Fixtures from which they are taken where there are more: so many make about as many pairs."""


def power_faults(basis: Basis) -> Iterator[FaultHypothesis]:
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


def _power(basis: Basis, kind: FaultKind, rows: tuple[int, ...]) -> FaultHypothesis:
    return FaultHypothesis(
        kind,
        partial(_power_change, {row: basis.model.rows[row] for row in rows}),
        [sum(each.rows[row] for row in rows) for each in basis.sensitivities],
        "1",
        neutral=1.0,
        high=MOST_POWER,
        rows=rows,
        point=_point(basis, rows[0]) if len(rows) == 1 else None,
        usual=USUAL_POWER,
    )


def _point(basis: Basis, row: int) -> int:
    """The point of the cable at which a fixture is spliced."""
    return basis.model.connected.layout.fixtures[row].cable_point


def power_factor_faults(basis: Basis) -> Iterator[FaultHypothesis]:
    """Each driver with another power factor; on direct current there is none."""
    job = basis.model.connected.job
    if job.supply.direct_current or job.all_in_phase:
        return
    for row, loads in enumerate(basis.model.rows):
        load = loads[0][1]
        if load.power_w > 0.0 and load == Load(load.power_w, non_active_var=load.non_active_var):
            factor = load.power_w / hypot(load.power_w, load.non_active_var)
            if factor < NO_POWER_FACTOR:
                continue
            yield FaultHypothesis(
                POWER_FACTOR,
                partial(_power_factor_change, row, loads),
                [-each.rows[row] for each in basis.sensitivities],
                "1",
                neutral=factor,
                low=min(LOWEST_POWER_FACTOR, factor),
                high=1.0,
                rows=(row,),
                point=_point(basis, row),
            )


def undeclared_faults(basis: Basis) -> Iterator[FaultHypothesis]:
    """At each point of the cable something more that draws whenever anything is on."""
    spans = basis.model.connected.layout.spans
    ends = [end for index, _ in basis.cable_spans() for end in (spans[index].start, spans[index].end)]
    declared_w = sum(basis.model.network.open_circuit_draw())
    idle = [basis.model.states[one.state].on == NO_LOAD for one in basis.measurements]
    for point in dict.fromkeys(ends):
        yield FaultHypothesis(
            UNDECLARED,
            partial(_undeclared_change, point),
            [
                0.0 if nothing_on else each.watts[point]
                for each, nothing_on in zip(basis.sensitivities, idle, strict=True)
            ],
            "W",
            high=max(MOST_UNDECLARED * declared_w, LEAST_UNDECLARED_W),
            point=point,
            usual=max(declared_w, USUAL_UNDECLARED_W),
        )


def exchange_faults(basis: Basis) -> Iterator[FaultHypothesis]:
    """Two fixtures exchanged; strips are left out, and alike ones make no difference."""
    loads = basis.model.rows
    single = [row for row, each in enumerate(loads) if len(each) == 1 and each[0][1].real_power(1.0)]
    pairs = list(combinations(single, 2))
    if len(pairs) > MOST_PAIRS:
        pairs = list(combinations(_most_weighted(basis, single), 2))
    secondary_v = basis.model.network.open_circuit_v[TERMINAL]
    for a, b in pairs:
        (at_a, load_a), (at_b, load_b) = loads[a][0], loads[b][0]
        if load_a != load_b:
            ratio = load_b.real_power(secondary_v) / load_a.real_power(secondary_v)
            change = Change(rows={a: [(at_a, load_b)], b: [(at_b, load_a)]})
            slope = [
                each.rows[a] * (ratio - 1.0) + each.rows[b] * (1.0 / ratio - 1.0)
                for each in basis.sensitivities
            ]
            yield FaultHypothesis(EXCHANGED, partial(fixed, change), slope, rows=(a, b))


def _most_weighted(basis: Basis, rows: Iterable[int]) -> list[int]:
    """Fixtures whose own load the readings would change most, half of them each way."""
    urged = {
        row: sum(
            each.rows[row] * weighted
            for each, weighted in zip(basis.sensitivities, basis.weighted, strict=True)
        )
        for row in rows
    }
    ordered = sorted(urged, key=urged.__getitem__)
    half = MOST_PAIRED // 2
    return sorted({*ordered[:half], *ordered[-half:]})


def _power_change(loads: dict[int, Loads], size: float) -> Change:
    return Change(rows={row: [(at, load.scaled(size)) for at, load in each] for row, each in loads.items()})


def _power_factor_change(row: int, loads: Loads, size: float) -> Change:
    lag = sqrt(max(0.0, 1.0 - size * size)) / size
    return Change(rows={row: [(at, load._replace(non_active_var=load.power_w * lag)) for at, load in loads]})


def _undeclared_change(point: int, size: float) -> Change:
    return Change(more=((point, Load(power_w=size)),))
