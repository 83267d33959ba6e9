"""The papers of a layout beside its record: a page for the customer, a list by which it is dug and wired."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Final, NamedTuple

from msgspec import UnsetType
from msgspec.structs import replace

from service.findings.finding import NOTE
from service.findings.summary import TOLD, WITH_WARNINGS
from service.sheets.figures import NOTHING, as_stated, either, figure, given, optional, plain, quantity
from service.sheets.papers import CUSTOMER, INSTALLER, METER, RECORD, asked_papers, in_order, on_one_page
from service.sheets.sections import caution_facts, head, load_words, verdict_blocks
from service.sheets.sheet import (
    Facts,
    Paragraph,
    Section,
    Sheet,
    Table,
    filled,
    numbers,
    texts,
)
from service.studies.commissioning_sheet.sheet import STUDY as STAGES
from service.studies.commissioning_sheet.sheet import meter_sheet
from service.studies.commissioning_sheet.study import commissioning_sheet
from service.studies.commissioning_sheet.translate import as_described
from service.studies.commissioning_sheet.translate import reply_of as stages_reply
from service.studies.gauge_recommendation.sheet import cut_list_sections
from service.studies.least_cost_layout.composing import length_unit_of
from service.studies.least_cost_layout.drawing import HIGHEST, numbers_in_words, plan_figure
from service.studies.least_cost_layout.plan import NOT_APPROVED, PlannedLamp, PlannedSpan, SitePlan, number_of
from service.studies.least_cost_layout.reply import LaidOut, LaidSupply, LeastCostLayoutReply, NoLayoutFound
from service.studies.least_cost_layout.request import LeastCostLayoutRequest
from service.studies.least_cost_layout.sheet import (
    joint_table,
    lamp_numbers,
    layout_sheet,
    trench_table,
)
from service.studies.voltage_drop.papers import BEFORE_SIGNING, JOINTS, NO_SLACK
from service.translate.shared import with_shared
from service.wire.summary import Summary

CUSTOMER_TITLE: Final = "Lighting plan"


INSTALLER_TITLE: Final = "Digging and wiring list"


HEIGHTS: Final = (HIGHEST, 380.0, 340.0, 310.0, 280.0, 250.0, 220.0, 190.0, 160.0, 130.0, 100.0)
"""Of the plan on the customer's page. [pt]"""


BESIDE_CAUTIONS: Final = 290.0
"""Height of a plan that stands on the page with the cautions. [pt]"""


MOST_ROWS: Final = 10
"""Runs told one by one on the customer's page, where there is room."""


SIZES: Final = (*((highest, MOST_ROWS) for highest in HEIGHTS), (HEIGHTS[-1], 3), (0.0, 3), (0.0, 0))
"""How high the plan is and how many runs are told: the first with which all fits. Without a height there is
no plan, which the other papers have."""


MOST_SORTS: Final = 6
"""Sorts of fixtures told one by one on the customer's page."""


LONGEST_TEXT: Final = 600
"""Of the words behind the verdict on the customer's page, in letters."""


WORK_OF_STAGES: Final = 10_000
"""What the stages of the largest site take, twice: 50 fixtures on 17 runs took 4,100."""


NOTHING_PASSES: Final = "No layout is enough for this plan with what is offered."


NOTHING_FOUND: Final = "No layout was found that is enough for this plan; there may be one."


def printed(message: LeastCostLayoutRequest, reply: LeastCostLayoutReply) -> Sheet:
    """The papers that the request asks for; where there is no layout they say so, and nothing is to wire."""
    told = _Told(message, reply)
    return in_order(
        asked_papers(message.sheet),
        {
            CUSTOMER: told.customer,
            INSTALLER: told.installer,
            METER: told.meter,
            RECORD: lambda: layout_sheet(message, reply),
        },
    )


def work_of_papers(message: LeastCostLayoutRequest) -> int:
    """Work of the stages of every transformer, where a paper wants them."""
    return WORK_OF_STAGES if METER in asked_papers(message.sheet) else 0


class _Bought(NamedTuple):
    """One transformer: how its runs are fed, and where it hangs."""

    supply: LaidSupply
    title: str
    words: str


class _Told:
    """What each paper tells of an answer; no code, pointer or price stands on one."""

    def __init__(self, message: LeastCostLayoutRequest, reply: LeastCostLayoutReply) -> None:
        self._message, self._reply = message, reply
        self._unit = length_unit_of(message)
        self._plan = SitePlan(message, reply)
        self._lamps = list(self._plan.lamps())
        self._boxes = [
            _Bought(each, f"Transformer {number}", self._hung(each))
            for number, each in enumerate(self._plan.supplies, start=1)
        ]
        self._summary = self._in_short()

    def _hung(self, supply: LaidSupply) -> str:
        transformer = self._message.transformers[number_of(supply.transformer)]
        mount = self._message.mounting_points[number_of(supply.mounting_point)]
        name = given(transformer.name) or transformer.id
        return f"{name}, {as_stated(transformer.rating)}, at {mount.place}"

    def _in_short(self) -> Summary:
        """The answer in short without what it costs."""
        own = self._reply.summary
        graves = [group.message for group in own.findings if group.severity != NOTE][:TOLD]
        if not isinstance(self._reply, LaidOut):
            said = NOTHING_FOUND if isinstance(self._reply, NoLayoutFound) else NOTHING_PASSES
            return replace(own, text=" ".join([said, *graves]))
        lowest = min((each.lowest for each in self._plan.supplies), key=lambda each: each.value)
        highest = max((each.highest for each in self._plan.supplies), key=lambda each: each.value)
        range_v = f"{figure(lowest)} to {quantity(highest)}"
        text = (
            f"{len(self._lamps)} fixtures on {len(self._plan.runs)} runs. Over all that was judged they get"
            f" {range_v}."
        )
        return replace(own, text=" ".join([text, *graves]))

    def customer(self) -> Sheet:
        """One page: the verdict, the plan, what was chosen, what can hurt."""
        return on_one_page(self._page(*size) for size in SIZES)

    def _page(self, highest: float, rows: int) -> Sheet:
        summary = self._summary
        warned = given(summary.verdict) == WITH_WARNINGS
        runs = [self._run_table(rows)] if rows else []
        sections = [
            Section(
                "",
                [
                    *verdict_blocks(summary, LONGEST_TEXT),
                    *([Paragraph(BEFORE_SIGNING)] if warned else []),
                ],
            ),
            Section("", [plan_figure(self._message, self._reply, NOT_APPROVED, highest)] if highest else []),
            *([Section("What was chosen", [self._chosen(), *runs])] if self._boxes else []),
            Section("Cautions", [caution_facts(self._reply.cautions)]),
        ]
        sheet = head(self._message, CUSTOMER_TITLE, self._unit, filled(sections))
        return sheet._replace(study="" if sheet.title == CUSTOMER_TITLE else CUSTOMER_TITLE)

    def _chosen(self) -> Facts:
        lengths = ", ".join(
            f"{plain(round(length, 1))} {self._unit} of {cable}" for cable, length in self._lengths().items()
        )
        dug = sum(each.length.value for each in self._plan.trenches.values())
        return Facts(
            [
                *((box.title, box.words) for box in self._boxes),
                ("Fixtures", self._kinds(self._lamps)),
                ("Cable", lengths),
                ("Trenches", f"{plain(round(dug, 1))} {self._unit}"),
            ]
        )

    def _lengths(self) -> dict[str, float]:
        """How much there is of each cable, in the unit of the reply."""
        total: dict[str, float] = {}
        for span in self._plan.spans:
            total[span.row.conductor] = total.get(span.row.conductor, 0.0) + span.row.length.value
        return total

    def _kinds(self, lamps: list[PlannedLamp]) -> str:
        """How many fixtures of which type, or by which names; of too many sorts only how many."""
        fixtures = self._message.fixtures
        counted = Counter(given(fixtures[lamp.number - 1].type) or lamp.name for lamp in lamps)
        told = ", ".join(f"{count} × {name}" for name, count in counted.items())
        return told if len(counted) <= MOST_SORTS else str(len(lamps))

    def _run_table(self, most: int) -> Table:
        runs = self._plan.runs
        shown = runs if len(runs) <= most else runs[: most - 1]
        rows = []
        for run in shown:
            cables = dict.fromkeys(span.conductor for span in run.spans)
            rows.append([run.name, lamp_numbers(run), ", ".join(cables), plain(round(run.cable.value, 1))])
        if others := runs[len(shown) :]:
            cables = dict.fromkeys(span.conductor for run in others for span in run.spans)
            length = sum(run.cable.value for run in others)
            fixtures = numbers_in_words(number_of(each) + 1 for run in others for each in run.fixtures)
            rows.append([f"{len(others)} more", fixtures, ", ".join(cables), plain(round(length, 1))])
        columns = [*texts("Run", "Fixtures by number", "Cable"), *numbers(f"Length [{self._unit}]")]
        return Table(columns, rows)

    def installer(self) -> Sheet:
        """Where to dig, every piece of cable with what it is wired to, the plan, the fixtures by number."""
        cautions = [*(each.message for each in self._reply.cautions), *JOINTS, NO_SLACK, NOT_APPROVED]
        sections = [
            Section("", verdict_blocks(self._summary)),
            Section("Before you begin", [caution_facts(cautions)]),
            Section("Plan", [plan_figure(self._message, self._reply, "", BESIDE_CAUTIONS)]),
            *(self._to_wire(self._reply) if isinstance(self._reply, LaidOut) else []),
        ]
        return head(self._message, INSTALLER_TITLE, self._unit, filled(sections))

    def _to_wire(self, reply: LaidOut) -> Iterator[Section]:
        trenches, joints = reply.layout.trenches, reply.layout.joints
        yield Section("Trenches", [trench_table(trenches, self._unit, None, paid=False)])
        for box in self._boxes:
            yield Section(f"{box.title}: {box.words}", [self._fed(box.supply)])
        totals = [
            (cable, f"{plain(round(length, 2))} {self._unit}") for cable, length in self._lengths().items()
        ]
        yield Section("Cable, piece by piece", [self._pieces(), Paragraph("Together:"), Facts(totals)])
        yield from cut_list_sections(reply.purchase)
        yield Section("Joints", [joint_table(joints, None, paid=False)])
        yield Section("Fixtures by number", [self._numbered()])

    def _fed(self, supply: LaidSupply) -> Table:
        """How each run leaves its transformer."""
        rows = [
            [run.name, optional(run.tap), either(run.circuit), figure(run.load), lamp_numbers(run)]
            for run in supply.runs
        ]
        columns = [*texts("Run"), *numbers("Tap [V]"), *texts("Circuit"), *numbers("Load [VA]")]
        return Table([*columns, *texts("Fixtures by number")], rows)

    def _pieces(self) -> Table:
        ending: dict[tuple[str, int], list[int]] = {}
        for lamp in self._lamps:
            if lamp.run is not None:
                ending.setdefault((lamp.run.name, lamp.place), []).append(lamp.number)
        rows = [
            [str(number), *self._piece(span), numbers_in_words(self._lit(span, ending)) or NOTHING]
            for number, span in enumerate(self._plan.spans, start=1)
        ]
        columns = [*numbers("No."), *texts("Run", "From → to", "By way of", "Cable")]
        return Table([*columns, *numbers(f"Cut [{self._unit}]"), *texts("Fixture at its end")], rows)

    @staticmethod
    def _lit(span: PlannedSpan, ending: dict[tuple[str, int], list[int]]) -> list[int]:
        """The fixtures at the end of a span, each told once."""
        return ending.pop((span.run.name, span.places[-1]), [])

    def _piece(self, span: PlannedSpan) -> list[str]:
        names = self._plan.names
        row = span.row
        named = " ".join(dict.fromkeys([row.conductor, given(row.stock_id) or row.conductor]))
        between = ", ".join(names[place] for place in span.places[1:-1])
        start = names[span.places[0]]
        return [
            span.run.name,
            f"{start} → {names[span.places[-1]]}",
            between or NOTHING,
            named,
            figure(row.length),
        ]

    def _numbered(self) -> Table:
        types = {each.id: each for each in given(self._message.fixture_types) or ()}
        rows = []
        for lamp in self._lamps:
            own = self._message.fixtures[lamp.number - 1]
            kind = types.get(given(own.type) or "")
            load = own.load if kind is None or not isinstance(own.load, UnsetType) else kind.load
            rows.append(
                [
                    str(lamp.number),
                    lamp.name,
                    self._plan.names[lamp.place],
                    NOTHING if lamp.run is None else lamp.run.name,
                    NOTHING if isinstance(load, UnsetType) else load_words(load),
                ]
            )
        return Table([*numbers("No."), *texts("Fixture", "At", "Run", "It draws")], rows)

    def meter(self) -> Sheet:
        """What a meter should show at each transformer, one behind the other."""
        made = [self._stages(box) for box in self._boxes]
        if not made:
            sections = [Section("", verdict_blocks(self._summary))]
            return head(self._message, STAGES, self._unit, filled(sections))
        first, *further = made
        return first._replace(further=further)

    def _stages(self, box: _Bought) -> Sheet:
        body = with_shared(box.supply.request)
        answer = commissioning_sheet(as_described(body))
        stages = stages_reply(body, answer, self._reply.request_sha256)
        sheet = meter_sheet(self._message, stages, self._unit, self._summary, self._numbers(box.supply))
        return sheet._replace(lines=[f"{box.title}: {box.words}", *sheet.lines])

    def _numbers(self, supply: LaidSupply) -> dict[tuple[str, int], str]:
        """Numbers of the plan by the pointers of fixtures in a body, which has them in the same order."""
        fed = sorted(number_of(each) for run in supply.runs for each in run.fixtures)
        return {(f"/wiring/fixtures/{place}", 1): str(lamp + 1) for place, lamp in enumerate(fed)}
