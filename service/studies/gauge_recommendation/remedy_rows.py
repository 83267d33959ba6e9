"""Remedies in words, and as rows of a reply."""

from __future__ import annotations

from typing import Final

from msgspec import UNSET, UnsetType

from service.circuit.job import JobPart
from service.intake.words import listed
from service.studies.gauge_recommendation.remedies import JobChange, Remedy
from service.studies.gauge_recommendation.reply import RemedyChange, RemedyRow
from service.studies.gauge_recommendation.translate import length_row, outcome_row, purchase_row
from service.translate.naming import PlaceNames
from service.translate.rows import subject_row
from service.wire.conditions import Conditions

REMEDIES: Final[dict[str, str]] = {
    "larger-box": "Use a transformer of {parameter}, otherwise the same.",
    "larger-supply": "Use a supply of at least {parameter}, otherwise the same.",
    "smaller-device": "Fit a device of {parameter} in place of a larger one.",
    "other-circuit": 'Put {where} on circuit "{parameter}".',
    "tap-up": "Put {where} on the {parameter} tap.",
    "tap-down": "Put {where} on the {parameter} tap.",
    "box-with-taps": "Use a transformer with taps of 12, 13, 14 and 15 V and put {where} on its {parameter}"
    " tap.",
    "other-cable": "Use other cable of the stock in {where}.",
    "own-run": "Move the farthest fixtures of {where}, {parameter} in number, to a new run from the supply"
    " along the same route.",
    "split-the-run": "Split {where} in two, each part from the supply: {parameter} fixtures, nearest first.",
    "split-further": "Split {where}, each part from the supply: {parameter} fixtures, nearest first.",
    "feed-from-the-middle": "Bring the cable of {where} to the middle of its fixtures and feed both ways.",
    "close-the-loop": "Bring the far end of {where} back to the supply.",
    "thicker": "Use {parameter} in {where}, which the stock does not have.",
    "thicker-leads": "Use leads of {parameter} for the fixtures of {where}.",
    "twice-the-voltage": "Use a 24 V supply and 24 V fixtures of the same watts.",
    "lower-voltage": "Use a supply of {parameter}, otherwise the same.",
    "allow-joints": 'Allow joints in the cable: `cutting.joints` "anywhere".',
    "longer-spool": "Offer a spool that holds the longest piece.",
    "fewer-watts": "Bring every load of {where} down to {parameter} of its watts.",
    "thickest-of-the-stock": "Use the thickest cable of the stock.",
}
"""What is to be done, by the code of a change."""


NOT_ENOUGH: Final = (
    "Not enough by itself, but the nearest of what was tried: {tried} With that {broken} is still broken."
)
"""What is said of a remedy that does not pass."""


HOLDS_AS_STATED: Final = "As stated, but not over the range, this would pass: {tried}"
"""What is said of a remedy that holds no range."""


def remedy_row(
    remedy: Remedy, asked: PlaceNames, unit: str, judged: Conditions | UnsetType = UNSET
) -> RemedyRow:
    """A remedy in words: places are those of the request, in `outcome` those of the changed wiring.

    `judged`: the conditions under which it passes, where those are not the ones of the reply.
    """
    naming = PlaceNames(remedy.layout, unit)
    changes = [_change_row(change, asked) for change in remedy.changes]
    subjects = {change.subject for change in remedy.changes}
    parameters = {change.parameter for change in remedy.changes}
    total = remedy.total
    message = _in_words(remedy.changes, asked)
    message += _more_words(remedy, naming)
    if not remedy.assessment.passes:
        broken = ", ".join(dict.fromkeys(violation.code for violation in remedy.assessment.violations))
        message = NOT_ENOUGH.format(tried=message, broken=broken)
    if not isinstance(judged, UnsetType):
        message = HOLDS_AS_STATED.format(tried=message)
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


NOT_PRICED: Final = frozenset(
    {
        "larger-box",
        "larger-supply",
        "smaller-device",
        "box-with-taps",
        "thicker",
        "thicker-leads",
        "twice-the-voltage",
        "lower-voltage",
    }
)
"""Changes whose price is in no total."""


def _more_words(remedy: Remedy, naming: PlaceNames) -> str:
    """How much more cable a remedy takes, and whether its total leaves something out."""
    more = naming.length(remedy.more_m)
    words = f" {more:g} {naming.length_unit} more cable." if more > 0.0 else ""
    unpriced = remedy.total is not None and any(each.code in NOT_PRICED for each in remedy.changes)
    return f"{words} Its price is not in the total." if unpriced else words


TOLD_TOGETHER: Final = frozenset(
    {
        "smaller-device",
        "tap-up",
        "tap-down",
        "box-with-taps",
        "thicker",
        "thicker-leads",
        "other-circuit",
        "fewer-watts",
    }
)
"""What reads the same of several runs as of one: they are named in one sentence."""


def _in_words(changes: tuple[JobChange, ...], asked: PlaceNames) -> str:
    """What is to be done; the runs with which the same is done in one sentence."""
    sentences: dict[tuple[str, str, JobPart | None], list[str]] = {}
    for change in changes:
        alone = None if change.code in TOLD_TOGETHER else change.subject
        sentences.setdefault((change.code, change.parameter, alone), []).append(_where(change, asked))
    return " ".join(
        REMEDIES[code].format(where=listed(named, "and"), parameter=parameter)
        for (code, parameter, _), named in sentences.items()
    )


def _where(change: JobChange, asked: PlaceNames) -> str:
    """Where, inside a sentence."""
    return "the wiring" if change.subject.pointer == "/wiring" else asked.within(change.subject)


def _change_row(change: JobChange, asked: PlaceNames) -> RemedyChange:
    words = REMEDIES[change.code].format(where=_where(change, asked), parameter=change.parameter)
    return RemedyChange(change.code, words, subject_row(change.subject), change.parameter or UNSET)
