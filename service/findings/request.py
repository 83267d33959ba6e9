"""What the request itself shows before anything is solved: windows, lamps, names, labels."""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt
from typing import Final

from service import tables
from service.circuit.job import JobPart, Remark
from service.circuit.state import Connected
from service.circuit.windows import REFERENCE_NOMINAL_V
from service.findings.finding import FAULT, NOTE, WARNING, Amount, FindingFacts, FindingKind

WINDOW_EMPTY: Final = FindingKind(
    "window-empty",
    (FAULT,),
    "{where} has a window from {measured} to {limit}: no voltage lies in it.",
    "The minimum of a window is above its maximum.",
)


def empty_window_findings(connected: Connected) -> list[FindingFacts]:
    """Windows whose minimum is above their maximum: no voltage can satisfy them."""
    return [
        WINDOW_EMPTY.found(
            JobPart(f"{line.subject.pointer}/window", line.subject.id),
            "caller",
            measured=Amount(line.window.minimum_v, "V", 1),
            limit=Amount(line.window.maximum_v, "V", -1),
        )
        for line in connected.layout.lines
        if line.window is not None and line.window.minimum_v > line.window.maximum_v
    ]


DC_LAMP_ON_AC: Final = FindingKind(
    "dc-lamp-on-ac",
    (FAULT,),
    "{where} is made for direct current and is fed with alternating current, peak {measured}.",
    "A fixture for DC on an AC supply.",
)

AC_LAMP_ON_DC: Final = FindingKind(
    "ac-lamp-on-dc",
    (FAULT,),
    "{where} is made for alternating current and is fed with direct current, {measured}.",
    "A fixture for AC on a DC supply.",
)


def lamp_kind_findings(connected: Connected) -> list[FindingFacts]:
    """Lamps made for the other kind of current, beside the peak of the voltage that they get at no load."""
    direct = connected.job.supply.direct_current
    wrong, kind = ("ac", AC_LAMP_ON_DC) if direct else ("dc", DC_LAMP_ON_AC)
    found: dict[str, FindingFacts] = {}
    for placed in connected.layout.fixtures:
        line = placed.line
        if line.input == wrong and line.subject.pointer not in found:
            peak_v = placed.open_circuit_v * (1.0 if direct else sqrt(2.0))
            measured = Amount(peak_v, "V", 1)
            found[line.subject.pointer] = kind.found(line.subject, "caller", measured=measured)
    return list(found.values())


DUPLICATE_NAME: Final = FindingKind(
    "duplicate-name",
    (NOTE,),
    "Used more than once as a name: {names}. Answers are told apart by pointer.",
    "Two circuits, two runs or two fixtures have the same name.",
)


NAMES_TOLD = 3
"""Names that stand twice which one note tells; more are counted."""


def duplicate_name_findings(connected: Connected) -> list[FindingFacts]:
    """One note for all names given twice, where the first is given again; answers go by pointer.

    A run is often called as its lamps are, and no answer takes one for the other.
    """
    circuits = [(circuit.name, circuit.subject) for circuit in connected.job.supply.circuits]
    ends = [(end.name, end.subject) for end in connected.layout.ends]
    lines = [(line.name, line.subject) for line in connected.layout.lines]
    again = [each for alike in (circuits, ends, lines) for each in _given_again(alike)]
    if not again:
        return []
    names = [f'"{name}"' for name in dict.fromkeys(name for name, _ in again)]
    more = f" and {len(names) - NAMES_TOLD} more" if len(names) > NAMES_TOLD else ""
    told = f"{', '.join(names[:NAMES_TOLD])}{more}"
    return [DUPLICATE_NAME.found(again[0][1], "caller", parameters=(("names", told),))]


def _given_again(named: Sequence[tuple[str | None, JobPart]]) -> list[tuple[str, JobPart]]:
    """The names that stood before, each with the place where it is given again."""
    if len({name for name, _ in named}) == len(named):
        return []
    seen, again = set[str](), list[tuple[str, JobPart]]()
    for name, subject in named:
        if name is None:
            continue
        if name in seen:
            again.append((name, subject))
        seen.add(name)
    return again


WATTS_LIKE_EQUIVALENT: Final = FindingKind(
    "watts-like-equivalent",
    (NOTE,),
    "{where}{others}: {measured} is a lot for one LED fixture. Is it the power that it draws, or the watts of"
    " the lamp that it replaces?",
    "An LED fixture whose watts look like those of the lamp that it replaces.",
)


def equivalent_findings(connected: Connected) -> list[FindingFacts]:
    """The LED fixtures of 12 V whose watts look like an equivalent, once for all lines of the same watts.

    Totals are of many fixtures, and are not looked at.
    """
    if connected.job.layout_unknown or connected.job.nominal_v not in {None, REFERENCE_NOMINAL_V}:
        return []
    least = tables.constant("equivalent_from")
    alike: dict[float, list[JobPart]] = {}
    for line in connected.layout.lines:
        if line.load.power_w >= least.value and not (line.strip_m or line.together):
            alike.setdefault(line.load.power_w, []).append(line.subject)
    return [
        WATTS_LIKE_EQUIVALENT.found(
            subjects[0],
            least.source,
            measured=Amount(power_w, "W"),
            parameters=(("others", f" and {len(subjects) - 1} more" if len(subjects) > 1 else ""),),
        )
        for power_w, subjects in alike.items()
    ]


APPARENT_BELOW_REAL: Final = FindingKind(
    "apparent-below-real",
    (WARNING,),
    "{where} states fewer volt-amperes than watts, which cannot be; the watts are used.",
    "Apparent power below real power.",
)

POWER_FACTOR_BESIDE_APPARENT_POWER: Final = FindingKind(
    "power-factor-beside-apparent-power",
    (NOTE,),
    "{where} states both a power factor and volt-amperes; the volt-amperes are used.",
    "Two statements of the same thing.",
)

POWER_FACTOR_ON_DIRECT_CURRENT: Final = FindingKind(
    "power-factor-on-direct-current",
    (NOTE,),
    "{where} states a power factor or volt-amperes; on direct current only the watts count.",
    "A statement that has no meaning on direct current.",
)

FIRST_PAST_END: Final = FindingKind(
    "first-past-end",
    (NOTE,),
    "{where}: the first fixture lies beyond the length of the cable; it is taken at the end.",
    "The first fixture of an even wiring lies past the length.",
)


REMARKED: Final = {
    Remark.APPARENT_BELOW_REAL: APPARENT_BELOW_REAL,
    Remark.POWER_FACTOR_BESIDE_APPARENT_POWER: POWER_FACTOR_BESIDE_APPARENT_POWER,
    Remark.POWER_FACTOR_ON_DIRECT_CURRENT: POWER_FACTOR_ON_DIRECT_CURRENT,
    Remark.FIRST_PAST_END: FIRST_PAST_END,
}
"""Remarks on a load that are findings; the others are assumptions."""


def remark_findings(connected: Connected) -> list[FindingFacts]:
    """One finding for each remark on each fixture line."""
    return [
        REMARKED[remark].found(line.subject, "caller")
        for line in connected.layout.lines
        for remark in line.remarks
        if remark in REMARKED
    ]
