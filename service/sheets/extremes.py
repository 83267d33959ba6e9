"""Extremes over the corners that were asked for, and the two layouts between which an unknown one lies."""

from __future__ import annotations

from typing import TYPE_CHECKING

from service.messages.bracket import CarriedEnd
from service.sheets.figures import NOTHING, figure, plain, quantity, said
from service.sheets.sheet import Column, Facts, Paragraph, Section, Table, numbers, texts

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from service.messages.bracket import Bracket, EndState
    from service.messages.envelope import CornerState, Envelope, SupplyEnvelope


def envelope_section(envelope: Envelope | None) -> list[Section]:
    """The lowest and the highest of every quantity, and the corner that gives it."""
    if envelope is None:
        return []
    supply = said(envelope.supply)
    fixtures = [
        [
            row.name,
            figure(row.lowest.voltage),
            corner_words(row.lowest.corner),
            figure(row.highest.voltage),
            corner_words(row.highest.corner),
        ]
        for row in envelope.fixtures
    ]
    columns = [
        Column("Fixture"),
        Column("Lowest [V]", numbers=True),
        Column("where"),
        Column("Highest [V]", numbers=True),
        Column("where"),
    ]
    circuits = [
        [each.name, figure(each.highest.current), corner_words(each.highest.corner)]
        for each in envelope.circuits
    ]
    collapsed = ["No operating point: " + corner_words(corner) + "." for corner in envelope.collapsed]
    return [
        Section(
            "Extremes over the corners asked for",
            [
                *map(Paragraph, collapsed),
                Facts([] if supply is None else list(_supply(supply))),
                Table(columns, fixtures),
                Table([Column("Circuit"), *numbers("Highest [A]"), *texts("where")], circuits),
            ],
        )
    ]


def _supply(supply: SupplyEnvelope) -> Iterator[tuple[str, str]]:
    volts = {
        "Highest open circuit": supply.highest_open_circuit,
        "Lowest terminal": supply.lowest_terminal,
        "Highest terminal": supply.highest_terminal,
    }
    for name, extreme in volts.items():
        yield name, f"{quantity(extreme.voltage)} ({corner_words(extreme.corner)})"
    power = supply.highest_apparent_power
    yield "Highest apparent power", f"{quantity(power.apparent_power)} ({corner_words(power.corner)})"


def corner_words(corner: CornerState) -> str:
    """A corner in words."""
    alone = said(corner.alone)
    words = f"mains {corner.mains}, conductors {corner.conductor_temperature}"
    return words if alone is None else f"{words}, alone on: {alone.pointer}"


def bracket_section(bracket: Bracket | None) -> list[Section]:
    """The two ends where only totals are known."""
    if bracket is None:
        return []
    columns = [
        *texts("Layout", "Verdict"),
        *numbers("End [V]", "Terminal [V]", "Cable drop [V]", "Drop [%]", "Current [A]", "Heat [W]"),
    ]
    ends = [("all at the far end", bracket.lumped), ("evenly spread", bracket.evenly_spread)]
    rows = [[name, *end_cells(end)] for name, end in ends]
    return [Section("Between which layouts it lies", [Table(columns, rows), *unsure(ends)])]


def unsure(ends: Iterable[tuple[str, EndState]]) -> Iterator[Paragraph]:
    """By how much lumps in place of a continuous load may be wrong."""
    for name, end in ends:
        bound = said(end.error_bound) if isinstance(end, CarriedEnd) else None
        if bound is not None:
            yield Paragraph(f"End voltage, {name}: computed as lumps, wrong by {quantity(bound)} at most.")


def end_cells(end: EndState) -> list[str]:
    """Verdict and numbers of the end of a run."""
    if not isinstance(end, CarriedEnd):
        return ["collapsed", *[NOTHING] * 6]
    return [
        end.verdict,
        figure(end.end_voltage),
        figure(end.terminal_voltage),
        figure(end.cable_drop),
        plain(end.drop_percent),
        figure(end.current),
        figure(end.cable_loss),
    ]
