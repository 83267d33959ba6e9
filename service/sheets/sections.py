"""Sections that sheets share: head, the job, findings, extremes, closing."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from typing import Final, Protocol

from msgspec import UnsetType

from service import tables
from service.sheets.chart import clipped
from service.sheets.figures import (
    NOTHING,
    ShownValue,
    as_stated,
    beside,
    either,
    figure,
    given,
    laid,
    per_cent,
    percent,
    plain,
    quantity,
    searched,
    temperature,
)
from service.sheets.sheet import (
    Block,
    Column,
    Facts,
    Headline,
    Paper,
    Paragraph,
    Section,
    Sheet,
    Table,
    numbers,
    texts,
)
from service.translate.naming import WORDS, place_words
from service.translate.rows import TOWARDS_FAILING
from service.translate.shared import cable_of, load_of, names_of_types
from service.wire.cable import Cable, Conductor, ListedCable, ListedConductor
from service.wire.conditions import Conditions, Mains, NamedMains
from service.wire.fixture import (
    ConstantCurrent,
    ConstantPower,
    ConstantResistance,
    Filament,
    FixtureLine,
    FixtureLoad,
    Lead,
    PointFixture,
    Strip,
    Window,
)
from service.wire.job import JobRequest, SheetWords
from service.wire.reply import (
    Answer,
    Bracket,
    CarriedEnd,
    Caution,
    CornerState,
    EndState,
    Envelope,
    Finding,
    LoadMargin,
    Solution,
    SupplyEnvelope,
)
from service.wire.summary import LoadSummary, Summary
from service.wire.supply import Battery, Circuit, DcSupply, Supply, Transformer
from service.wire.wiring import (
    Branch,
    EvenWiring,
    FixtureVoltage,
    Run,
    RunsWiring,
    SpansWiring,
    Spur,
    TotalsWiring,
    Wiring,
)

AnyRun = Run | Branch | Spur


def job_section(request: JobRequest, *more: tuple[str, str]) -> Section:
    """Everything that a job was computed from."""
    facts = [*supply_facts(request.supply), *job_facts(request), *more]
    return Section("What was asked", [Facts(facts), *wiring_blocks(request.wiring)])


def job_facts(request: JobRequest) -> Iterator[tuple[str, str]]:
    """Limits and conditions of a job."""
    yield from limit_facts(request.wiring.nominal_voltage, request.limits)
    yield from condition_facts(request.conditions)


class DropLimit(Protocol):
    """Limits that may say how much of the voltage may be lost on the way."""

    @property
    def maximum_drop_percent(self) -> float | UnsetType:
        """Of the rated secondary. [%]"""
        ...


def limit_facts(
    nominal: FixtureVoltage | UnsetType, limits: DropLimit | UnsetType
) -> Iterator[tuple[str, str]]:
    """What fixtures are made for, and how much of it may be lost on the way, where that is stated."""
    if not isinstance(nominal, UnsetType):
        yield "Fixtures made for", as_stated(nominal)
    if not isinstance(limits, UnsetType) and (most := given(limits.maximum_drop_percent)) is not None:
        yield "Largest drop allowed", f"{plain(most)} % of the rated secondary"


def condition_facts(conditions: Conditions | UnsetType) -> Iterator[tuple[str, str]]:
    """The state or states that are answered."""
    if isinstance(conditions, UnsetType):
        return
    if not isinstance(conditions.conductor_temperature, UnsetType):
        yield "Conductors at", temperature(conditions.conductor_temperature)
    if (both := given(conditions.conductor_temperature_range)) is not None:
        yield "Conductors between", f"{temperature(both.lowest)} and {temperature(both.highest)}"
    if not isinstance(conditions.mains, UnsetType):
        yield "Mains", _mains(conditions.mains)
    if (judged := given(conditions.range)) is not None:
        yield "Where no range is stated", judged
    if (wet := given(conditions.wet_contact)) is not None:
        yield "Wet contact", "likely" if wet else "not likely"
    if (switching := given(conditions.switching)) is not None:
        yield "Switched", switching
    if (beyond := given(conditions.non_active_current)) is not None:
        yield "Volt-amperes beyond the watts", beyond


def _mains(mains: Mains) -> str:
    return (
        mains.range
        if isinstance(mains, NamedMains)
        else f"{as_stated(mains.lowest)} to {as_stated(mains.highest)}"
    )


def wiring_blocks(wiring: Wiring) -> list[Block]:
    """The wiring as it was given."""
    if isinstance(wiring, RunsWiring):
        lines = list(_lines(wiring))
        return [_run_table(lines), _fixture_table(lines, names_of_types(wiring))]
    if isinstance(wiring, SpansWiring):
        return [_span_table(wiring), _point_table(wiring)]
    return [Facts(list(_short_form(wiring)))]


def _short_form(wiring: EvenWiring | TotalsWiring) -> Iterator[tuple[str, str]]:
    if isinstance(wiring, TotalsWiring):
        yield "All fixtures together", load_words(wiring.load)
    else:
        yield "Fixtures", f"{plain(wiring.count)}, evenly, each {load_words(wiring.load)}"
        if (first := given(wiring.first_at)) is not None:
            yield "First fixture at", laid(first)
    yield "Cable", cable_words(wiring.cable)
    yield "From the supply to the last fixture", laid(wiring.length)


def _lines(wiring: RunsWiring) -> Iterator[tuple[str, str, AnyRun]]:
    """Every run, branch and spur: what it is called, where it begins, and itself."""
    for index, run in enumerate(wiring.runs):
        name = either_name(run, f"{WORDS['runs']} {index + 1}")
        yield name, "supply", run
        yield from _below(run, name)


def _below(owner: Run | Branch, owner_name: str) -> Iterator[tuple[str, str, AnyRun]]:
    if isinstance(owner, Run):
        for index, branch in enumerate(given(owner.branches) or ()):
            name = either_name(branch, f"{owner_name} {WORDS['branches']} {index + 1}")
            yield name, f"{owner_name} at {laid(branch.at)}", branch
            yield from _below(branch, name)
        return
    for index, spur in enumerate(given(owner.spurs) or ()):
        name = either_name(spur, f"{owner_name} {WORDS['spurs']} {index + 1}")
        yield name, f"{owner_name} at {laid(spur.at)}", spur


def either_name(line: AnyRun, place: str) -> str:
    """The name of a run with its id, or its place among the runs."""
    name = line.name if isinstance(line.name, str) else place
    return name if isinstance(line.id, UnsetType) else f"{name} ({line.id})"


def _run_table(lines: list[tuple[str, str, AnyRun]]) -> Table:
    rows = [
        [name, start, cable_words(cable_of(line)), *_connection(line), _rest(line)]
        for name, start, line in lines
    ]
    return Table(texts("Run", "Begins at", "Cable", "Tap", "Circuit", "Further"), rows)


def _connection(line: AnyRun) -> list[str]:
    if not isinstance(line, Run):
        return [NOTHING, NOTHING]
    tap = given(line.tap)
    return [NOTHING if tap is None else as_stated(tap), either(line.circuit)]


def _rest(line: AnyRun) -> str:
    """What else lies on a run."""
    parts = [
        f"from {as_stated(change.at)} on {cable_words(change.cable)}"
        for change in given(line.cable_changes) or ()
    ]
    if (tail := given(line.tail)) is not None:
        parts.append(f"tail of {as_stated(tail)}")
    if (leg := given(line.return_leg)) is not None:
        cable = "" if isinstance(leg.cable, UnsetType) else f" {cable_words(leg.cable)}"
        parts.append(f"brought back over {as_stated(leg.length)}{cable}")
    return "; ".join(parts) or NOTHING


def _fixture_table(lines: list[tuple[str, str, AnyRun]], called: dict[str, str]) -> Table:
    columns = [
        *texts("Run", "Fixture"),
        Column("At", numbers=True),
        *texts("Count", "Load", "Window", "Lead"),
    ]
    rows = [
        [name, _fixture_name(each, called), laid(each.at), _count(each), *_nature(each)]
        for name, _, line in lines
        for each in line.fixtures
    ]
    return Table(columns, rows)


def _fixture_name(line: FixtureLine | PointFixture, called: dict[str, str]) -> str:
    of_type = NOTHING if isinstance(line.type, UnsetType) else called[line.type]
    name = line.name if isinstance(line.name, str) else of_type
    return name if isinstance(line.id, UnsetType) else f"{name} ({line.id})"


def _count(line: FixtureLine) -> str:
    count, spacing = given(line.count), given(line.spacing)
    number = plain(1.0 if count is None else count)
    return number if spacing is None else f"{number}, every {laid(spacing)}"


def _nature(line: FixtureLine | PointFixture) -> list[str]:
    joint, made_for = given(line.splice_resistance), given(line.input)
    lead = lead_words(line.lead)
    more = [] if joint is None else [f"splice {as_stated(joint)}"]
    more += [] if made_for is None else [f"made for {made_for}"]
    hung = ", ".join([*([] if lead == NOTHING else [lead]), *more]) or NOTHING
    return [load_words(load_of(line)), window_words(line.window), hung]


def _span_table(wiring: SpansWiring) -> Table:
    columns = [*texts("From", "To"), Column("Length", numbers=True), *texts("Cable", "Tap", "Circuit", "Id")]
    rows = []
    for span in wiring.spans:
        tap = given(span.tap)
        place = [span.start, span.end, as_stated(span.length), cable_words(cable_of(span))]
        rows.append(
            [*place, NOTHING if tap is None else as_stated(tap), either(span.circuit), either(span.id)]
        )
    return Table(columns, rows)


def _point_table(wiring: SpansWiring) -> Table:
    rows, called = [], names_of_types(wiring)
    for line in wiring.fixtures:
        count = given(line.count)
        rows.append([line.point, _fixture_name(line, called), plain(count or 1.0), *_nature(line)])
    return Table(texts("Point", "Fixture", "Count", "Load", "Window", "Lead"), rows)


MARKS = {
    "fault": "■\N{NO-BREAK SPACE}fault",
    "warning": "▲\N{NO-BREAK SPACE}warning",
    "note": "●\N{NO-BREAK SPACE}note",
}
"""A shape and a word, because a printer may have no colour and an eye may not see it."""


_NO_FINDINGS = "Every limit that was looked at is kept."


def findings_section(findings: Sequence[Finding], title: str = "Findings") -> Section:
    """Verdicts, the gravest first, each with its word and its shape."""
    if not findings:
        return Section(title, [Paragraph(_NO_FINDINGS)])
    order = list(MARKS)
    ranked = sorted(findings, key=lambda found: order.index(found.severity) if found.severity in order else 9)
    rows = [
        [
            MARKS.get(found.severity, found.severity),
            found.message,
            NOTHING if isinstance(found.measured, UnsetType) else beside(found.measured, found.limit),
            NOTHING if isinstance(found.limit, UnsetType) else quantity(found.limit),
            found.source,
        ]
        for found in ranked
    ]
    columns = [
        Column("Severity", short=True),
        Column("What and what to do"),
        Column("Measured", numbers=True),
        Column("Limit", numbers=True),
        Column("Source"),
    ]
    faults = frozenset(place for place, found in enumerate(ranked) if found.severity == "fault")
    return Section(title, [Table(columns, rows, faults)])


def told_findings(findings: Sequence[Finding]) -> Facts:
    """Verdicts in words alone, for who has no use for a code."""
    return Facts([(MARKS.get(found.severity, found.severity), found.message) for found in findings])


def caution_facts(cautions: Iterable[Caution | str]) -> Facts:
    """What can hurt, each with its sign."""
    return Facts([("▲", each if isinstance(each, str) else each.message) for each in cautions])


VERDICTS: Final = {
    "passes": ("This plan passes.", "Passes."),
    "passes-with-warnings": ("This plan passes, with warnings.", "Passes with warnings."),
    "fails": ("This plan does not pass. Do not build it.", "Does not pass."),
}
"""What is said of a plan in large letters, and how the answer in short begins that says the same."""


def without_members(text: str) -> str:
    """A text without the sentences that name a member or a study, which only a program can ask for."""
    sentences = re.split(r"(?<=[.!?]) +(?=[A-Z])", text)
    return " ".join(each for each in sentences if not re.search(r"`[a-z_.-]+`", each))


def verdict_blocks(summary: Summary, longest: int = 2_000) -> list[Block]:
    """Whether a job passes, in one sentence that everybody reads, and in a few more why."""
    verdict = given(summary.verdict)
    told = [] if verdict is None else [Headline(VERDICTS[verdict][0], grave=verdict == "fails")]
    said = next((said for _, said in VERDICTS.values() if summary.text.startswith(said)), "")
    text = clipped(without_members(summary.text.removeprefix(said).lstrip()), longest)
    return [*told, *([Paragraph(text)] if text else [])]


def summary_section(summary: Summary) -> Section:
    """The answer in short, at the head of every sheet."""
    facts = list(_summary_facts(summary)) if isinstance(summary, LoadSummary) else []
    return Section("In short", [Paragraph(summary.text), Facts(facts)])


def _summary_facts(summary: LoadSummary) -> Iterator[tuple[str, str]]:
    for title, lamp in (("Lowest lamp", given(summary.weakest)), ("Highest lamp", given(summary.highest))):
        if lamp is not None:
            where = "" if isinstance(lamp.corner, UnsetType) else f" ({corner_words(lamp.corner)})"
            yield title, f"{quantity(lamp.voltage)}, {lamp.name}{where}"
    if (supply := given(summary.supply)) is not None:
        spare = _spare(supply.spare, "to spare", "too much")
        yield "Load of the supply", f"{percent(supply.loading_ratio)}, {spare}"
    if (circuit := given(summary.circuit)) is not None:
        load = f"{quantity(circuit.current)} of {quantity(circuit.limit)}, {percent(circuit.loading_ratio)}"
        most = percent(tables.constant("continuous_load_ratio").value)
        yield f"Fullest circuit ({circuit.name})", f"{load}; {_spare(circuit.spare, 'up to', 'over')} {most}"


def _spare(spare: ShownValue, left: str, lacking: str) -> str:
    """What is left up to a limit, or by how much it is passed."""
    lacks = spare.value < 0.0
    return f"{figure(spare).removeprefix('-')} {spare.unit} {lacking if lacks else left}"


def closing_sections(reply: Answer) -> list[Section]:
    """Assumptions, cautions, sources, and what names this very answer."""
    return [
        Section("Cautions", [caution_facts(reply.cautions)]),
        Section(
            "Assumptions",
            [Table(texts("Assumption", "Code"), [[each.message, each.code] for each in reply.assumptions])],
        ),
        Section(
            "Sources of the figures",
            [Table(texts("Source", "Named above as"), [[each.message, each.code] for each in reply.sources])],
        ),
        Section("This answer", [Facts([*proof_facts(reply), *_versions(reply)])]),
    ]


def _versions(reply: Answer) -> list[tuple[str, str]]:
    return [
        ("Calculation version", reply.calculation_version),
        ("Tables version", reply.tables_version),
        ("SHA-256 of the request", reply.request_sha256),
    ]


def proof_facts(reply: object) -> list[tuple[str, str]]:
    """Why the numbers may be believed, where a reply says so."""
    solution = getattr(reply, "solution", None)
    if not isinstance(solution, Solution):
        return []
    residual = f"{as_stated(solution.residual)} left over after {solution.iterations} iterations"
    return [("Solved by", solution.method), ("Kirchhoff's current law", residual)]


USUAL_LOADING: Final = "At a usual power factor"
"""How the loading is called that lamps of a usual power factor would ask for."""

WINDING_CURRENT: Final = "Current, of what the rating allows"
"""How the share of a transformer's rated current is called."""


def margin_facts(margin: LoadMargin) -> list[tuple[str, str]]:
    """By what common factor the loads could grow."""
    facts = []
    if (least := given(margin.at_least)) is not None:
        facts.append(("No collapse until all loads are", f"{plain(least)} times what they are, at least"))
    if (exact := given(margin.exact)) is not None:
        facts.append(("The voltage collapses where all loads are", f"{searched(exact)} times what they are"))
    if (first := given(margin.first_out_of_window)) is not None:
        lamp = place_words(first.pointer, given(first.number))
        facts.append(("First below its voltage range", f"at {searched(first.factor)} times: {lamp}"))
    if (reason := given(margin.absent_because)) is not None:
        facts.append(("No load margin, because", reason))
    return facts


class Request(Protocol):
    """What the head of a sheet is made from."""

    @property
    def id(self) -> str | UnsetType:
        """The caller's own id."""
        ...

    @property
    def sheet(self) -> SheetWords | UnsetType:
        """What the caller wants on the sheet."""
        ...


def head(request: Request, study: str, length_unit: str, sections: Sequence[Section]) -> Sheet:
    """A sheet with the head that the request asks for.

    Parameters
    ----------
    request : Request
    study : str
        What the study is called; the title where the request gives none.
    length_unit : str
        Of the reply: feet are read on letter paper, metres on A4.
    sections : sequence of Section
        In their order.
    """
    words = given(request.sheet)
    title = None if words is None else given(words.title)
    lines = [] if words is None else given(words.lines) or []
    paper: Paper | None = None if words is None else given(words.paper)
    usual: Paper = "letter" if length_unit == "ft" else "a4"
    own_id = given(request.id)
    return Sheet(
        title=study if title is None else title,
        study=_under(study, title, own_id),
        lines=lines,
        paper=usual if paper is None else paper,
        sections=sections,
    )


def _under(study: str, title: str | None, own_id: str | None) -> str:
    """What stands under a title, which names the study where the request gives none."""
    job = "" if own_id is None else f"job {own_id}"
    return " · ".join(filter(None, ["" if title is None else study, job]))


def cable_words(cable: Cable) -> str:
    """A cable by what it is made of."""
    conductor = conductor_words(cable)
    if not isinstance(cable.other_conductor, UnsetType):
        conductor = f"{conductor} and {conductor_words(cable.other_conductor)}"
    side_by_side = given(cable.cables_in_parallel)
    return conductor if side_by_side is None else f"{plain(side_by_side)} x {conductor}"


def conductor_words(conductor: Cable | Conductor) -> str:
    """One conductor; what the request leaves open is among the assumptions."""
    material = given(conductor.material)
    if isinstance(conductor, ListedCable | ListedConductor):
        parts = [conductor.conductor, material, given(conductor.stranding)]
    else:
        measured = f"{as_stated(conductor.resistance)} a conductor at {temperature(conductor.at_temperature)}"
        parts = [measured, material]
    return ", ".join(part for part in parts if part)


def load_words(load: FixtureLoad) -> str:
    """How a fixture draws."""
    if isinstance(load, ConstantPower):
        return ", ".join(_constant_power(load))
    if isinstance(load, ConstantCurrent):
        factor = given(load.power_factor)
        return f"{as_stated(load.current)} at any voltage" + (
            f", power factor {plain(factor)}" if factor else ""
        )
    if isinstance(load, ConstantResistance | Filament):
        kind = "filament" if isinstance(load, Filament) else "resistor"
        return f"{kind}, {as_stated(load.power)} at {as_stated(load.rated_voltage)}"
    if isinstance(load, Strip):
        own = given(load.resistance_per_length)
        rails = "" if own is None else f", {as_stated(own)} both rails"
        return f"strip of {as_stated(load.length)}, {as_stated(load.power_per_length)}{rails}"
    return (
        f"at {as_stated(load.rated_voltage)}: {as_stated(load.constant_power_part)} constant power,"
        f" {as_stated(load.constant_current_part)} constant current,"
        f" {as_stated(load.constant_resistance_part)} resistance"
    )


def _constant_power(load: ConstantPower) -> Iterator[str]:
    yield as_stated(load.power)
    if (factor := given(load.power_factor)) is not None:
        yield f"power factor {plain(factor)}"
    if (apparent := given(load.apparent_power)) is not None:
        yield as_stated(apparent)


def window_words(window: Window | UnsetType) -> str:
    """Between which volts a fixture is made to work."""
    stated = given(window)
    if stated is None:
        return "usual"
    return f"{plain(stated.minimum.value)} to {plain(stated.maximum.value)} V"


def lead_words(lead: Lead | UnsetType) -> str:
    """The pigtail of a fixture."""
    stated = given(lead)
    return NOTHING if stated is None else f"{as_stated(stated.length)} {cable_words(stated.cable)}"


def supply_facts(supply: Supply) -> list[tuple[str, str]]:
    """What feeds the wiring."""
    if isinstance(supply, DcSupply):
        facts = [("Supply", "DC supply"), ("Output", as_stated(supply.output))]
        if (rating := given(supply.rating)) is not None:
            facts.append(("Rating", as_stated(rating)))
        if (least := given(supply.minimum_load)) is not None:
            facts.append(("Least load", as_stated(least)))
        return [*facts, *_inner(supply), *_further(supply)]
    if isinstance(supply, Battery):
        range_v = (
            f"{plain(supply.lowest.value)}, {plain(supply.nominal.value)}, {plain(supply.highest.value)} V"
        )
        facts = [("Supply", "battery"), ("Lowest, nominal, highest", range_v)]
        return [*facts, *_inner(supply), *_further(supply)]
    return [("Supply", "transformer"), *_transformer_facts(supply), *_further(supply)]


def supply_words(supply: Supply) -> str:
    """What feeds the wiring, in a few words."""
    if isinstance(supply, Battery):
        return f"Battery, {as_stated(supply.nominal)}"
    if isinstance(supply, DcSupply):
        rating = given(supply.rating)
        stated = [] if rating is None else [as_stated(rating)]
        return ", ".join(["DC supply", *stated, as_stated(supply.output)])
    winding = given(supply.winding)
    stated = [] if winding is None else [as_stated(winding.rating)]
    return ", ".join(["Transformer", *stated, as_stated(supply.secondary)])


def _transformer_facts(supply: Transformer) -> Iterator[tuple[str, str]]:
    yield "Secondary at rated load and mains", as_stated(supply.secondary)
    if (winding := given(supply.winding)) is not None:
        yield "Rating", as_stated(winding.rating)
        yield "Regulation", f"{plain(winding.regulation_percent)} %"
    if (primary := given(supply.primary)) is not None:
        yield "Mains, rated and actual", f"{as_stated(primary.rated)}, {as_stated(primary.actual)}"
    if (measured := given(supply.open_circuit)) is not None:
        at_primary = given(measured.at_primary)
        mains = "" if at_primary is None else f" at {as_stated(at_primary)} mains"
        yield "Measured open circuit", as_stated(measured.voltage) + mains
    if (taps := given(supply.taps)) is not None:
        yield "Taps offered", ", ".join(plain(tap.value) for tap in taps) + " V"
    if (least := given(supply.minimum_load)) is not None:
        yield "Least load", as_stated(least)


def _inner(supply: DcSupply | Battery) -> Iterator[tuple[str, str]]:
    if (inner := given(supply.internal_resistance)) is not None:
        yield "Internal resistance", as_stated(inner)


def _further(supply: Supply) -> Iterator[tuple[str, str]]:
    if (circuits := given(supply.circuits)) is not None:
        yield "Circuits", circuit_words(circuits)
    if (longest := given(supply.maximum_cable_length)) is not None:
        yield "Longest cable allowed", as_stated(longest)
    if not isinstance(supply, Battery) and given(supply.class_2) is not None:
        yield "Class 2 source", "yes" if supply.class_2 else "no"


def circuit_words(circuits: list[Circuit]) -> str:
    """Circuits with their devices."""
    parts = []
    for circuit in circuits:
        limit = given(circuit.limit)
        listed = ", listed system" if given(circuit.listed_system) else ""
        device = "device not stated" if limit is None else as_stated(limit)
        parts.append(f"{circuit.name} ({device}{listed})")
    return ", ".join(parts)


def envelope_section(envelope: Envelope | None) -> list[Section]:
    """The lowest and the highest of every quantity, and the corner that gives it."""
    if envelope is None:
        return []
    supply = given(envelope.supply)
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
            "Lowest and highest over the range judged",
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
    """A corner in words; what stands as it was stated is not told."""
    alone, battery = given(corner.alone), given(corner.battery)
    words = []
    if battery is not None:
        words.append(f"battery {battery}")
    elif corner.mains != STATED:
        words.append(f"mains {corner.mains}")
    if corner.conductor_temperature != STATED:
        words.append(f"conductors {corner.conductor_temperature}")
    if alone is not None:
        words.append(f"alone on: {given(alone.id) or place_words(alone.pointer, given(alone.number))}")
    return ", ".join(words) or STATED


STATED: Final = "as stated"
"""What a corner says of mains and of conductors that it leaves as they are."""


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
    """By how much lamps in place of a continuous load may be wrong."""
    for name, end in ends:
        bound = given(end.error_bound) if isinstance(end, CarriedEnd) else None
        if bound is not None:
            most = figure(bound, 1)
            yield Paragraph(
                f"End voltage, {name}: an even load is computed as lamps, within {most} {bound.unit}."
            )


def end_cells(end: EndState) -> list[str]:
    """Verdict and numbers of the end of a run."""
    if not isinstance(end, CarriedEnd):
        return ["collapsed", *[NOTHING] * 6]
    return [
        end.verdict,
        figure(end.end_voltage, TOWARDS_FAILING.get(end.verdict, 0)),
        figure(end.terminal_voltage),
        figure(end.cable_drop),
        per_cent(end.drop_percent),
        figure(end.current),
        figure(end.cable_loss),
    ]
