"""The sheet of a voltage drop."""

from __future__ import annotations

from service.sheets.drawing import Drawing, Words, stacked
from service.sheets.figures import (
    NOTHING,
    figure,
    figures,
    given,
    optional,
    per_cent,
    percent,
    plain,
    quantity,
)
from service.sheets.sections import (
    USUAL_LOADING,
    WINDING_CURRENT,
    bracket_section,
    closing_sections,
    envelope_section,
    findings_section,
    head,
    job_section,
    margin_facts,
    summary_section,
)
from service.sheets.sheet import (
    Column,
    Facts,
    Paragraph,
    Section,
    Sheet,
    Table,
    filled,
    numbers,
    texts,
)
from service.studies.voltage_drop.by_hand import calculation_section
from service.studies.voltage_drop.drawing import lamp_volts, plan_figures, plans, profile, profile_figure
from service.studies.voltage_drop.network import DrawnNetwork, drawn_network_of, lamp_numbers, trails_of
from service.studies.voltage_drop.reply import (
    FixtureRow,
    NoOperatingPoint,
    RestState,
    Solved,
    SpanRow,
    VoltageDropReply,
)
from service.studies.voltage_drop.request import VoltageDropRequest
from service.translate.job import length_unit
from service.translate.naming import run_name
from service.wire.reply import SupplyState
from service.wire.supply import Transformer
from service.wire.wiring import RunsWiring

STUDY = "Voltage drop"


_COLUMNS = (
    "At: one way from the start of the fixture's own run or branch. Volts: at the lamp, behind its lead."
    " Window: outside it common practice or the request's own window warns. Cable drop counts from the"
    " terminal and total drop from the open circuit; per cent are of the rated secondary."
)


COLLAPSED = (
    "The cable cannot carry that load at any voltage: there is no operating point, and no number to show."
)


def voltage_drop_sheet(request: VoltageDropRequest, reply: VoltageDropReply) -> Sheet:
    """What each lamp gets, and how it comes about."""
    answer = _solved(request, reply) if isinstance(reply, Solved) else _collapsed(request, reply)
    sections = filled(
        [summary_section(reply.summary), *answer, job_section(request), *closing_sections(reply)]
    )
    return head(request, STUDY, length_unit(request), sections)


def voltage_drop_drawing(request: VoltageDropRequest, reply: VoltageDropReply) -> Drawing:
    """The volts along the way, and the wiring to scale."""
    title = head(request, STUDY, "m", []).title
    if not isinstance(reply, Solved):
        return Drawing(title, COLLAPSED, 40.0, [Words(COLLAPSED, 0.0, 20.0)])
    network = drawn_network_of(request, reply)
    wired = [profile(reply, network)] if reply.fixtures or reply.spans else []
    drawings = [*wired, *plans(reply, network)]
    return stacked(title, [*drawings, _cautions(reply)])


def _cautions(reply: Solved) -> Drawing:
    words = [
        Words(caution.message, 0.0, 10.0 + 11.0 * row, 7.6) for row, caution in enumerate(reply.cautions)
    ]
    description = " ".join(caution.message for caution in reply.cautions)
    return Drawing("Cautions", description, 11.0 * len(words) + 6.0, words)


def _solved(request: VoltageDropRequest, reply: Solved) -> list[Section]:
    network = drawn_network_of(request, reply)
    drawings = [profile_figure(reply, network), *plan_figures(reply, network)] if reply.spans else []
    return [
        Section("Result", [Facts(_summary(reply)), *_taps(request, reply.supply)]),
        findings_section(reply.findings),
        Section("Drawings", drawings),
        Section("What each fixture gets", [_numbered(request, reply, network), Paragraph(_COLUMNS)]),
        calculation_section(request, reply, network),
        Section("Spans", [_span_table(reply.spans)]),
        Section("Runs", [_run_table(reply)]),
        *envelope_section(given(reply.envelope)),
        *bracket_section(given(reply.bracket)),
    ]


def _collapsed(request: VoltageDropRequest, reply: NoOperatingPoint) -> list[Section]:
    return [
        Section("Result", [Paragraph(COLLAPSED), Facts(margin_facts(reply.load_margin))]),
        findings_section(reply.findings),
        *_rest(request, given(reply.rest)),
        *bracket_section(given(reply.bracket)),
    ]


def _rest(request: VoltageDropRequest, rest: RestState | None) -> list[Section]:
    """The others while some runs are off."""
    if rest is None:
        return []
    off = ", ".join(run_name(request.wiring, each.pointer) for each in rest.off)
    return [
        Section("The other runs", [Paragraph(f"As if switched off: {off}."), *_taps(request, rest.supply)]),
        Section("What the others get", [_fixture_table(rest.fixtures), Paragraph(_COLUMNS)]),
        Section("Findings about the others", findings_section(rest.findings).blocks),
    ]


def _summary(reply: Solved) -> list[tuple[str, str]]:
    supply, totals = reply.supply, reply.totals
    loading, winding = given(supply.loading_ratio), given(supply.current_ratio)
    usual = given(supply.loading_ratio_at_usual_power_factor)
    facts = [
        ("Open circuit and terminal", f"{quantity(supply.open_circuit)}, {quantity(supply.terminal)}"),
        ("Current", quantity(supply.current)),
        ("Power at the terminals", f"{quantity(supply.real_power)}, {quantity(supply.apparent_power)}"),
        ("Loading of the rating", NOTHING if loading is None else percent(loading)),
        *([] if winding is None else [(WINDING_CURRENT, percent(winding))]),
        *([] if usual is None else [(USUAL_LOADING, percent(usual))]),
        ("Fixtures together", quantity(totals.fixture_power)),
        ("Lost in cable and winding", f"{quantity(totals.cable_loss)}, {quantity(totals.winding_loss)}"),
    ]
    return [*facts, *margin_facts(reply.load_margin)]


def _taps(request: VoltageDropRequest, supply: SupplyState) -> list[Table]:
    taps = sorted(supply.taps, key=lambda tap: tap.rated.value)
    tap_rows = [
        [plain(tap.rated.value), *figures(tap.open_circuit, tap.terminal, tap.current)] for tap in taps
    ]
    circuits = [[each.name, figure(each.current), optional(each.limit)] for each in supply.circuits]
    rated = "Tap, rated [V]" if isinstance(request.supply, Transformer) else "Rated [V]"
    return [
        Table(numbers(rated, "Open circuit [V]", "Terminal [V]", "Current [A]"), tap_rows),
        Table([Column("Circuit"), *numbers("Current [A]", "Device [A]")], circuits),
    ]


def _numbered(request: VoltageDropRequest, reply: Solved, network: DrawnNetwork) -> Table:
    """The fixtures run by run, with the numbers of the plan."""
    table = _fixture_table(reply.fixtures)
    numbered = lamp_numbers(network, trails_of(network), reply.fixtures)
    rows = [[number.words, *row] for number, row in zip(numbered, table.rows, strict=True)]
    groups, before = {}, None
    for place, (row, lamp) in enumerate(zip(reply.fixtures, network.lamps, strict=True)):
        owner, found, _ = row.pointer.rpartition("/fixtures/")
        if found and owner != before and isinstance(request.wiring, RunsWiring):
            fed = network.fed_at(lamp)
            tap = f"{plain(fed.tap.rated.value)} V tap"
            groups[place] = f"{run_name(request.wiring, owner)} · {tap} · circuit {fed.circuit}"
            before = owner
    columns = [*numbers("No."), *table.columns]
    return table._replace(columns=columns, rows=rows, groups=groups if len(groups) > 1 else {})


def _fixture_table(rows: list[FixtureRow]) -> Table:
    unit = rows[0].at.unit if rows else "m"
    leads = any(given(row.splice_voltage) is not None for row in rows)
    strips = any(given(row.far_voltage) is not None for row in rows)
    further = [*(["Splice [V]"] if leads else []), *(["Far end [V]"] if strips else [])]
    columns = [
        Column("Fixture"),
        Column("Verdict", short=True),
        *numbers(
            f"At [{unit}]", "Volts", *further, "Window [V]", "Cable drop [V]", "Drop [%]", "Total drop [V]"
        ),
        *numbers("Amperes", "Watts"),
    ]
    table = []
    for row in rows:
        more = [
            *([optional(row.splice_voltage)] if leads else []),
            *([optional(row.far_voltage)] if strips else []),
        ]
        drops = [figure(row.cable_drop), per_cent(row.drop_percent), figure(row.total_drop)]
        window = f"{plain(row.window.minimum.value)}\N{EN DASH}{plain(row.window.maximum.value)}"
        place = [
            _fixture_name(row),
            row.verdict,
            plain(round(row.at.value, 2)),
            lamp_volts(row, row.voltage.value),
        ]
        table.append([*place, *more, window, *drops, figure(row.current), figure(row.real_power)])
    outside = frozenset(place for place, row in enumerate(rows) if row.verdict != "inside")
    return Table(columns, table, outside)


def _fixture_name(row: FixtureRow) -> str:
    count, own_id = given(row.count), given(row.id)
    name = row.name if count is None else f"{row.name} ({count} here, each)"
    return name if own_id is None else f"{name} [{own_id}]"


def _span_table(rows: list[SpanRow]) -> Table:
    unit = rows[0].length.unit if rows else "m"
    columns = [
        *texts("From", "To", "Cable"),
        *numbers(f"Length [{unit}]", "Both [ohm]", "Current [A]", "Drop [V]", "Lost [W]"),
    ]
    table = []
    for row in rows:
        own_id = given(row.id)
        end = row.end if own_id is None else f"{row.end} [{own_id}]"
        measured = figures(row.length, row.resistance, row.current, row.drop, row.loss)
        table.append([row.start, end, given(row.conductor) or NOTHING, *measured])
    return Table(columns, table)


def _run_table(reply: Solved) -> Table:
    devices = [given(run.largest_device) for run in reply.runs]
    told = ["Device at most [A]"] if any(each is not None for each in devices) else []
    columns = [
        Column("Run"),
        *numbers("Current [A]", "Lowest [V]", "End [V]", "Lost in cable [W]", *told),
    ]
    rows = []
    for run, device in zip(reply.runs, devices, strict=True):
        name = run.name if given(run.id) is None else f"{run.name} [{given(run.id)}]"
        measured = figures(run.current, run.lowest_voltage, run.end_voltage, run.cable_loss)
        allowed = [NOTHING if device is None else figure(device)] if told else []
        rows.append([name, *measured, *allowed])
    return Table(columns, rows)
