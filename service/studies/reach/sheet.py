"""The sheet of a reach: how far, how much, how many."""

from __future__ import annotations

from collections.abc import Iterator

from service.sheets.figures import NOTHING, as_stated, figure, given, plain
from service.sheets.sections import (
    cable_words,
    closing_sections,
    condition_facts,
    corner_words,
    end_cells,
    findings_section,
    head,
    limit_facts,
    load_words,
    summary_section,
    supply_facts,
    unsure,
    window_words,
    wiring_blocks,
)
from service.sheets.sheet import Column, Facts, Paragraph, Section, Sheet, Table, filled, numbers
from service.studies.reach.reply import OutOfReach, Reached, ReachPoint, ReachReply
from service.studies.reach.request import (
    EvenlySpreadLayout,
    LargestLoad,
    Layout,
    LongestRun,
    LumpedLayout,
    Question,
    ReachRequest,
)
from service.studies.reach.translate import length_unit

STUDY = "Reach"


_OUT = "Every run that was tried breaks a limit; this one comes nearest."


_NONE = "Every run breaks a limit; this one comes nearest."


_REACHED = "The largest run that keeps every limit, beside the next one tried, which breaks one."


_UNLIMITED = "Even the largest run that is tried keeps every limit."


_FROM = " Smaller ones break a limit too: what keeps all of them goes from the one row to the other."


def reach_sheet(request: ReachRequest, reply: ReachReply) -> Sheet:
    """How far, how much, how many, and which limit binds."""
    tried = list(_tried(reply))
    words = _words(reply)
    if not isinstance(reply, OutOfReach) and given(reply.from_) is not None:
        words += _FROM
    ends = [(name, point.end) for name, point in tried]
    sections = [
        summary_section(reply.summary),
        Section("Result", [Paragraph(words), _table(tried), *unsure(ends)]),
        *_findings(reply),
        Section("What was asked", [Facts(list(_facts_of_job(request)))]),
        *(
            []
            if isinstance(reply, OutOfReach)
            else [Section("The run as wiring", wiring_blocks(reply.wiring))]
        ),
        *closing_sections(reply),
    ]
    return head(request, STUDY, length_unit(request), filled(sections))


def _words(reply: ReachReply) -> str:
    if isinstance(reply, OutOfReach):
        return _NONE if reply.searched.every_value else _OUT
    return _REACHED if isinstance(reply, Reached) else _UNLIMITED


def _tried(reply: ReachReply) -> Iterator[tuple[str, ReachPoint]]:
    if not isinstance(reply, OutOfReach):
        yield "answer", reply.answer
        for name, point in (("from", given(reply.from_)), ("below", given(reply.below))):
            if point is not None:
                yield name, point
    if isinstance(reply, Reached | OutOfReach):
        yield "beyond", reply.beyond


def _table(tried: list[tuple[str, ReachPoint]]) -> Table:
    unit = tried[0][1].length.unit
    columns = [
        Column("Run", short=True),
        *numbers(f"Length [{unit}]", "Load [W]", "Fixtures"),
        Column("Verdict", short=True),
        *numbers(
            "End [V]",
            "Terminal [V]",
            "Cable drop [V]",
            "Drop [%]",
            "Current [A]",
            "Lost [W]",
            "Lowest in any corner [V]",
        ),
        Column("Which corner"),
    ]
    rows = []
    for name, point in tried:
        power, lowest = given(point.power), given(point.lowest)
        size = [
            plain(point.length.value),
            NOTHING if power is None else plain(power.value),
            str(given(point.count) or NOTHING),
        ]
        corner = (
            [NOTHING, NOTHING] if lowest is None else [figure(lowest.voltage), corner_words(lowest.corner)]
        )
        rows.append([name, *size, *end_cells(point.end), *corner])
    return Table(columns, rows, frozenset([0]) if tried[0][0] == "answer" else frozenset())


def _findings(reply: ReachReply) -> list[Section]:
    found = []
    if isinstance(reply, Reached | OutOfReach):
        found.append(findings_section(reply.binding, "What breaks beyond"))
    if not isinstance(reply, OutOfReach):
        if (under := given(reply.binding_below)) is not None:
            found.append(findings_section(under, "What breaks below"))
        found.append(findings_section(reply.findings, "Findings about the answer"))
    return found


def _facts_of_job(request: ReachRequest) -> Iterator[tuple[str, str]]:
    yield from supply_facts(request.supply)
    yield "Cable", cable_words(request.cable)
    yield from question_facts(request.question)
    yield from limit_facts(request.nominal_voltage, request.limits)
    if (limits := given(request.limits)) is not None:
        yield "Window", window_words(limits.window)
    yield from condition_facts(request.conditions)


def question_facts(question: Question) -> Iterator[tuple[str, str]]:
    """What is to be found, and what is known."""
    if isinstance(question, LongestRun):
        yield "To be found", "the longest run"
        yield "Load, all fixtures together", load_words(question.load)
        yield "Layout", _layout(question.layout)
    elif isinstance(question, LargestLoad):
        yield "To be found", "the largest load"
        yield "Length", as_stated(question.length)
        yield "Layout", _layout(question.layout)
        if (factor := given(question.power_factor)) is not None:
            yield "Power factor", plain(factor)
    else:
        first = given(question.first_at)
        yield "To be found", "the most fixtures"
        yield "Load of each", load_words(question.load)
        yield (
            "Spacing",
            as_stated(question.spacing) + ("" if first is None else f", the first at {as_stated(first)}"),
        )


def _layout(layout: Layout) -> str:
    if isinstance(layout, LumpedLayout):
        return "all at the far end"
    if isinstance(layout, EvenlySpreadLayout):
        return "evenly spread"
    first = given(layout.first_at)
    return f"one every {as_stated(layout.spacing)}" + (
        "" if first is None else f", the first at {as_stated(first)}"
    )
