"""Findings, assumptions, sources and cautions: from codes to words."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TypedDict

from msgspec import UNSET, UnsetType

from service import tables
from service.circuit.job import CALCULATION_VERSION
from service.findings import finding as found
from service.findings.assumptions import AssumptionKind
from service.findings.cautions import CAUTIONS, READING_CAUTIONS
from service.findings.finding import Amount, corner_text
from service.translate.naming import PlaceNames
from service.translate.rounding import DECIMALS, rounded
from service.translate.rows import subject_row
from service.units import from_inside
from service.wire.quantities import ShownQuantity
from service.wire.reply import Assumption, Caution, Finding, Parameter, SourceNote

WORD_DECIMALS = 2
"""Decimals of a quantity inside a sentence."""


KNOWN = {
    "seen": "figures seen on public pages",
    "memory": "from memory, to be checked against the printed document",
    "trade-practice": "common practice, no published source",
}
"""How a source is known, in words."""


CAUTION_ROWS = [Caution(code, message) for code, message in CAUTIONS.items()]


READING_CAUTION_ROWS = [Caution(code, message) for code, message in READING_CAUTIONS.items()]
"""For whoever goes out with a meter."""


def finding_row(finding: found.FindingFacts, naming: PlaceNames) -> Finding:
    """One finding with its words."""
    measured, limit, parts = finding.measured, finding.limit, _parts(finding, naming)
    return Finding(
        code=finding.code,
        severity=finding.severity,
        subject=subject_row(finding.subject),
        parameters=[Parameter(name, value) for name, value in parts.items()],
        message=_sentence(finding, parts),
        source=finding.source,
        measured=UNSET if measured is None else shown_amount(measured, naming),
        limit=UNSET if limit is None else shown_amount(limit, naming),
    )


def _parts(finding: found.FindingFacts, naming: PlaceNames) -> dict[str, str]:
    """What fills in a message, by name."""
    parts = {"where": naming.subject(finding.subject)}
    if finding.corner is not None:
        parts["corner"] = corner_text(finding.corner)
    for name, part in finding.parameters:
        parts[name] = text_of(part, naming) if isinstance(part, Amount) else part
    # A limit that was found by a search comes with the words that tell no more than is known.
    texts = compared_texts(finding.measured, finding.limit, naming)
    return parts | {name: text for name, text in texts.items() if name not in parts}


def message_of(
    finding: found.FindingFacts,
    naming: PlaceNames,
    template: str = "",
    parts: Iterable[tuple[str, str]] = (),
) -> str:
    """The message of a finding, or of those alike of which it is the worst."""
    filled = _parts(finding, naming) | dict(parts)
    if not template:
        return _sentence(finding, filled)
    return (template if finding.corner is None else _with_corner(template)).format(**filled)


def compared_texts(
    measured: found.Amount | None, limit: found.Amount | None, naming: PlaceNames
) -> dict[str, str]:
    """Value and limit in words, those of them that there are.

    Where two decimals would read alike the value is rounded to the side on which it fails.
    """
    if measured is None or limit is None:
        amounts = {"measured": measured, "limit": limit}
        return {name: text_of(part, naming) for name, part in amounts.items() if part is not None}
    beyond = 1 if measured.value > limit.value else -1
    for places in (WORD_DECIMALS, WORD_DECIMALS + 1, WORD_DECIMALS + 2):
        against = text_of(limit, naming, places=places)
        for towards in (0, beyond):
            text = text_of(measured, naming, towards, places)
            if text != against:
                return {"measured": text, "limit": against}
    return {"measured": text, "limit": against}


def _sentence(finding: found.FindingFacts, parts: dict[str, str]) -> str:
    """The message, with the corner in which it shows."""
    kind = finding.kind
    if finding.corner is None:
        return kind.template.format(**parts)
    return _with_corner(kind.corner_template or kind.template).format(**parts)


def _with_corner(template: str) -> str:
    """A template that names the corner at the end of its first sentence, where it does not name it itself."""
    if "{corner}" in template:
        return template
    first, stop, others = template.partition(". ")
    return f"{first} ({{corner}}){stop}{others}" if stop else f"{first[:-1]} ({{corner}}){first[-1:]}"


def text_of(amount: found.Amount, naming: PlaceNames, towards: int = 0, places: int = WORD_DECIMALS) -> str:
    """A quantity inside a sentence, trailing zeros dropped."""
    value, unit = amount.value, amount.unit
    if unit == "m":
        value, unit = from_inside(value, naming.length_unit), naming.length_unit
    text = f"{rounded(value, places, towards):.{places}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return text if unit == "1" else f"{text} {unit}"


def shown_amount(amount: found.Amount, naming: PlaceNames) -> ShownQuantity:
    """A quantity beside a finding; a bare ratio has the unit "ratio", a share "percent"."""
    if amount.unit == "m":
        return ShownQuantity(naming.length(amount.value, amount.towards), naming.length_unit)
    value = rounded(amount.value, DECIMALS[amount.unit], amount.towards)
    return ShownQuantity(value, {"1": "ratio", "%": "percent"}.get(amount.unit, amount.unit))


class Closing(TypedDict):
    """What every answer ends with, by the names of its members."""

    assumptions: list[Assumption]
    sources: list[SourceNote]
    cautions: list[Caution]
    calculation_version: str
    tables_version: str
    request_sha256: str
    id: str | UnsetType


def closing(
    assumptions: Iterable[AssumptionKind],
    sources: Iterable[str],
    *,
    sha256: str,
    caller_id: str | UnsetType,
    meter: bool = False,
) -> Closing:
    """How an answer ends.

    Parameters
    ----------
    assumptions : iterable of AssumptionKind
    sources : iterable of str
        Ids of the sources that were used, each as often as it was.
    sha256 : str
        Of the request as it came.
    caller_id : str
        The id of the request, where it has one.
    meter : bool
        Whether somebody goes out with a meter: then the cautions for that stand there too.
    """
    return Closing(
        assumptions=[Assumption(kind.code, kind.message) for kind in assumptions],
        sources=[SourceNote(identity, _source_text(identity)) for identity in published(sources)],
        cautions=[*CAUTION_ROWS, *READING_CAUTION_ROWS] if meter else CAUTION_ROWS,
        calculation_version=CALCULATION_VERSION,
        tables_version=tables.TABLES_VERSION,
        request_sha256=sha256,
        id=caller_id,
    )


def published(sources: Iterable[str]) -> list[str]:
    """Each source once; the caller and our own calculation are none."""
    return [source for source in dict.fromkeys(sources) if source not in NO_SOURCES]


NO_SOURCES = frozenset({"caller", "own-calculation"})


def _source_text(identity: str) -> str:
    """A source in words: what, where in it, and how it is known."""
    source = tables.source(identity)
    edition = "" if source.edition.startswith("not ") or not source.edition else f" ({source.edition})"
    clause = f", {source.clause}" if source.clause else ""
    return f"{source.title}{edition}{clause}: {KNOWN[source.known]}"
