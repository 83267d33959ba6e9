"""An answer in short: its verdict, its findings said once a kind, the weakest lamp and what is spare."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from functools import partial
from math import ceil
from typing import Final, NamedTuple

from msgspec import UNSET, UnsetType

from service.circuit.corners import Corner
from service.circuit.envelope import EnvelopeResult
from service.circuit.job import JobPart
from service.circuit.limits import beyond, continuous_limit, near_circuit_limit, over_rating
from service.circuit.reading import CircuitResult, StateReading, SupplyResult
from service.circuit.state import FixtureVoltages
from service.findings.finding import FAULT, GRAVEST_FIRST, NOTE, WARNING, FindingFacts, corner_text
from service.findings.limits import excess
from service.findings.loading import (
    CIRCUIT_NEAR_LIMIT,
    CIRCUIT_OVER_CURRENT,
    CLASS_2_EXCEEDED,
    DC_SUPPLY_OVER_RATING,
    TRANSFORMER_OVER_RATING,
    WINDING_OVER_CURRENT,
)
from service.findings.protection import (
    CONDUCTOR_BELOW_DEVICE,
    SHORT_CIRCUIT_BELOW_TRIP,
    SPAN_OVER_AMPACITY,
)
from service.findings.request import WATTS_LIKE_EQUIVALENT
from service.findings.rows import WORD_DECIMALS, finding_row, message_of, shown_amount
from service.findings.voltage import FIXTURE_ABOVE_WINDOW, FIXTURE_BELOW_WINDOW, NO_OPERATING_POINT
from service.translate.naming import PlaceNames
from service.translate.rounding import DECIMALS, rounded
from service.translate.rows import TOWARDS_FAILING, amps, corner_row, volts
from service.wire.quantities import ShownApparentPower
from service.wire.reply import Finding
from service.wire.summary import CircuitLoad, FindingGroup, LoadSummary, Summary, SummaryLamp, SupplyLoad

PASSES, WITH_WARNINGS, FAILS = "passes", "passes-with-warnings", "fails"

MOST_POINTERS = 20
"""Places that are listed of one group."""


class LampReading(NamedTuple):
    """A lamp, its voltage [V], and the corner that gives it where a range was judged.

    `towards` is where it may not be rounded away from: a fail never looks like a pass.
    """

    subject: JobPart
    voltage_v: float
    corner: Corner | None = None
    towards: int = 0


class Shown(NamedTuple):
    """What a study has to show beside its findings; the worst state of the supply and of each circuit."""

    lamps: tuple[LampReading, LampReading] | None = None
    supply: SupplyResult | None = None
    circuits: Sequence[CircuitResult] = ()
    lumped: bool = False
    """Whether all of the load is taken at the far end."""
    several: bool = False
    """Whether there is more than one lamp."""
    most_ratio: float = 1.0
    """To which share of its rating the supply may be loaded. [-]"""


def shown_of(reading: StateReading | None, envelope: EnvelopeResult | None = None) -> Shown:
    """The weakest and the highest lamp, the supply and the circuits, each in its worst state."""
    if reading is None:
        return Shown()
    states, volts_at = [reading], reading.volts
    lamps = []
    for each_v, index in _extremes(volts_at):
        judged = each_v[index] == volts_at.judged_v[index]
        towards = TOWARDS_FAILING[volts_at.verdict[index]] if judged else 0
        subject = reading.state.layout.fixtures[index].subject
        lamps.append(LampReading(subject, each_v[index], towards=towards))
    if envelope is not None:
        states += [each for _, each in envelope.states]
        lamps += [
            LampReading(subject, extreme.value, extreme.corner)
            for subject, extremes in envelope.fixtures.items()
            for extreme in (extremes.lowest, extremes.highest)
            if extreme is not None
        ]
    circuits = zip(*(state.supply.circuits for state in states), strict=True)
    return Shown(
        (min(lamps, key=_voltage_v), max(lamps, key=_voltage_v)) if lamps else None,
        max((state.supply for state in states), key=lambda supply: supply.used_va),
        [max(row, key=lambda circuit: circuit.current_a) for row in circuits],
        reading.state.job.layout_unknown,
        sum(placed.pieces for placed in reading.state.layout.fixtures) > 1,
    )


def _extremes(volts_at: FixtureVoltages) -> list[tuple[list[float], int]]:
    """Which is lowest and which highest: a strip has fewest volts at its far end, most where it is fed."""
    far_v, start_v = volts_at.far_v, volts_at.start_v
    return [(far_v, far_v.index(min(far_v))), (start_v, start_v.index(max(start_v)))] if far_v else []


def _voltage_v(lamp: LampReading) -> float:
    return lamp.voltage_v


def gravest_first(findings: Iterable[FindingFacts]) -> list[FindingFacts]:
    """Faults, then warnings, then notes; else in the order in which they were found."""
    return sorted(findings, key=lambda found: GRAVEST_FIRST[found.severity])


def finding_rows(findings: Iterable[FindingFacts], naming: PlaceNames) -> list[Finding]:
    """Findings with their words, the gravest first."""
    return [finding_row(finding, naming) for finding in gravest_first(findings)]


def verdict_of(findings: Iterable[FindingFacts], accepted: frozenset[str] = frozenset()) -> str:
    """Whether what was found lets a job pass; warnings that are accepted count as notes."""
    graves = {found.severity for found in findings if found.code not in accepted or found.severity == FAULT}
    return FAILS if FAULT in graves else WITH_WARNINGS if WARNING in graves else PASSES


def short_summary(
    verdict: str | None, findings: Sequence[FindingFacts], naming: PlaceNames, text: str
) -> Summary:
    """An answer in short: verdict, what it has to say, and its findings said once a kind."""
    return Summary(text, grouped(findings, naming), UNSET if verdict is None else verdict)


def summary_row(
    verdict: str,
    findings: Sequence[FindingFacts],
    naming: PlaceNames,
    shown: Shown = Shown(),  # noqa: B008  # immutable
    *,
    text: str = "",
) -> LoadSummary:
    """An answer in short, with lamps and loads.

    Parameters
    ----------
    verdict : str
    findings : sequence of FindingFacts
    naming : PlaceNames
    shown : Shown
    text : str
        What the study itself has to say; left out, the lamps and the gravest finding speak.
    """
    groups = grouped(findings, naming)
    lowest, highest = (None, None) if shown.lamps is None else shown.lamps
    return LoadSummary(
        text=text or _text(verdict, groups, naming, shown),
        findings=groups,
        verdict=verdict,
        weakest=UNSET if lowest is None else _lamp(lowest, naming),
        highest=UNSET if highest is None else _lamp(highest, naming),
        supply=_supply(shown.supply),
        circuit=_circuit(shown.circuits),
    )


def grouped(findings: Iterable[FindingFacts], naming: PlaceNames) -> list[FindingGroup]:
    """Findings of one code and severity, each such group said once, by its worst."""
    groups: dict[tuple[str, str], list[FindingFacts]] = {}
    for found in gravest_first(findings):
        groups.setdefault((found.code, found.severity), []).append(found)
    codes = [code for code, _ in groups]
    return [
        _group(group, naming, further=code in codes[:place])
        for place, ((code, _), group) in enumerate(groups.items())
    ]


def _group(group: list[FindingFacts], naming: PlaceNames, *, further: bool) -> FindingGroup:
    """`further`: there is a graver group of the same code."""
    ranked = sorted(group, key=partial(excess, unmeasured=0.0), reverse=True)
    worst = ranked[0]
    places = list(dict.fromkeys(found.subject.pointer for found in ranked))
    return FindingGroup(
        worst.code,
        worst.severity,
        len(group),
        _words(ranked, naming, further=further),
        places[:MOST_POINTERS],
        UNSET if worst.measured is None else shown_amount(worst.measured, naming),
        UNSET if worst.limit is None else shown_amount(worst.limit, naming),
    )


def _words(ranked: list[FindingFacts], naming: PlaceNames, *, further: bool) -> str:
    """A group in words: those of its only finding, of several alike, or of the worst and how many more."""
    worst, others = ranked[0], len(ranked) - 1
    if not others and naming.lamps(worst.subject) == 1:
        return message_of(worst, naming)
    if worst.kind.several:
        unlike = len({found.limit for found in ranked}) > 1
        template = (worst.kind.unlike if unlike else "") or worst.kind.several
        place = naming.within(worst.subject)
        lamps = sum(naming.lamps(each.subject) for each in ranked)
        count = f"{lamps} more" if further else f"{lamps}"
        parts = [("count", count), ("on", _on(ranked, naming)), ("place", place)]
        return message_of(worst, naming, template, parts)
    return f"{message_of(worst, naming)} ({others} more like this.)" if others else message_of(worst, naming)


_OWNER: Final = re.compile(r"(/wiring/runs/[0-9]+(?:/[a-z]+/[0-9]+)*)/fixtures/")
_RUN: Final = re.compile(r"(/wiring/runs/[0-9]+)")


def _on(group: list[FindingFacts], naming: PlaceNames) -> str:
    """On which run all of them are, where a job has several."""
    for owner_of in (_OWNER, _RUN):
        runs = {found[1] if (found := owner_of.match(each.subject.pointer)) else "" for each in group}
        if len(runs) == 1 and (run := runs.pop()) and naming.several_runs:
            return f" on {naming.run(JobPart(run))}"
    return ""


def _text(verdict: str, groups: list[FindingGroup], naming: PlaceNames, shown: Shown) -> str:
    """The verdict, the lamps where it passes, and the gravest group where there is a fault or a warning."""
    grave = by_consequence(group for group in groups if group.severity != NOTE)
    if verdict == FAILS and grave:
        said = [VERDICT_WORDS[FAILS], told(grave, grave[0].severity)]
        warned = [group for group in grave if group.severity != grave[0].severity]
        alone = len(grave) - len(warned) == 1
        also = [f"Also: {warned[0].message}"] if alone and warned else []
        return " ".join([*said, *also, *(group.message for group in groups if group.code == ASKED_BACK)])
    lamps = "" if any(group.code in OF_LAMPS for group in grave[:TOLD]) else _lamps_text(naming, shown)
    parts = [VERDICT_WORDS[verdict], lamps, _load_text(shown)]
    if verdict == WITH_WARNINGS and grave:
        parts.append(told(grave, WARNING))
    return " ".join(part for part in parts if part)


VERDICT_WORDS: Final = {PASSES: "Passes.", WITH_WARNINGS: "Passes with warnings.", FAILS: "Does not pass."}


CONSEQUENCES: Final = (
    (NO_OPERATING_POINT,),
    (CIRCUIT_OVER_CURRENT,),
    (TRANSFORMER_OVER_RATING, WINDING_OVER_CURRENT, DC_SUPPLY_OVER_RATING, CLASS_2_EXCEEDED),
    (SPAN_OVER_AMPACITY, CONDUCTOR_BELOW_DEVICE, SHORT_CIRCUIT_BELOW_TRIP, CIRCUIT_NEAR_LIMIT),
)
"""What a summary tells before a dim lamp: nothing is lit, a device opens, something gets too hot."""

RANKED: Final = {kind.code: rank for rank, kinds in enumerate(CONSEQUENCES) for kind in kinds}


def by_consequence(groups: Iterable[FindingGroup]) -> list[FindingGroup]:
    """The gravest severity first, and of each what opens or overheats before all else."""
    return sorted(
        groups,
        key=lambda group: (GRAVEST_FIRST[group.severity], RANKED.get(group.code, len(CONSEQUENCES))),
    )


TOLD = 2
"""Groups that are told in full."""


ASKED_BACK: Final = WATTS_LIKE_EQUIVALENT.code
"""What may be why a job fails: watts that no lamp of today draws."""


OF_LAMPS: Final = frozenset({FIXTURE_BELOW_WINDOW.code, FIXTURE_ABOVE_WINDOW.code})
"""What names the lamp at the limit itself."""


def told(grave: list[FindingGroup], severity: str) -> str:
    """The first groups of a severity, and how many more there are."""
    alike = [group.message for group in by_consequence(grave) if group.severity == severity]
    others = len(alike) - TOLD
    more = [] if others < 1 else [f"One more {severity}." if others == 1 else f"{others} more {severity}s."]
    return " ".join([*alike[:TOLD], *more])


def _lamps_text(naming: PlaceNames, shown: Shown) -> str:
    if shown.lamps is None:
        return ""
    lowest, highest = shown.lamps
    low, high = (f"{rounded(each.voltage_v, WORD_DECIMALS, each.towards):.2f} V" for each in shown.lamps)
    if shown.lumped:
        volts_there = low if low == high else f"{low} to {high}"
        return f"With all of the load at its far end the run has {volts_there} there."
    if lowest.subject == highest.subject and not shown.several:
        return f"The lamp gets {low if low == high else f'{low} to {high}'}."
    if low == high:
        return f"The lamps all get {low}."
    if lowest.subject == highest.subject:
        return f"The lamps get {low} to {high}."
    return f"The lamps get {low} ({_where(lowest, naming)}) to {high} ({_where(highest, naming)})."


def _where(lamp: LampReading, naming: PlaceNames) -> str:
    """Which lamp, and in which corner where a range was judged."""
    state = "" if lamp.corner is None else corner_text(lamp.corner)
    return ", ".join(filter(None, [naming.fixture_at(lamp.subject), state]))


def _load_text(shown: Shown) -> str:
    ratio = None if shown.supply is None else shown.supply.used_ratio
    return (
        ""
        if ratio is None
        else f"The supply is loaded to {share_text(ratio, shown.most_ratio)} of its rating."
    )


def share_text(ratio: float, most_ratio: float) -> str:
    """A share in whole per cent; finer where what keeps its limit would be shown above it, or as none. [-]

    What is over its limit is rounded up.
    """
    percent, most = 100.0 * ratio, 100.0 * most_ratio
    if beyond(percent, most):
        return f"{ceil(percent)} %"
    nearest = (rounded(percent, places) for places in range(WORD_DECIMALS + 1))
    told = next((shown for shown in nearest if 0.0 < shown <= most), most if percent > 1.0 else 0.0)
    return f"{told:.12g} %"


def _lamp(lamp: LampReading, naming: PlaceNames) -> SummaryLamp:
    subject = lamp.subject
    return SummaryLamp(
        subject.pointer,
        naming.fixture_at(subject),
        volts(lamp.voltage_v, lamp.towards),
        UNSET if subject.id is None else subject.id,
        UNSET if subject.number is None else subject.number,
        UNSET if lamp.corner is None else corner_row(lamp.corner),
    )


def _supply(supply: SupplyResult | None) -> SupplyLoad | UnsetType:
    if supply is None or supply.used_ratio is None or supply.rating_va is None:
        return UNSET
    over = over_rating(supply.used_ratio)
    spare_va = _spare(supply.used_va, supply.rating_va, over=over)
    return SupplyLoad(
        rounded(supply.used_ratio, DECIMALS["1"], over),
        ShownApparentPower(rounded(spare_va, DECIMALS["VA"], -over), "VA"),
    )


def _circuit(circuits: Sequence[CircuitResult]) -> CircuitLoad | UnsetType:
    """The fullest circuit of those whose device is stated."""
    stated = [(each.current_a / each.limit_a, each.limit_a, each) for each in circuits if each.limit_a]
    if not stated:
        return UNSET
    ratio, limit_a, fullest = max(stated, key=lambda row: row[0])
    near = near_circuit_limit(fullest.current_a, limit_a)
    spare_a = _spare(fullest.current_a, continuous_limit(limit_a), over=near)
    return CircuitLoad(
        fullest.name,
        amps(fullest.current_a, near),
        amps(limit_a),
        rounded(ratio, DECIMALS["1"], near),
        amps(spare_a, -near),
    )


def _spare(used: float, limit: float, *, over: bool) -> float:
    """What is left of a limit; nothing where it is kept but for the last digits of what was solved."""
    return limit - used if over else max(0.0, limit - used)
