"""Wiring in its forms: from the wire to runs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import UNSET

from service.messages.fixture import Filament
from service.messages.wiring import EvenWiring, SpansWiring, TotalsWiring
from service.studies.job import (
    CableChange,
    FixtureLine,
    Graph,
    GraphFixture,
    GraphSpan,
    ReturnLeg,
    Run,
    Subject,
)
from service.translate.cable import cable_spec
from service.translate.fixture import amount, fixture_line, rated_voltage, read_load, said

if TYPE_CHECKING:
    from collections.abc import Sequence

    from service.messages import wiring as wire
    from service.studies.job import CableSpec


def wiring_of(wiring: wire.Wiring, pointer: str, *, direct_current: bool) -> tuple[Run, ...] | Graph:
    """The runs that leave the supply, or the graph of spans.

    Parameters
    ----------
    wiring : RunsWiring, EvenWiring, SpansWiring or TotalsWiring
        From the request.
    pointer : str
        Where it stands there.
    direct_current : bool
        Whether the supply gives direct current.
    """
    if isinstance(wiring, EvenWiring):
        return (even_run(wiring, pointer, direct_current=direct_current),)
    if isinstance(wiring, TotalsWiring):
        return (_totals_run(wiring, pointer, direct_current=direct_current),)
    if isinstance(wiring, SpansWiring):
        return _graph(wiring, pointer, direct_current=direct_current)
    return tuple(
        _run(run, f"{pointer}/runs/{index}", direct_current=direct_current)
        for index, run in enumerate(wiring.runs)
    )


def even_run(wiring: wire.EvenWiring, pointer: str, *, direct_current: bool) -> Run:
    """Fixtures alike, evenly from the first to the end of the cable; the first at length/count by default."""
    read = read_load(wiring.load, direct_current=direct_current)
    count, length_m = int(wiring.count), amount(wiring.length)
    asked_m = length_m / count if wiring.first_at is UNSET else amount(wiring.first_at)
    first_m = min(asked_m, length_m) if count > 1 else length_m
    line = FixtureLine(
        subject=Subject(pointer),
        name=None,
        at_m=first_m,
        pieces=count,
        spacing_m=(length_m - first_m) / (count - 1) if count > 1 else 0.0,
        load=read.load,
        filament=isinstance(wiring.load, Filament),
        window=None,
        lead=None,
        splice_ohm=0.0,
        input="either",
        remarks=(*read.remarks, "first-past-end") if asked_m > length_m else read.remarks,
        rail_ohm=read.rail_ohm,
        strip_m=read.strip_m,
        rated_v=rated_voltage(wiring.load),
    )
    cable = cable_spec(wiring.cable)
    return Run(Subject(pointer), None, 0.0, cable, (), 0.0, None, (line,), ())


def _totals_run(wiring: wire.TotalsWiring, pointer: str, *, direct_current: bool) -> Run:
    """All of the load at the far end, because nobody said where along the cable it is."""
    read = read_load(wiring.load, direct_current=direct_current)
    line = FixtureLine(
        subject=Subject(pointer),
        name="all fixtures",
        at_m=amount(wiring.length),
        pieces=1,
        spacing_m=None,
        load=read.load,
        filament=isinstance(wiring.load, Filament),
        window=None,
        lead=None,
        splice_ohm=0.0,
        input="either",
        remarks=read.remarks,
        rated_v=rated_voltage(wiring.load),
    )
    return Run(Subject(pointer), None, 0.0, cable_spec(wiring.cable), (), 0.0, None, (line,), ())


def _graph(wiring: wire.SpansWiring, pointer: str, *, direct_current: bool) -> Graph:
    spans = tuple(
        GraphSpan(
            subject=Subject(f"{pointer}/spans/{index}", said(span.id)),
            start=span.start,
            end=span.end,
            length_m=amount(span.length),
            cable=cable_spec(span.cable),
            tap_v=None if span.tap is UNSET else amount(span.tap),
            circuit=said(span.circuit),
        )
        for index, span in enumerate(wiring.spans)
    )
    fixtures = tuple(
        GraphFixture(
            fixture_line(line, f"{pointer}/fixtures/{index}", direct_current=direct_current), line.point
        )
        for index, line in enumerate(wiring.fixtures)
    )
    return Graph(spans, fixtures)


def _run(run: wire.Run, pointer: str, *, direct_current: bool) -> Run:
    branches = () if run.branches is UNSET else run.branches
    laid = tuple(
        _branch(branch, f"{pointer}/branches/{index}", direct_current=direct_current)
        for index, branch in enumerate(branches)
    )
    plain = _stretch(run, pointer, 0.0, laid, direct_current=direct_current)
    return plain._replace(tap_v=None if run.tap is UNSET else amount(run.tap), circuit=said(run.circuit))


def _branch(branch: wire.Branch, pointer: str, *, direct_current: bool) -> Run:
    spurs = () if branch.spurs is UNSET else branch.spurs
    laid = tuple(
        _stretch(spur, f"{pointer}/spurs/{index}", amount(spur.at), (), direct_current=direct_current)
        for index, spur in enumerate(spurs)
    )
    return _stretch(branch, pointer, amount(branch.at), laid, direct_current=direct_current)


def _stretch(
    run: wire.Run | wire.Branch | wire.Spur,
    pointer: str,
    at_m: float,
    branches: tuple[Run, ...],
    *,
    direct_current: bool,
) -> Run:
    """What a run, a branch and a spur have in common."""
    cable = cable_spec(run.cable)
    return Run(
        subject=Subject(pointer, said(run.id)),
        name=said(run.name),
        at_m=at_m,
        cable=cable,
        changes=_changes(() if run.cable_changes is UNSET else run.cable_changes, pointer),
        tail_m=0.0 if run.tail is UNSET else amount(run.tail),
        return_leg=None if run.return_leg is UNSET else _return_leg(run.return_leg, pointer, cable),
        fixtures=tuple(
            fixture_line(line, f"{pointer}/fixtures/{index}", direct_current=direct_current)
            for index, line in enumerate(run.fixtures)
        ),
        branches=branches,
    )


def _changes(changes: Sequence[wire.CableChange], pointer: str) -> tuple[CableChange, ...]:
    return tuple(
        CableChange(Subject(f"{pointer}/cable_changes/{index}"), amount(change.at), cable_spec(change.cable))
        for index, change in enumerate(changes)
    )


def _return_leg(leg: wire.ReturnLeg, pointer: str, run_cable: CableSpec) -> ReturnLeg:
    cable = run_cable if leg.cable is UNSET else cable_spec(leg.cable)
    return ReturnLeg(Subject(f"{pointer}/return_leg"), amount(leg.length), cable, leg.cable is UNSET)
