"""What could be wrong with the supply and the cable: its volts, its ohms, a joint, a stretch, a break."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from functools import partial
from itertools import accumulate
from typing import TYPE_CHECKING

from service.physics.network import TERMINAL
from service.studies.readings.basis import USUAL_LOG, fixed
from service.studies.readings.cause import CABLE, OPEN, SPAN, SPLICE, SUPPLY, WINDING, Cause
from service.studies.readings.model import Change

if TYPE_CHECKING:
    from collections.abc import Iterator

    from service.studies.readings.basis import Basis

LOWEST_SUPPLY, HIGHEST_SUPPLY = 0.4, 1.4
"""Of the open-circuit voltage: half of it is 12 V on 24 V lamps; more than the upper one no tap gives. [-]"""

USUAL_SUPPLY = 0.1
"""A tenth of the volts off surprises nobody. [-]"""

LOWEST_WINDING, MOST_WINDING = 0.02, 20.0
"""Of the winding's resistance; of an ideal supply over a twentieth of the load's own. [-]"""

LOWEST_CABLE, HIGHEST_CABLE = 0.25, 7.0
"""Six sizes of AWG thicker, eight thinner; copper-clad aluminium lies at 1.6. [-]"""

MOST_SPLICE_OHM, SMALL_SPLICE_OHM = 1e5, 0.02

BROKEN_OHM = 1e9


def supply_causes(basis: Basis) -> Iterator[Cause]:
    """The volts that the supply gives without load, and what it loses under load."""
    slope = [each.supply for each in basis.slopes]
    yield Cause(
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
    yield Cause(
        WINDING,
        _winding_change,
        [each.source / slope_ohm for each in basis.slopes],
        "ohm",
        neutral=ohm,
        low=LOWEST_WINDING * ohm,
        high=ohm + MOST_WINDING * max(ohm, small),
        scale=ohm or small,
        usual=USUAL_LOG,
    )
    yield _dead_supply(basis)


def _dead_supply(basis: Basis) -> Cause:
    """A supply that gives nothing in any state, so that no meter on the wiring shows anything."""
    everything = basis.routes.all_points()
    slope = [-each.value for each in basis.slopes]
    return Cause(OPEN, partial(fixed, Change(cut=everything)), slope, point=TERMINAL)


def splice_causes(basis: Basis) -> Iterator[Cause]:
    """A joint with resistance on each stretch of cable."""
    for index, ohm in basis.cable_spans():
        yield Cause(
            SPLICE,
            partial(_splice_change, index, ohm),
            [each.spans[index] / ohm for each in basis.slopes],
            "ohm",
            high=MOST_SPLICE_OHM,
            scale=max(ohm, SMALL_SPLICE_OHM),
            spans=(index,),
        )


def span_causes(basis: Basis) -> Iterator[Cause]:
    """Each stretch of cable by itself longer, shorter, thinner, thicker or of another metal."""
    for index, _ in basis.cable_spans():
        yield _cable(basis, SPAN, (index,))


def cable_causes(basis: Basis) -> Iterator[Cause]:
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


def _cable(basis: Basis, code: str, spans: tuple[int, ...]) -> Cause:
    laid = basis.model.connected.layout.spans
    ohms = {index: laid[index].resistance_ohm for index in spans}
    return Cause(
        code,
        partial(_cable_change, ohms),
        [sum(each.spans[index] for index in spans) for each in basis.slopes],
        "1",
        neutral=1.0,
        low=LOWEST_CABLE,
        high=HIGHEST_CABLE,
        scale=1.0,
        spans=spans,
        usual=USUAL_LOG,
    )


def break_causes(basis: Basis) -> Iterator[Cause]:
    """Spans that may be broken: all behind goes dark, or on a loop is fed the other way alone."""
    number, rows = basis.routes.number, basis.model.rows
    ordered = sorted(range(len(rows)), key=lambda row: number[rows[row][0][0]])
    numbers = [number[rows[row][0][0]] for row in ordered]
    so_far = [list(accumulate((each.rows[row] for row in ordered), initial=0.0)) for each in basis.slopes]
    for index, _ in basis.cable_spans():
        cut = basis.routes.cut_off(index)
        first, last = bisect_left(numbers, cut.first), bisect_right(numbers, cut.last)
        slope = [sums[first] - sums[last] for sums in so_far]
        if not cut:
            slope = [each.spans[index] for each in basis.slopes]
        for at, one in enumerate(basis.taken):
            if one.probe.is_voltage and one.probe.point in cut:
                slope[at] = -basis.slopes[at].value
        change = Change(span_ohm={index: BROKEN_OHM}, cut=cut)
        yield Cause(OPEN, partial(fixed, change), slope, spans=(index,))


def _supply_change(size: float) -> Change:
    return Change(supply_ratio=size)


def _winding_change(size: float) -> Change:
    return Change(source_ohm=size)


def _splice_change(span: int, ohm: float, size: float) -> Change:
    return Change(span_ohm={span: ohm + size})


def _cable_change(ohms: dict[int, float], size: float) -> Change:
    return Change(span_ohm={span: ohm * size for span, ohm in ohms.items()})
