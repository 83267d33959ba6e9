"""Remedies in words, and as rows of a reply."""

from __future__ import annotations

from typing import Final

from msgspec import UNSET, UnsetType

from service.circuit.job import JobPart
from service.intake.words import listed
from service.studies.gauge_recommendation.remedies import JobChange, Remedy
from service.studies.gauge_recommendation.remedy_kinds import RemedyKind
from service.studies.gauge_recommendation.reply import RemedyChange, RemedyRow
from service.studies.gauge_recommendation.translate import (
    HOLDS_AS_STATED,
    length_row,
    outcome_row,
    purchase_row,
)
from service.translate.naming import PlaceNames
from service.translate.rows import subject_row
from service.wire.conditions import Conditions

NOT_ENOUGH: Final = "Not enough by itself, but the nearest of what was tried: {tried}"
"""What is said of a remedy that does not pass."""


def remedy_row(
    remedy: Remedy, naming: PlaceNames, unit: str, judged: Conditions | UnsetType = UNSET
) -> RemedyRow:
    """A remedy in words: places are those of the request, in `outcome` those of the changed wiring.

    `judged`: the conditions under which it passes, where those are not the ones of the reply.
    """
    naming = PlaceNames(remedy.layout, unit)
    changes = [_change_row(change, naming) for change in remedy.changes]
    subjects = {change.subject for change in remedy.changes}
    parameters = {change.parameter for change in remedy.changes}
    total = remedy.total
    message = _in_words(remedy.changes, naming)
    message += _more_words(remedy, naming)
    if not remedy.assessment.passes:
        message = NOT_ENOUGH.format(tried=message)
    if not isinstance(judged, UnsetType):
        message = f"{message} {HOLDS_AS_STATED}"
    return RemedyRow(
        code=remedy.code,
        message=message,
        outcome=outcome_row(remedy.assessment, naming),
        subject=subject_row(subjects.pop() if len(subjects) == 1 else JobPart("/wiring")),
        changes=changes,
        wiring=remedy.wiring,
        more_cable=length_row(remedy.more_m, naming),
        purchase=[purchase_row(line, naming) for line in remedy.purchase],
        parameter=(parameters.pop() or UNSET) if len(parameters) == 1 else UNSET,
        judged_conditions=judged,
        supply=UNSET if remedy.supply is None else remedy.supply,
        total=UNSET if total is None else str(total),
    )


def _more_words(remedy: Remedy, naming: PlaceNames) -> str:
    """How much more cable a remedy takes, and whether its total leaves something out."""
    more = naming.length(remedy.more_m)
    words = f" {more:g} {naming.length_unit} more cable." if more > 0.0 else ""
    unpriced = remedy.total is not None and not all(each.kind.priced for each in remedy.changes)
    return f"{words} Its price is not in the total." if unpriced else words


def _in_words(changes: tuple[JobChange, ...], naming: PlaceNames) -> str:
    """What is to be done; the runs with which the same is done in one sentence."""
    sentences: dict[tuple[RemedyKind, str, JobPart | None], list[str]] = {}
    for change in changes:
        alone = None if change.kind.together else change.subject
        sentences.setdefault((change.kind, change.parameter, alone), []).append(_where(change, naming))
    texts = [
        kind.words.format(where=listed(named, "and"), parameter=parameter)
        for (kind, parameter, _), named in sentences.items()
    ]
    return " ".join(["Together:", *texts] if len(texts) > 1 else texts)


def _where(change: JobChange, naming: PlaceNames) -> str:
    """Where, inside a sentence."""
    return "the wiring" if change.subject.pointer == "/wiring" else naming.within(change.subject)


def _change_row(change: JobChange, naming: PlaceNames) -> RemedyChange:
    words = change.kind.words.format(where=_where(change, naming), parameter=change.parameter)
    return RemedyChange(change.code, words, subject_row(change.subject), change.parameter or UNSET)
