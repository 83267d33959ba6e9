"""The sheet of a layout: the plan, the runs, what it costs and what is bought."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from msgspec import UnsetType

from service.sheets.figures import NOTHING, as_stated, either, figure, given, optional, plain, quantity
from service.sheets.sections import (
    closing_sections,
    condition_facts,
    findings_section,
    head,
    limit_facts,
    load_words,
    summary_section,
    window_words,
)
from service.sheets.sheet import Facts, Section, Sheet, Table, filled, numbers, texts
from service.studies.gauge_recommendation.sheet import (
    cut_list_sections,
    priced,
    purchase_table,
    stock_table,
)
from service.studies.least_cost_layout.composing import length_unit_of
from service.studies.least_cost_layout.drawing import numbers_in_words, plan_figure
from service.studies.least_cost_layout.plan import NOT_APPROVED, number_of
from service.studies.least_cost_layout.reply import (
    CostBound,
    CostGap,
    JointCount,
    LaidOut,
    LaidRun,
    LaidSupply,
    LaidTrench,
    LayoutHelp,
    LeastCostLayoutReply,
    NoLayoutFound,
    NoLayoutPasses,
)
from service.studies.least_cost_layout.request import (
    GeographicPlaces,
    LeastCostLayoutRequest,
    LocalPlaces,
)
from service.wire.quantities import Length
from service.wire.stock import StockTransformer
from service.wire.supply import Primary

STUDY: Final = "Least-cost layout"


def layout_sheet(request: LeastCostLayoutRequest, reply: LeastCostLayoutReply) -> Sheet:
    """What lies where, what it costs, and what was asked."""
    currency, unit = given(reply.currency), length_unit_of(request)
    names = _names(request)
    sections = [
        summary_section(reply.summary),
        Section("Plan", [plan_figure(request, reply, NOT_APPROVED)]),
        *(
            _laid(reply, names, currency, unit)
            if isinstance(reply, LaidOut)
            else _not_laid(reply, names, currency)
        ),
        Section("What was asked", [Facts(list(_asked(request, reply))), *_tables(request, currency)]),
        Section("Cable to choose from", [stock_table(request.stock, currency)]),
        Section("Transformers to choose from", [_transformers(request.transformers, currency)]),
        *closing_sections(reply),
    ]
    return head(request, STUDY, unit, filled(sections))


def _names(request: LeastCostLayoutRequest) -> dict[str, str]:
    """What fixtures and mounting points are called, by their pointers; fixtures with their numbers."""
    fixtures = {
        f"/fixtures/{index}": f"{index + 1} {given(each.name) or each.place}"
        for index, each in enumerate(request.fixtures)
    }
    mounts = {f"/mounting_points/{index}": each.place for index, each in enumerate(request.mounting_points)}
    return fixtures | mounts


def _laid(reply: LaidOut, names: dict[str, str], currency: str | None, unit: str) -> list[Section]:
    layout, costs, total = reply.layout, reply.costs, reply.costs.total
    money = [
        (priced("Transformers", currency), costs.transformers),
        (priced("Mounting points", currency), costs.mounting_points),
        (priced("Cable", currency), costs.cable),
        (priced("Trenches", currency), costs.trenches),
        (priced("Joints", currency), costs.joints),
        (priced("Total", currency), total),
        *_bound(reply.bound, currency),
    ]
    ways = [[each.way, each.outcome, str(each.runs), either(each.total)] for each in reply.compared]
    return [
        Section("Transformers", [_supplies(layout.supplies, names)]),
        Section("Runs", [_runs(layout.supplies, unit), _spans(layout.supplies, unit)]),
        Section("What it costs", [Facts(money)]),
        Section(
            "Usual ways, by the same rules",
            [Table([*texts("Way", "Outcome"), *numbers("Runs", priced("Total", currency))], ways)],
        ),
        Section("Trenches", [trench_table(layout.trenches, unit, currency)]),
        Section("Joints", [joint_table(layout.joints, currency)]),
        Section("To buy", [purchase_table(reply.purchase, costs.cable, currency)]),
        *cut_list_sections(reply.purchase),
        findings_section(reply.findings),
    ]


def trench_table(
    trenches: Sequence[LaidTrench], unit: str, currency: str | None, *, paid: bool = True
) -> Table:
    """Every trench with what lies in it; with its price where that is for the reader."""
    columns = [*texts("From", "To", "Id"), *numbers(f"Length [{unit}]", "Cables")]
    rows = [
        [each.start, each.end, either(each.id), figure(each.length), str(each.cables)] for each in trenches
    ]
    if not paid:
        return Table(columns, rows)
    priced_rows = [[*row, each.price] for row, each in zip(rows, trenches, strict=True)]
    return Table([*columns, *numbers(priced("Price", currency))], priced_rows)


def joint_table(joints: Sequence[JointCount], currency: str | None, *, paid: bool = True) -> Table:
    """How many joints of which kind; with their price where that is for the reader."""
    columns = [*texts("Joint"), *numbers("How many")]
    rows = [[JOINT_WORDS.get(each.kind, each.kind), str(each.count)] for each in joints]
    if not paid:
        return Table(columns, rows)
    priced_rows = [[*row, each.price] for row, each in zip(rows, joints, strict=True)]
    return Table([*columns, *numbers(priced("Price", currency))], priced_rows)


JOINT_WORDS: Final = {
    "fixture": "at a fixture",
    "tee": "where a cable parts",
    "splice": "where a cable changes size",
    "cable-end": "of a run at its transformer",
}
"""Kinds of joints, as they are printed."""


def _bound(bound: CostBound, currency: str | None) -> Iterator[tuple[str, str]]:
    yield priced("No layout that passes costs less than", currency), bound.amount
    shares = bound.shares
    yield priced("Of that for transformers", currency), shares.transformers
    yield priced("Of that for routes", currency), shares.routes
    yield priced("Of that for copper", currency), shares.copper
    yield priced("Of that for joints", currency), shares.joints
    if isinstance(bound, CostGap):
        yield "Dearer than the cheapest by no more than", f"{plain(bound.within_percent)} %"
    yield "Not counted in it", ", ".join(each.replace("-", " ") for each in bound.left_out)


def _not_laid(
    reply: NoLayoutPasses | NoLayoutFound, names: dict[str, str], currency: str | None
) -> list[Section]:
    helps = Section("What would help", [Facts([_help(each) for each in reply.helps])])
    if isinstance(reply, NoLayoutFound):
        bound = Section("What it costs at least", [Facts(list(_bound(reply.bound, currency)))])
        return [helps, bound, *([findings_section(reply.findings)] if reply.findings else [])]
    facts = [("The fixtures draw at least", quantity(reply.connected))]
    if (carried := given(reply.carried)) is not None:
        facts.append(("All transformers that may be mounted carry", quantity(carried)))
    rows = [
        [names[each.pointer], either(each.id), quantity(each.distance), quantity(each.reach)]
        for each in reply.unreached
    ]
    unreached = Table([*texts("Fixture", "Id"), *numbers("By routes", "Reached at best")], rows)
    return [helps, Section("Why none passes", [Facts(facts), unreached])]


def _help(each: LayoutHelp) -> tuple[str, str]:
    return each.code, each.message


def _supplies(supplies: Sequence[LaidSupply], names: dict[str, str]) -> Table:
    columns = [
        *texts("Name", "Transformer", "At"),
        *numbers("Lowest [V]", "Highest [V]", "Of its rating [%]"),
    ]
    rows = [
        [
            each.name,
            each.transformer_id,
            names[each.mounting_point],
            optional(each.lowest),
            optional(each.highest),
            plain(100.0 * each.loading_ratio),
        ]
        for each in supplies
    ]
    return Table(columns, rows)


def _runs(supplies: Sequence[LaidSupply], unit: str) -> Table:
    columns = [
        *texts("Run", "From", "Circuit"),
        *numbers("Tap [V]", "Load [VA]", f"Cable [{unit}]"),
        *texts("Fixtures by number"),
    ]
    rows = [
        [
            run.name,
            supply.name,
            either(run.circuit),
            optional(run.tap),
            figure(run.load),
            figure(run.cable),
            lamp_numbers(run),
        ]
        for supply in supplies
        for run in supply.runs
    ]
    return Table(columns, rows)


def lamp_numbers(run: LaidRun) -> str:
    """The fixtures of a run by their numbers."""
    return numbers_in_words(number_of(each) + 1 for each in run.fixtures)


def _spans(supplies: Sequence[LaidSupply], unit: str) -> Table:
    columns = [*texts("Run", "From", "To", "Cable", "Stock"), *numbers(f"Length [{unit}]")]
    rows = [
        [run.name, span.start, span.end, span.conductor, either(span.stock_id), figure(span.length)]
        for supply in supplies
        for run in supply.runs
        for span in run.spans
    ]
    return Table(columns, rows)


def _asked(request: LeastCostLayoutRequest, reply: LeastCostLayoutReply) -> Iterator[tuple[str, str]]:
    yield from condition_facts(reply.judged_conditions)
    yield from limit_facts(request.nominal_voltage, request.limits)
    if isinstance(request.places, LocalPlaces) and (origin := given(request.places.origin)) is not None:
        yield "Where x and y are zero", f"longitude {origin.longitude!r}°, latitude {origin.latitude!r}°"
    if (branching := given(request.branching)) is not None:
        yield "Runs part", branching
    if (gauges := given(request.gauges)) is not None:
        yield "Sizes", gauges
    if (cutting := given(request.cutting)) is not None:
        yield "Joints in cable", cutting.joints
    if (joints := given(request.joints)) is not None:
        for name in ("fixture", "tee", "splice", "cable_end"):
            if not isinstance(price := getattr(joints, name), UnsetType):
                yield f"Price of a joint, {name.replace('_', ' ')}", price
    if (effort := given(request.effort)) is not None:
        yield "Units of work for the search", plain(effort)


def _tables(request: LeastCostLayoutRequest, currency: str | None) -> list[Table]:
    places = request.places
    if isinstance(places, GeographicPlaces):
        spots = Table(
            [*texts("Place"), *numbers("Longitude [°]", "Latitude [°]")],
            [[each.properties.name, *map(repr, each.geometry.coordinates)] for each in places.features],
        )
    else:
        spots = Table(
            [*texts("Place"), *numbers("x", "y")],
            [[each.name, as_stated(each.x), as_stated(each.y)] for each in places.points],
        )
    routes = Table(
        [*texts("Route from", "To", "Id"), *numbers("Length", priced("Trench", currency))],
        [
            [each.start, each.end, either(each.id), _length(each.length), _trench(each.trench)]
            for each in request.routes
        ],
    )
    types = {each.id: each for each in given(request.fixture_types) or []}
    fixtures = []
    for number, each in enumerate(request.fixtures, start=1):
        kind = types.get(given(each.type) or "")
        own = each.load if kind is None or not isinstance(each.load, UnsetType) else kind.load
        window = each.window if kind is None or not isinstance(each.window, UnsetType) else kind.window
        fixtures.append(
            [
                f"{number} {given(each.name) or each.place}",
                either(each.id),
                either(each.type),
                "" if isinstance(own, UnsetType) else load_words(own),
                window_words(window),
            ]
        )
    mounts = Table(
        [
            *texts("Mounting point", "Id"),
            *numbers("Transformers at most", "Mains rated", "Mains actual", priced("Price", currency)),
        ],
        [
            [
                each.place,
                either(each.id),
                _number(each.transformers_at_most),
                *_mains(each.primary),
                either(each.price),
            ]
            for each in request.mounting_points
        ],
    )
    return [spots, routes, Table(texts("Fixture", "Id", "Type", "It draws", "Window"), fixtures), mounts]


def _length(length: Length | UnsetType) -> str:
    return "straight" if isinstance(length, UnsetType) else as_stated(length)


def _trench(trench: object) -> str:
    amount, per = getattr(trench, "amount", None), getattr(trench, "per", None)
    return "none" if amount is None else f"{amount} per {per}"


def _mains(primary: Primary | UnsetType) -> list[str]:
    if isinstance(primary, UnsetType):
        return [NOTHING, NOTHING]
    return [as_stated(primary.rated), as_stated(primary.actual)]


def _number(number: float | UnsetType) -> str:
    return "1" if isinstance(number, UnsetType) else plain(number)


def _transformers(transformers: Sequence[StockTransformer], currency: str | None) -> Table:
    columns = [
        *texts("Transformer", "Name"),
        *numbers("Rating", "Taps", "Regulation [%]", priced("Price", currency)),
    ]
    rows = [
        [
            each.id,
            either(each.name),
            as_stated(each.rating),
            ", ".join(as_stated(tap) for tap in each.taps),
            "" if isinstance(each.regulation_percent, UnsetType) else plain(each.regulation_percent),
            either(each.price),
        ]
        for each in transformers
    ]
    return Table(columns, rows)
