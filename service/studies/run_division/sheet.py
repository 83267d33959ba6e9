"""The sheet of a division into runs."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import UnsetType

from service.sheets.figures import NOTHING, as_stated, either, given, optional, plain, quantity
from service.sheets.sections import (
    closing_sections,
    condition_facts,
    findings_section,
    head,
    limit_facts,
    summary_section,
    supply_facts,
    wiring_blocks,
)
from service.sheets.sheet import Column, Facts, Paragraph, Section, Sheet, Table, filled, numbers, texts
from service.studies.gauge_recommendation.sheet import (
    chosen_table,
    cut_list_sections,
    outcome_facts,
    priced,
    purchase_table,
    remedy_sections,
    stock_table,
)
from service.studies.run_division.reply import (
    ComparedPlan,
    Divided,
    DividedRunRow,
    DividedZone,
    RunDivisionReply,
    RunFixtures,
)
from service.studies.run_division.request import FixtureZone, RunDivisionRequest

STUDY = "Division into runs"


NONE_FOUND = (
    "No division was found that passes. The one below has the least drop of those that were looked at."
)


def run_division_sheet(request: RunDivisionRequest, reply: RunDivisionReply) -> Sheet:
    """Which fixtures on which run, their cable, and what else was tried."""
    currency = given(reply.currency)
    unit = reply.zones[0].runs[0].cable.unit
    answer = _divided(reply, currency) if isinstance(reply, Divided) else [Paragraph(NONE_FOUND)]
    sections = [
        summary_section(reply.summary),
        Section("Runs", [*answer, _runs(reply.zones, unit, _names(request))]),
        *([findings_section(reply.findings)] if reply.findings or isinstance(reply, Divided) else []),
        *(
            _bought(reply, currency)
            if isinstance(reply, Divided)
            else remedy_sections(reply.remedies, currency)
        ),
        Section("Tried, each zone alone", [_compared(reply.compared, request.zones, unit, currency)]),
        Section("The wiring", wiring_blocks(reply.wiring)),
        Section("What was asked", [Facts(list(_asked(request, reply))), _zones(request.zones)]),
        Section("Stock to choose from", [stock_table(given(request.stock) or [], currency)]),
        *closing_sections(reply),
    ]
    return head(request, STUDY, unit, filled(sections))


def _divided(reply: Divided, currency: str | None) -> list[Facts]:
    """What it costs and does."""
    facts = list(outcome_facts(reply.outcome))
    for name, amount in (("Cable", reply.total), ("No cable costs less than", reply.least_possible_total)):
        if (told := given(amount)) is not None:
            facts.append((priced(name, currency), told))
    if (metal := given(reply.least_possible_metal)) is not None:
        facts.append(("No cable takes less metal than", f"{plain(metal.value)} {metal.unit}"))
    return [Facts(facts)]


def _runs(zones: list[DividedZone], unit: str, named: dict[str, str]) -> Table:
    rows = [_run(zone, run, named) for zone in zones for run in zone.runs]
    columns = [
        *texts("Zone", "Run", "Form", "Fixtures"),
        *numbers("Load [VA]", f"Cable [{unit}]", "Tap [V]"),
        *texts("Circuit", "Hub"),
    ]
    return Table(columns, rows)


def _run(zone: DividedZone, run: DividedRunRow, named: dict[str, str]) -> list[str]:
    hub = given(run.hub)
    legs = NOTHING
    if hub is not None:
        legs = f"{quantity(hub.along)} along the route, {hub.legs} legs of {quantity(hub.leg)}"
    return [
        zone.name,
        run.name,
        run.form,
        "; ".join(_fixtures(row, named) for row in run.fixtures),
        plain(run.load.value),
        plain(run.cable.value),
        optional(run.tap),
        either(run.circuit),
        legs,
    ]


def _fixtures(row: RunFixtures, named: dict[str, str]) -> str:
    numbers_told = str(row.first) if row.first == row.last else f"{row.first} to {row.last}"
    return f"{named[row.pointer]} {numbers_told}"


def _names(request: RunDivisionRequest) -> dict[str, str]:
    """What each line of fixtures is called, by its pointer: its name, that of its type, or its place."""
    types = given(request.fixture_types) or []
    of_type = {each.id: each.id if isinstance(each.name, UnsetType) else each.name for each in types}
    named = {}
    for index, zone in enumerate(request.zones):
        for place, line in enumerate(zone.fixtures):
            called = of_type.get(given(line.type) or "", f"fixtures {place + 1}, number")
            named[f"/zones/{index}/fixtures/{place}"] = given(line.name) or called
    return named


def _bought(reply: Divided, currency: str | None) -> list[Section]:
    return [
        Section("Cable by cable", [chosen_table(reply.chosen)]),
        Section("To buy", [purchase_table(reply.purchase, given(reply.total), currency)]),
        *cut_list_sections(reply.purchase),
    ]


def _compared(rows: list[ComparedPlan], zones: list[FixtureZone], unit: str, currency: str | None) -> Table:
    columns = [
        *texts("Zone", "Hubs"),
        *numbers("Runs", "Fullest run [VA]", f"Cable [{unit}]"),
        *texts("By itself", "Chosen"),
        *numbers(priced("Price", currency), "Metal [mm2.m]"),
    ]
    table = [
        [
            zones[int(row.pointer.rpartition("/")[2])].name,
            "yes" if row.hubs else "no",
            str(row.runs),
            plain(row.largest_load.value),
            plain(row.cable.value),
            row.outcome,
            "yes" if row.taken else "no",
            either(given(row.price)),
            optional(row.metal),
        ]
        for row in rows
    ]
    taken = frozenset(place for place, row in enumerate(rows) if row.taken)
    return Table(columns, table, taken)


def _asked(request: RunDivisionRequest, reply: RunDivisionReply) -> Iterator[tuple[str, str]]:
    yield from supply_facts(request.supply)
    yield from condition_facts(reply.judged_conditions)
    yield from limit_facts(request.nominal_voltage, request.limits)
    if (runs := given(request.runs_at_most)) is not None:
        yield "Runs of a zone, at most", plain(runs)
    if (hubs := given(request.hubs)) is not None:
        yield "Hubs", "allowed" if hubs else "not allowed"
    if (family := given(request.family)) is not None:
        yield "Sizes", family
    if (cutting := given(request.cutting)) is not None:
        yield "Joints in cable", cutting.joints


def _zones(zones: list[FixtureZone]) -> Table:
    rows = [
        [
            zone.name,
            either(zone.id),
            as_stated(zone.distance),
            NOTHING if (arrives := given(zone.arrives_at)) is None else as_stated(arrives),
        ]
        for zone in zones
    ]
    columns = [Column("Zone"), Column("Id"), *numbers("Cable to its route", "It meets the route at")]
    return Table(columns, rows)
