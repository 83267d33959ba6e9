"""What was asked, as it was understood: supply, wiring, limits and conditions."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import UnsetType

from service.messages.conditions import NamedMains
from service.messages.wiring import EvenWiring, Run, RunsWiring, SpansWiring, TotalsWiring
from service.sheets.figures import NOTHING, asked, either, plain, said, temperature
from service.sheets.sheet import Column, Facts, Section, Table, texts
from service.sheets.wiring_words import cable_words, lead_words, load_words, supply_facts, window_words
from service.translate.naming import WORDS

if TYPE_CHECKING:
    from collections.abc import Iterator

    from service.messages.conditions import Conditions, Mains
    from service.messages.fixture import FixtureLine, PointFixture
    from service.messages.job import JobRequest
    from service.messages.wiring import Branch, Spur, Wiring
    from service.sheets.sheet import Block

    AnyRun = Run | Branch | Spur


def asked_section(request: JobRequest, *more: tuple[str, str]) -> Section:
    """Everything that a job was computed from."""
    facts = [*supply_facts(request.supply), *job_facts(request), *more]
    return Section("What was asked", [Facts(facts), *wiring_blocks(request.wiring)])


def job_facts(request: JobRequest) -> Iterator[tuple[str, str]]:
    """Limits and conditions of a job."""
    if (nominal := said(request.wiring.nominal_voltage)) is not None:
        yield "Fixtures made for", asked(nominal)
    limits = said(request.limits)
    if limits is not None and (most := said(limits.maximum_drop_percent)) is not None:
        yield "Largest drop allowed", f"{plain(most)} % of the rated secondary"
    yield from condition_facts(request.conditions)


def condition_facts(conditions: Conditions | UnsetType) -> Iterator[tuple[str, str]]:
    """The state or states that are answered."""
    if isinstance(conditions, UnsetType):
        return
    if not isinstance(conditions.conductor_temperature, UnsetType):
        yield "Conductors at", temperature(conditions.conductor_temperature)
    if (both := said(conditions.conductor_temperature_range)) is not None:
        yield "Conductors between", f"{temperature(both.lowest)} and {temperature(both.highest)}"
    if not isinstance(conditions.mains, UnsetType):
        yield "Mains", _mains(conditions.mains)
    if (switching := said(conditions.switching)) is not None:
        yield "Switched", switching
    if (beyond := said(conditions.non_active_current)) is not None:
        yield "Volt-amperes beyond the watts", beyond


def _mains(mains: Mains) -> str:
    return (
        mains.range if isinstance(mains, NamedMains) else f"{asked(mains.lowest)} to {asked(mains.highest)}"
    )


def wiring_blocks(wiring: Wiring) -> list[Block]:
    """The wiring as it was given."""
    if isinstance(wiring, RunsWiring):
        lines = list(_lines(wiring))
        return [_run_table(lines), _fixture_table(lines)]
    if isinstance(wiring, SpansWiring):
        return [_span_table(wiring), _point_table(wiring)]
    return [Facts(list(_short_form(wiring)))]


def _short_form(wiring: EvenWiring | TotalsWiring) -> Iterator[tuple[str, str]]:
    if isinstance(wiring, TotalsWiring):
        yield "All fixtures together", load_words(wiring.load)
    else:
        yield "Fixtures", f"{plain(wiring.count)}, evenly, each {load_words(wiring.load)}"
        if (first := said(wiring.first_at)) is not None:
            yield "First fixture at", asked(first)
    yield "Cable", cable_words(wiring.cable)
    yield "From the supply to the last fixture", asked(wiring.length)


def _lines(wiring: RunsWiring) -> Iterator[tuple[str, str, AnyRun]]:
    """Every run, branch and spur: what it is called, where it begins, and itself."""
    for index, run in enumerate(wiring.runs):
        name = either_name(run, f"{WORDS['runs']} {index + 1}")
        yield name, "supply", run
        yield from _below(run, name)


def _below(owner: Run | Branch, owner_name: str) -> Iterator[tuple[str, str, AnyRun]]:
    if isinstance(owner, Run):
        for index, branch in enumerate(said(owner.branches) or ()):
            name = either_name(branch, f"{owner_name} {WORDS['branches']} {index + 1}")
            yield name, f"{owner_name} at {asked(branch.at)}", branch
            yield from _below(branch, name)
        return
    for index, spur in enumerate(said(owner.spurs) or ()):
        name = either_name(spur, f"{owner_name} {WORDS['spurs']} {index + 1}")
        yield name, f"{owner_name} at {asked(spur.at)}", spur


def either_name(line: AnyRun, place: str) -> str:
    """The name of a run with its id, or its place among the runs."""
    name = line.name if isinstance(line.name, str) else place
    return name if isinstance(line.id, UnsetType) else f"{name} ({line.id})"


def _run_table(lines: list[tuple[str, str, AnyRun]]) -> Table:
    rows = [
        [name, start, cable_words(line.cable), *_connection(line), _rest(line)] for name, start, line in lines
    ]
    return Table(texts("Run", "Begins at", "Cable", "Tap", "Circuit", "Further"), rows)


def _connection(line: AnyRun) -> list[str]:
    if not isinstance(line, Run):
        return [NOTHING, NOTHING]
    tap = said(line.tap)
    return [NOTHING if tap is None else asked(tap), either(line.circuit)]


def _rest(line: AnyRun) -> str:
    """What else lies on a run."""
    told = [
        f"from {asked(change.at)} on {cable_words(change.cable)}" for change in said(line.cable_changes) or ()
    ]
    if (tail := said(line.tail)) is not None:
        told.append(f"tail of {asked(tail)}")
    if (leg := said(line.return_leg)) is not None:
        cable = "" if isinstance(leg.cable, UnsetType) else f" {cable_words(leg.cable)}"
        told.append(f"brought back over {asked(leg.length)}{cable}")
    return "; ".join(told) or NOTHING


def _fixture_table(lines: list[tuple[str, str, AnyRun]]) -> Table:
    columns = [
        *texts("Run", "Fixture"),
        Column("At", numbers=True),
        *texts("Count", "Load", "Window", "Lead"),
    ]
    rows = [
        [name, _fixture_name(each), asked(each.at), _count(each), *_nature(each)]
        for name, _, line in lines
        for each in line.fixtures
    ]
    return Table(columns, rows)


def _fixture_name(line: FixtureLine | PointFixture) -> str:
    name = either(line.name)
    return name if isinstance(line.id, UnsetType) else f"{name} ({line.id})"


def _count(line: FixtureLine) -> str:
    count, spacing = said(line.count), said(line.spacing)
    number = plain(1.0 if count is None else count)
    return number if spacing is None else f"{number}, every {asked(spacing)}"


def _nature(line: FixtureLine | PointFixture) -> list[str]:
    joint, made_for = said(line.splice_resistance), said(line.input)
    lead = lead_words(line.lead)
    more = [] if joint is None else [f"splice {asked(joint)}"]
    more += [] if made_for is None else [f"made for {made_for}"]
    hung = ", ".join([*([] if lead == NOTHING else [lead]), *more]) or NOTHING
    return [load_words(line.load), window_words(line.window), hung]


def _span_table(wiring: SpansWiring) -> Table:
    columns = [*texts("From", "To"), Column("Length", numbers=True), *texts("Cable", "Tap", "Circuit", "Id")]
    rows = []
    for span in wiring.spans:
        tap = said(span.tap)
        place = [span.start, span.end, asked(span.length), cable_words(span.cable)]
        rows.append([*place, NOTHING if tap is None else asked(tap), either(span.circuit), either(span.id)])
    return Table(columns, rows)


def _point_table(wiring: SpansWiring) -> Table:
    rows = []
    for line in wiring.fixtures:
        count = said(line.count)
        rows.append([line.point, _fixture_name(line), plain(count or 1.0), *_nature(line)])
    return Table(texts("Point", "Fixture", "Count", "Load", "Window", "Lead"), rows)
