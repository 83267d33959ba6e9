"""The papers of one job beside its record: a page for the customer, a list for the installer."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import groupby
from operator import itemgetter
from typing import Final, NamedTuple, Protocol

from service.findings.summary import WITH_WARNINGS
from service.sheets.figures import NOTHING, figure, given, plain
from service.sheets.papers import on_one_page
from service.sheets.sections import caution_facts, head, supply_words, verdict_blocks
from service.sheets.sheet import (
    Column,
    Facts,
    Figure,
    Paragraph,
    Section,
    Sheet,
    Table,
    filled,
    numbers,
    texts,
)
from service.studies.voltage_drop.drawing import BROAD, SLIM, lamp_volts, overview, plan_figures
from service.studies.voltage_drop.network import (
    Fed,
    Leg,
    Numbers,
    Trail,
    drawn_network_of,
    fed_from,
    fixtures_at,
    lamp_numbers,
    least_voltage,
    number_words,
    trails_of,
)
from service.studies.voltage_drop.reply import FixtureRow, Solved, SpanRow, VoltageDropReply
from service.translate.job import length_unit
from service.translate.naming import lamp_name
from service.wire.job import JobRequest
from service.wire.quantities import ShownVoltage
from service.wire.reply import Caution, FixtureEnvelope
from service.wire.summary import LoadSummary
from service.wire.wiring import TotalsWiring

CUSTOMER_TITLE, INSTALLER_TITLE = "Lighting plan", "Wiring list"


Called = Callable[[SpanRow], str]
"""What the cable of a span is called where it is bought."""


ALL_TOGETHER = "all together at the far end"
"""In place of a count, where only totals are known."""


MOST_ROWS = ((10, 12), (8, 10), (6, 8), (4, 6), (2, 3), (0, 3), (0, 0))
"""Lines of cable in the picture and in the table of the customer's page: the first that fits is taken."""


LONGEST_TEXT = 500
"""What is left of the words behind the verdict where else the page is not enough, in letters."""


MOST_TEXT = 1_200
"""The longest words behind the verdict otherwise, in letters."""


JOINTS = (
    "Tighten every terminal to the torque that its maker states, and pull on each conductor afterwards.",
    "Join cable only with connectors that are made for its size and its metal, and for wet ground.",
)
"""For whoever wires it: common practice, no published source."""


NO_SLACK: Final = "Cut lengths are those of the plan: add what is needed for slack and for making up ends."
"""For whoever cuts what was planned without slack: common practice, no published source."""


class Conclusion(Protocol):
    """What every answer about a job says."""

    @property
    def summary(self) -> LoadSummary:
        """Whether it passes."""
        ...

    @property
    def cautions(self) -> list[Caution]:
        """What can hurt."""
        ...


def wired_of(request: JobRequest, reply: VoltageDropReply, called: Called | None = None) -> WiredRun | None:
    """How a job is wired; None where there is no operating point, or no cable."""
    if not isinstance(reply, Solved) or not reply.spans:
        return None
    return WiredRun(request, reply, by_size if called is None else called)


def by_size(row: SpanRow) -> str:
    """A cable by the size of its conductors."""
    return given(row.conductor) or NOTHING


class CablePiece(NamedTuple):
    """Cable that lies in one piece: a run as far as it has one cable, a return leg, a span of a graph."""

    run: str
    start: str
    end: str
    cable: str
    length: float
    fed: Fed
    lamps: list[Numbers]


class LampLead(NamedTuple):
    """What joins one lamp to the cable: its conductor, and how long it is in the unit of the reply."""

    cable: str
    length: float


class WiredRun:
    """A solved job as it is wired: its pieces of cable, and its lamps by number.

    Parameters
    ----------
    request : JobRequest
    reply : Solved
    called : callable
    """

    def __init__(self, request: JobRequest, reply: Solved, called: Called) -> None:
        self.reply = reply
        self._request, self._called = request, called
        self.network = drawn_network_of(request, reply)
        self.trails = trails_of(self.network)
        self.numbers = lamp_numbers(self.network, self.trails, reply.fixtures)
        self.at = fixtures_at(self.network)
        self.unit = reply.spans[0].length.unit if reply.spans else "m"
        envelope = given(reply.envelope)
        rows = [] if envelope is None else envelope.fixtures
        self.judged = {(row.pointer, given(row.number) or 1): row for row in rows} or None
        """Each lamp over all that was judged, by its pointer and its number; None where that is one state."""

    def pieces(self) -> list[CablePiece]:
        """Every piece of cable once, in the order in which they lie."""
        network = self.network
        legs = [(index, leg) for index, leg in enumerate(network.legs) if leg.cable]
        stretches: list[list[tuple[int, Leg]]] = []
        for index, leg in legs:
            before = stretches[-1][-1][1] if stretches else None
            if before is not None and _goes_on(before, leg):
                stretches[-1].append((index, leg))
            else:
                stretches.append([(index, leg)])
        return [self._piece(stretch) for stretch in stretches]

    def _piece(self, stretch: list[tuple[int, Leg]]) -> CablePiece:
        first, last = stretch[0][1], stretch[-1][1]
        network, own = self.network, {index for index, _ in stretch}
        reached = [point for point, index in enumerate(network.into) if index in own]
        begins = [0] if first.start == 0 and first is network.legs[0] else []
        lamps = [self.numbers[place] for point in [*begins, *reached] for place in self.at.get(point, ())]
        back = " return leg" if (given(first.row.pointer) or "").endswith("/return_leg") else ""
        return CablePiece(
            f"{first.run}{back}",
            network.names[first.start],
            network.names[last.end],
            self._called(first.row),
            sum(leg.row.length.value for _, leg in stretch),
            self._fed(first),
            lamps,
        )

    def _fed(self, leg: Leg) -> Fed:
        """The terminal that feeds a piece: its own where it leaves the supply, else that of its beginning."""
        if leg.start == 0:
            return fed_from(self._request, self.reply, given(leg.row.pointer) or "")
        return self.network.fed_at(leg.start)

    def rows_of(self, trail: Trail) -> list[FixtureRow]:
        """The fixtures along one line of cable; those at the supply itself stand on the first."""
        points = trail.points if trail is self.trails[0] else trail.points[1:]
        return [self.reply.fixtures[place] for point in points for place in self.at.get(point, ())]

    def lamp_words(self, rows: Sequence[FixtureRow]) -> str:
        """How many of which lamps."""
        if isinstance(self._request.wiring, TotalsWiring):
            return ALL_TOGETHER
        counted: Counter[str] = Counter()
        for row in rows:
            counted[lamp_name(self._request.wiring, row.pointer)] += given(row.count) or 1
        return ", ".join(f"{count} × {name}" for name, count in counted.items()) or NOTHING

    def legs_of(self, trail: Trail) -> list[Leg]:
        """The spans along one line of cable, with those that close a loop and begin on it."""
        return [*trail.legs, *(leg for leg in self.network.closing if self._home(leg) is trail)]

    def _home(self, leg: Leg) -> Trail | None:
        """The line of cable on which a span begins that closes a loop."""
        return next((trail for trail in self.trails if leg.start in trail.points), None)

    def called(self, leg: Leg) -> str:
        """What the cable of a span is called on this paper."""
        return self._called(leg.row)

    def lamps(self) -> str:
        """How many lamps there are."""
        count = sum(given(row.count) or 1 for row in self.reply.fixtures)
        return ALL_TOGETHER if isinstance(self._request.wiring, TotalsWiring) else str(count)

    def lead(self, place: int) -> LampLead | None:
        """The lead of each lamp of a row; None where it hangs at the cable itself."""
        point = self.network.lamps[place]
        while (index := self.network.into[point]) is not None and not self.network.legs[index].cable:
            leg = self.network.legs[index]
            if (cables := given(leg.row.conductor)) is not None:
                return LampLead(cables.rpartition(" x ")[2], leg.row.length.value)
            point = leg.start
        return None

    def leads(self) -> dict[str, float]:
        """How much there is of each cable in leads, in the unit of the reply."""
        total: dict[str, float] = {}
        for place, row in enumerate(self.reply.fixtures):
            if (lead := self.lead(place)) is not None:
                total[lead.cable] = total.get(lead.cable, 0.0) + lead.length * (given(row.count) or 1)
        return total

    def lamps_by_place(self) -> dict[tuple[str, int], str]:
        """The numbers of the lamps of each row, by its pointer and its number."""
        rows = zip(self.reply.fixtures, self.numbers, strict=True)
        return {(row.pointer, given(row.number) or 1): numbers.words for row, numbers in rows}

    def lengths(self) -> dict[str, float]:
        """How much there is of each cable, in the unit of the reply."""
        total: Counter[str] = Counter()
        for piece in self.pieces():
            total[piece.cable] += piece.length  # type: ignore[assignment]  # a counter of lengths
        return dict(total)


def _goes_on(before: Leg, leg: Leg) -> bool:
    """Whether a span lies in one piece with the one before it."""
    same = (before.row.pointer, before.row.conductor) == (leg.row.pointer, leg.row.conductor)
    return same and before.end == leg.start


def customer_sheet(
    request: JobRequest, conclusion: Conclusion, wired: WiredRun | None, planned: WiredRun | None = None
) -> Sheet:
    """One page: the verdict, the plan, what was chosen, what can hurt.

    `planned`: of wiring that cannot carry its load where the lamps are, which is drawn without voltages.
    What does not fit is told together: first lines of cable, then the picture. The verdict, the cautions and
    the caller's own lines always stand there.
    """
    last = len(MOST_ROWS) - 1
    return on_one_page(
        _page(request, conclusion, wired, planned, rows, LONGEST_TEXT if place == last else MOST_TEXT)
        for place, rows in enumerate(MOST_ROWS)
    )


def _page(  # noqa: PLR0913, PLR0917  # what may be on it and how much, one caller
    request: JobRequest,
    conclusion: Conclusion,
    wired: WiredRun | None,
    planned: WiredRun | None,
    rows: tuple[int, int],
    longest: int,
) -> Sheet:
    drawn, listed = rows
    chosen: list[Section] = []
    if wired is not None:
        picture, slim = (overview(wired.reply, wired.network, drawn, room) for room in (BROAD, SLIM))
        table = [_chosen(wired, listed)] if listed else []
        chosen = [
            Section("", [Figure(picture, picture.title, slim)] if drawn else []),
            Section("What was chosen", [_chosen_facts(request, wired), *table]),
        ]
    elif planned is not None:
        picture, slim = (
            overview(planned.reply, planned.network, drawn, room, judged=False) for room in (BROAD, SLIM)
        )
        chosen = [
            Section("", [Figure(picture, picture.title, slim)] if drawn else []),
            Section("What was planned", [_chosen_facts(request, planned)]),
        ]
    sections = [
        Section("", [*verdict_blocks(conclusion.summary, longest), *_before_signing(conclusion.summary)]),
        *chosen,
        Section("Cautions", [caution_facts(conclusion.cautions)]),
    ]
    sheet = head(request, CUSTOMER_TITLE, length_unit(request), filled(sections))
    return sheet._replace(study="" if sheet.title == CUSTOMER_TITLE else CUSTOMER_TITLE)


BEFORE_SIGNING: Final = "Before you sign, ask whoever planned this what each warning means for you."


def _before_signing(summary: LoadSummary) -> list[Paragraph]:
    """Whom to ask about warnings; what passes needs no question and what fails no signature."""
    return [Paragraph(BEFORE_SIGNING)] if given(summary.verdict) == WITH_WARNINGS else []


def _chosen_facts(request: JobRequest, wired: WiredRun) -> Facts:
    lengths = ", ".join(
        f"{plain(round(length, 1))} {wired.unit} of {cable}" for cable, length in wired.lengths().items()
    )
    return Facts([("Supply", supply_words(request.supply)), ("Lamps", wired.lamps()), ("Cable", lengths)])


def _chosen(wired: WiredRun, most: int) -> Table:
    """A row for each line of cable, and one for all that are left."""
    shown = wired.trails if len(wired.trails) <= most else wired.trails[: most - 1]
    rows = [_chosen_row(wired, trail.name, [trail]) for trail in shown]
    if len(shown) < len(wired.trails):
        others = wired.trails[len(shown) :]
        rows.append(_chosen_row(wired, f"{len(others)} more", others))
    volts = "Volts, everything on" if wired.judged is None else "Volts, lowest to highest"
    columns = [*texts("Run", "Lamps", "Cable"), *numbers(f"Length [{wired.unit}]", volts)]
    return Table(columns, rows)


def _chosen_row(wired: WiredRun, name: str, trails: Sequence[Trail]) -> list[str]:
    rows = [row for trail in trails for row in wired.rows_of(trail)]
    legs = [leg for trail in trails for leg in wired.legs_of(trail)]
    length = sum(leg.row.length.value for leg in legs)
    cables = ", ".join(dict.fromkeys(wired.called(leg) for leg in legs))
    volts = _volts(rows) if wired.judged is None else _judged_volts(rows, wired.judged)
    return [name, wired.lamp_words(rows), cables, plain(round(length, 1)), volts]


def _judged_volts(rows: Sequence[FixtureRow], judged: Mapping[tuple[str, int], FixtureEnvelope]) -> str:
    """The range of several lamps over all that was judged, as the verdict above it says it."""
    low, high = list[tuple[float, FixtureRow]](), list[tuple[float, FixtureRow]]()
    for row in rows:
        low.append((least_voltage(row), row))
        high.append((row.voltage.value, row))
        if (found := judged.get((row.pointer, given(row.number) or 1))) is not None:
            low.append((found.lowest.voltage.value, row))
            high.append((found.highest.voltage.value, row))
    if not rows:
        return NOTHING
    lowest_v, weakest = min(low, key=itemgetter(0))
    highest_v, brightest = max(high, key=itemgetter(0))
    ends = [
        figure(ShownVoltage(lowest_v, "V"), -int(lowest_v < weakest.window.minimum.value)),
        figure(ShownVoltage(highest_v, "V"), int(highest_v > brightest.window.maximum.value)),
    ]
    return ends[0] if ends[0] == ends[1] else "\N{EN DASH}".join(ends)


def _volts(rows: Sequence[FixtureRow]) -> str:
    """The lowest and the highest of several lamps: of a strip its far end, and where it is fed."""
    if not rows:
        return NOTHING
    low, high = min(rows, key=least_voltage), max(rows, key=lambda row: row.voltage.value)
    ends = [lamp_volts(row, volts) for row, volts in ((low, least_voltage(low)), (high, high.voltage.value))]
    return ends[0] if ends[0] == ends[1] else "\N{EN DASH}".join(ends)


def installer_sheet(
    request: JobRequest, conclusion: Conclusion, wired: WiredRun | None, more: Sequence[Section] = ()
) -> Sheet:
    """Every piece of cable with what it is wired to and what is wired to it, the plan, the lamps by number.

    Parameters
    ----------
    request : JobRequest
    conclusion : Conclusion
    wired : WiredRun, optional
        None where there is nothing to wire.
    more : sequence of Section, optional
        Behind the pieces.
    """
    cautions = [*(each.message for each in conclusion.cautions), *JOINTS, NO_SLACK]
    sections = [
        Section("", verdict_blocks(conclusion.summary)),
        Section("Before you begin", [caution_facts(cautions)]),
        *([] if wired is None else _wiring(request, wired, more)),
    ]
    return head(request, INSTALLER_TITLE, length_unit(request), filled(sections))


def _wiring(request: JobRequest, wired: WiredRun, more: Sequence[Section]) -> Iterator[Section]:
    totals = [(cable, f"{plain(round(length, 2))} {wired.unit}") for cable, length in wired.lengths().items()]
    yield Section("At the supply", [Facts([("Supply", supply_words(request.supply))]), *_terminals(wired)])
    if totals:
        together = Facts([*totals, *_leads(wired)])
        yield Section("Cable, piece by piece", [_pieces(wired), Paragraph("Together:"), together])
    yield from more
    yield Section("Plan", plan_figures(wired.reply, wired.network))
    yield Section("Lamps by number", [_lamps(wired)])


def _terminals(wired: WiredRun) -> list[Table]:
    supply = wired.reply.supply
    taps = [
        [plain(tap.rated.value), figure(tap.terminal), figure(tap.current)]
        for tap in sorted(supply.taps, key=lambda tap: tap.rated.value)
    ]
    circuits = [
        [each.name, figure(each.current), NOTHING if (limit := given(each.limit)) is None else figure(limit)]
        for each in supply.circuits
    ]
    return [
        Table(numbers("Tap [V]", "Reads, everything on [V]", "Current [A]"), taps),
        Table([Column("Circuit"), *numbers("Current [A]", "Device [A]")], circuits),
    ]


def _pieces(wired: WiredRun) -> Table:
    rows = [
        [
            str(number),
            piece.run or NOTHING,
            f"{piece.start} → {piece.end}",
            plain(piece.fed.tap.rated.value),
            piece.fed.circuit,
            figure(piece.fed.tap.terminal),
            piece.cable,
            plain(round(piece.length, 2)),
            number_words(piece.lamps) or NOTHING,
        ]
        for number, piece in enumerate(wired.pieces(), 1)
    ]
    columns = [
        *numbers("No."),
        *texts("Run", "From → to"),
        *numbers("Tap [V]"),
        Column("Circuit"),
        *numbers("Terminal [V]"),
        Column("Cable"),
        *numbers(f"Cut [{wired.unit}]"),
        Column("Lamps"),
    ]
    return Table(columns, rows)


def _leads(wired: WiredRun) -> list[tuple[str, str]]:
    """What the lamps hang on beside the cable."""
    told = [f"{plain(round(length, 2))} {wired.unit} of {cable}" for cable, length in wired.leads().items()]
    return [("Leads of lamps", ", ".join(told))] if told else []


def _lamps(wired: WiredRun) -> Table:
    """Lamps alike and in a row are told together."""
    listed = [(place, trail, row) for trail in wired.trails for place, row in _placed(wired, trail)]
    led, rows = bool(wired.leads()), []
    for _, group in groupby(listed, key=lambda each: (id(each[1]), each[2].pointer)):
        alike = list(group)
        found = [row for _, _, row in alike]
        at = [plain(round(row.at.value, 2)) for row in found]
        where = at[0] if at[0] == at[-1] else f"{at[0]}\N{EN DASH}{at[-1]}"
        names = [wired.numbers[place] for place, _, _ in alike]
        lead = [_lead_words(wired.lead(alike[0][0]), wired.unit)] if led else []
        told = [number_words(names), wired.lamp_words(found), alike[0][1].name, where, *lead, _volts(found)]
        rows.append(told)
    columns = [
        *texts("No.", "Lamps", "Run"),
        *numbers(f"Along it [{wired.unit}]"),
        *texts(*(["Lead of each"] if led else [])),
        *numbers("Volts, everything on"),
    ]
    return Table(columns, rows)


def _lead_words(lead: LampLead | None, unit: str) -> str:
    return NOTHING if lead is None else f"{plain(round(lead.length, 2))} {unit} of {lead.cable}"


def _placed(wired: WiredRun, trail: Trail) -> Iterator[tuple[int, FixtureRow]]:
    points = trail.points if trail is wired.trails[0] else trail.points[1:]
    for point in points:
        for place in wired.at.get(point, ()):
            yield place, wired.reply.fixtures[place]
