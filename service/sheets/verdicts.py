"""What every answer carries beside its numbers: findings, assumptions, sources, cautions, versions."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

from msgspec import UnsetType

from service.messages.voltage_drop import Solution
from service.sheets.figures import NOTHING, asked, plain, said
from service.sheets.sheet import Column, Facts, Paragraph, Section, Table, texts

if TYPE_CHECKING:
    from collections.abc import Sequence

    from service.messages.reply import Assumption, Caution, Finding, SourceNote
    from service.messages.voltage_drop import LoadMargin

MARKS = {
    "fault": "■\N{NO-BREAK SPACE}fault",
    "warning": "▲\N{NO-BREAK SPACE}warning",
    "note": "●\N{NO-BREAK SPACE}note",
}
"""A shape and a word, because a printer may have no colour and an eye may not see it."""

_NO_FINDINGS = "Nothing to report: every limit that was looked at is kept."


class Reply(Protocol):
    """What replies have in common."""

    @property
    def assumptions(self) -> list[Assumption]:
        """How what was left open was read."""
        ...

    @property
    def sources(self) -> list[SourceNote]:
        """Where numbers come from."""
        ...

    @property
    def cautions(self) -> list[Caution]:
        """What can hurt."""
        ...

    @property
    def calculation_version(self) -> str:
        """Of the method."""
        ...

    @property
    def tables_version(self) -> str:
        """Of the figures."""
        ...

    @property
    def request_sha256(self) -> str:
        """Of the request."""
        ...


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
            _value(found.measured),
            _value(found.limit),
            found.source,
        ]
        for found in ranked
    ]
    columns = [
        Column("Weight", short=True),
        Column("What and what to do"),
        Column("Measured", numbers=True),
        Column("Limit", numbers=True),
        Column("Source"),
    ]
    faults = frozenset(place for place, found in enumerate(ranked) if found.severity == "fault")
    return Section(title, [Table(columns, rows, faults)])


def _value(shown: object) -> str:
    return NOTHING if isinstance(shown, UnsetType) else asked(shown)  # type: ignore[arg-type]


def closing_sections(reply: Reply) -> list[Section]:
    """Assumptions, cautions, sources, and what names this very answer."""
    return [
        Section("Cautions", [Facts([("▲", caution.message) for caution in reply.cautions])]),
        Section(
            "Assumed, because the request does not say",
            [Table(texts("Assumption", "Code"), [[each.message, each.code] for each in reply.assumptions])],
        ),
        Section(
            "Sources of the figures",
            [Table(texts("Source", "Named above as"), [[each.message, each.code] for each in reply.sources])],
        ),
        Section("This answer", [Facts([*proof_facts(reply), *_versions(reply)])]),
    ]


def _versions(reply: Reply) -> list[tuple[str, str]]:
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
    residual = f"{asked(solution.residual)} left over after {solution.iterations} iterations"
    return [("Solved by", solution.method), ("Kirchhoff's current law", residual)]


def margin_facts(margin: LoadMargin) -> list[tuple[str, str]]:
    """By what common factor the loads could grow."""
    facts = []
    if (least := said(margin.at_least)) is not None:
        facts.append(("All loads could grow to", f"{plain(least)} times at least"))
    if (exact := said(margin.exact)) is not None:
        facts.append(("All loads can be", f"{plain(exact)} times what they are"))
    if (first := said(margin.first_out_of_window)) is not None:
        facts.append(("First below its window", f"at {plain(first.factor)} times: {first.pointer}"))
    if (reason := said(margin.absent_because)) is not None:
        facts.append(("No load margin, because", reason))
    return facts
