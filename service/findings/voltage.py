"""Voltage at the fixtures: windows and drop."""

from __future__ import annotations

from math import floor, inf
from typing import Final

from service import tables
from service.circuit.cables import resolve_cable
from service.circuit.corners import Corner
from service.circuit.growth import GROWTH_WATCHED, is_near_collapse
from service.circuit.job import CableSpec, FixtureSpec, Job, JobPart, Listed, Remark, Supply
from service.circuit.layout import PlacedFixture
from service.circuit.limits import over_drop
from service.circuit.reading import StateReading
from service.circuit.state import Connected, SolvedState
from service.circuit.windows import INSIDE
from service.findings.finding import (
    FAULT,
    GROWTH_LEFT,
    HIGH_VOLTAGE,
    LOW_VOLTAGE,
    NOTE,
    WARNING,
    Amount,
    FindingFacts,
    FindingKind,
)
from service.physics.end_voltage import even_spread

FIXTURE_BELOW_WINDOW: Final = FindingKind(
    "fixture-below-window",
    (FAULT, WARNING),
    "{where} gets {measured}, below {limit}. {effect} {remedy}.",
    "The voltage at the lamp is below its voltage range, or below what the trade goes by.",
    several="{count} lamps{on} get less than {limit}; the lowest is {place} with {measured}. {effect}"
    " {remedy}.",
    unlike="{count} lamps{on} get less than they need; the worst is {place} with {measured}, below {limit}."
    " {effect} {remedy}.",
    limited=LOW_VOLTAGE,
)

FIXTURE_ABOVE_WINDOW: Final = FindingKind(
    "fixture-above-window",
    (FAULT,),
    "{where} gets {measured}, above {limit}. {effect} {remedy}.",
    "The voltage at the lamp is above its voltage range.",
    several="{count} lamps{on} get more than {limit}; the highest is {place} with {measured}. {effect}"
    " {remedy}.",
    unlike="{count} lamps{on} get more than they stand; the worst is {place} with {measured}, above {limit}."
    " {effect} {remedy}.",
    limited=HIGH_VOLTAGE,
)


def window_findings(reading: StateReading) -> list[FindingFacts]:
    """One finding for each fixture that is not inside its window."""
    state, judged_v = reading.state, reading.volts.judged_v
    outside = [row for row, verdict in enumerate(reading.volts.verdict) if verdict != INSIDE]
    those = [(state.layout.fixtures[row], judged_v[row]) for row in outside]
    found = [outside_finding(state, placed.subject, placed.line, volts) for placed, volts in those]
    return [each for each in found if each is not None]


def outside_finding(
    connected: Connected, subject: JobPart, line: FixtureSpec, voltage_v: float
) -> FindingFacts | None:
    """The finding for a fixture at a voltage [V]; None inside its window."""
    bounds = connected.bounds(line)
    verdict = bounds.verdict(voltage_v)
    if verdict == "inside":
        return None
    low = verdict in {"below", "low"}
    kind = FIXTURE_BELOW_WINDOW if low else FIXTURE_ABOVE_WINDOW
    return kind.found(
        subject,
        bounds.source,
        measured=Amount(voltage_v, "V", -1 if low else 1),
        limit=Amount(bounds.limit_of(verdict), "V"),
        parameters=(
            *_where(connected.job, LUMPED_LAMP),
            ("effect", _effect(verdict, filament=line.filament, stated=bounds.stated)),
            ("remedy", _remedy(verdict, connected, bounds.limit_of(verdict))),
        ),
        severity=FAULT if verdict in {"below", "above"} else WARNING,
    )


LUMPED_LAMP: Final = "With all of the load at the far end, a fixture there"
LUMPED_RUN: Final = "With all of the load at its far end the run"
SPREAD_LAMP: Final = "With the load spread evenly, the fixture next to the supply"
"""What is spoken of where only total load and length are known: a bound, and no fixture of the job."""


THICKER_CABLE: Final = "Use thicker cable"
"""What helps a low lamp, by the words with which such a remedy begins."""


def _where(job: Job, words: str) -> tuple[tuple[str, str], ...]:
    """The subject in words, where it is none that the request knows."""
    return (("where", words),) if job.layout_unknown else ()


def _effect(verdict: str, *, filament: bool, stated: bool) -> str:
    """What the voltage is likely to do to the fixture."""
    if verdict == "above":
        return "A fixture fed above its voltage range ages fast and may fail."
    if filament:
        return "A filament lamp glows dim and yellow there."
    if stated or verdict == "low":
        return "Dim light, flicker or no light is possible."
    return "An LED fixture is likely to flicker or stay dark there."


def _remedy(verdict: str, connected: Connected, limit_v: float) -> str:
    """What to do about a voltage [V]; a tap only where the supply may have one, cable only where it helps."""
    supply, given_v = connected.job.supply, max(connected.feed.open_circuit_v)
    has_taps = len(supply.taps_v) > 1 or len(connected.feed.taps_v) > 1
    if verdict in {"below", "low"} and given_v <= limit_v and not has_taps:
        cut_off = " or a higher cut-off" if supply.kind == "battery" else ""
        return (
            f"The supply itself gives {given_v:.2f} V then, so no cable helps: use fixtures made for less,"
            f" a supply of more volts{cut_off}"
        )
    if verdict in {"below", "low"}:
        return f"{THICKER_CABLE}, or a shorter or split run" + (", or a higher tap" if has_taps else "")
    return "Use a lower tap" if has_taps else "Use a supply of lower voltage"


STRIP_RAIL_NOT_STATED: Final = FindingKind(
    "strip-rail-not-stated",
    (WARNING, NOTE),
    "{where}: the strip's own resistance is not stated, so its far end is shown as its start. At {usual} ohm"
    " a metre, usual for a strip, its far end would get {end}.{remedy} Ask its maker.",
    "An LED strip whose own resistance the request does not state.",
    limited=LOW_VOLTAGE,
)

STRIP_REMEDY = " Feed it at both ends or in shorter lengths."


def strip_findings(reading: StateReading) -> list[FindingFacts]:
    """What the far end of a strip of unstated resistance would get at a usual one, once for each line.

    The voltage where it is fed is taken as solved, so what its rails lose makes it draw no more from there.
    """
    if not any(Remark.STRIP_WITHOUT_RAIL in line.remarks for line in reading.state.layout.lines):
        return []
    lowest: dict[str, tuple[float, PlacedFixture]] = {}
    for placed, start_v in zip(reading.state.layout.fixtures, reading.volts.start_v, strict=True):
        pointer = placed.line.subject.pointer
        if Remark.STRIP_WITHOUT_RAIL in placed.line.remarks and (
            pointer not in lowest or start_v < lowest[pointer][0]
        ):
            lowest[pointer] = start_v, placed
    return [_strip_finding(reading.state, start_v, placed) for start_v, placed in lowest.values()]


def _strip_finding(state: SolvedState, start_v: float, placed: PlacedFixture) -> FindingFacts:
    """The far end of one strip that is fed at a voltage. [V]"""
    line, usual = placed.line, tables.constant("strip_rail_resistance")
    burden = usual.value * line.strip_m * line.load.power_w / (start_v * start_v)
    end = even_spread(1.0).end(burden)
    bounds, end_v = state.bounds(line), 0.0 if end is None else start_v * end.voltage_ratio
    low = bounds.is_low(end_v)
    shown = "next to nothing" if end is None else f"about {end_v:.1f} V"
    return STRIP_RAIL_NOT_STATED.found(
        placed.subject,
        usual.source,
        measured=None if end is None else Amount(end_v, "V", -1 if low else 0),
        limit=Amount(bounds.low_v, "V") if low else None,
        parameters=(("usual", f"{usual.value:g}"), ("end", shown), ("remedy", STRIP_REMEDY if low else "")),
        severity=WARNING if low else NOTE,
    )


DROP_OVER_LIMIT: Final = FindingKind(
    "drop-over-limit",
    (FAULT,),
    "{where} loses {measured} of the rated voltage in the cable; the request allows {limit}.",
    "The cable drop is over the limit that the request set.",
    several="{count} lamps{on} lose more than {limit} of the rated voltage in the cable, which the request"
    " allows; most is lost at {place}, {measured}.",
    limited=LOW_VOLTAGE,
)


def drop_findings(reading: StateReading) -> list[FindingFacts]:
    """Fixtures whose cable drop is over the caller's own limit."""
    limit_ratio = reading.state.job.maximum_drop_ratio
    if limit_ratio is None:
        return []
    return [
        DROP_OVER_LIMIT.found(
            placed.subject,
            "caller",
            measured=Amount(100.0 * drop_ratio, "%", 1),
            limit=Amount(100.0 * limit_ratio, "%"),
            parameters=_where(reading.state.job, LUMPED_RUN),
        )
        for placed, drop_ratio in zip(reading.state.layout.fixtures, reading.volts.drop_ratio, strict=True)
        if over_drop(drop_ratio, limit_ratio)
    ]


NO_OPERATING_POINT: Final = FindingKind(
    "no-operating-point",
    (FAULT,),
    "{where} has too much load for its {cause}: it can deliver at most {limit} of it{state}, and the"
    " lamps get too little well before that. {advice}.",
    "The wiring cannot carry the load; no voltage would satisfy it.",
    corner_template="The wiring cannot carry its load in one of the corners asked for.",
    limited=LOW_VOLTAGE,
)


COMMON_THICKEST: Final = CableSpec(Listed("8 AWG", None, None), None, 1)
"""The thickest cable that is usual for 12 V runs: common practice, no published source."""


ADVICE: Final = f"{THICKER_CABLE}, shorter or split runs, fewer watts or more volts"


THICKER_IS_NOT_ENOUGH: Final = (
    "Thicker cable alone, even 8 AWG, is not enough: split or shorten the run, use fewer watts or more volts"
)


def _cable_advice(connected: Connected, share: float) -> str:
    """What helps: ohms divided by a factor carry that factor times the load at most."""
    least = resolve_cable(COMMON_THICKEST, AT_C).ohm_per_m
    ohms = [resolve_cable(span.cable.spec, AT_C).ohm_per_m for span in connected.layout.spans if span.cable]
    return ADVICE if share * max(ohms, default=inf) / least >= 1.0 else THICKER_IS_NOT_ENOUGH


AT_C: Final = 20.0
"""Where the resistances of two cables are compared. [°C]"""


def collapse_finding(
    connected: Connected, subject: JobPart, *, share: float, state: str = ""
) -> FindingFacts:
    """A job that gives way as stated, beside the share of its load that could be carried, found to 1 %.

    Parameters
    ----------
    subject : JobPart
        The run or stretch that gives way, or the supply where that does.
    share : float
        [-]
    state : str
        Where the share is that of another state, which, in words.
    """
    percent = 100.0 * share
    of_state = f" in its worst state ({state})" if state else ""
    supply = connected.job.supply
    itself = subject == supply.subject
    return NO_OPERATING_POINT.found(
        subject,
        "own-calculation",
        limit=Amount(percent, "%", -1),
        parameters=(
            *(() if itself else _where(connected.job, LUMPED_RUN)),
            ("limit", f"{max(1, floor(percent))} %"),
            ("state", of_state),
            ("cause", _own_cause(supply) if itself else "cable"),
            ("advice", LARGER_SUPPLY if itself else _cable_advice(connected, share)),
        ),
    )


LARGER_SUPPLY: Final = "Use a larger supply, one that sags less, or fewer watts"
"""What helps where the supply gives way itself."""


def _own_cause(supply: Supply) -> str:
    return "own resistance" if supply.winding is None else "winding"


def corner_collapse_finding(connected: Connected, corner: Corner) -> FindingFacts:
    """A corner that has no operating point."""
    return NO_OPERATING_POINT.found(connected.job.supply.subject, "own-calculation", corner=corner)


NEAR_COLLAPSE: Final = FindingKind(
    "near-collapse",
    (WARNING,),
    "The wiring cannot carry {limit} times its load: a little more load or length and the voltage collapses.",
    "The load is close to the largest that the wiring can carry.",
    limited=GROWTH_LEFT,
)


def growth_findings(state: SolvedState, *, certain: float) -> list[FindingFacts]:
    """That a little more load would bring the voltage down, where it would.

    Parameters
    ----------
    state : SolvedState
        Solved at factor 1.
    certain : float
        A factor that is known to be carried. [-]
    """
    if not is_near_collapse(state.network, certain=certain):
        return []
    subject, limit = state.job.supply.subject, Amount(GROWTH_WATCHED, "1")
    return [NEAR_COLLAPSE.found(subject, "own-calculation", limit=limit)]
