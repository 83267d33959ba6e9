"""Conductors against the current in them and against the device in front of them."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Final, NamedTuple

from service.circuit.cables import Cable
from service.circuit.job import JobPart
from service.circuit.layout import LaidSpan, Layout
from service.circuit.limits import below_trip, device_too_large, over_ampacity
from service.circuit.reading import StateReading
from service.circuit.state import Connected, SolvedState
from service.circuit.supply import FedCircuit
from service.findings.finding import (
    CABLE_CURRENT,
    DEVICE_OF_CONDUCTOR,
    DEVICE_OF_SHORT,
    FAULT,
    NOTE,
    WARNING,
    Amount,
    FindingFacts,
    FindingKind,
)
from service.physics.certificate import short_circuit_resistances

SPAN_OVER_AMPACITY: Final = FindingKind(
    "span-over-ampacity",
    (FAULT,),
    "{where} carries {measured} in {conductor}, whose ampacity is {limit}. The cable overheats.",
    "The current in a cable is over its ampacity.",
    several="{count} pieces of cable{on} carry more than they may; the worst is {place}: {measured} in"
    " {conductor}, whose ampacity is {limit}. The cable overheats.",
    limited=CABLE_CURRENT,
)

AMPACITY_NOT_LISTED: Final = FindingKind(
    "ampacity-not-listed",
    (NOTE,),
    "{where}: the ampacity of its cable ({conductor}) is not listed; check {measured} with the maker.",
    "The tables have no ampacity for this conductor, so it was not checked.",
)


AMPACITY_UNKNOWN: Final = FindingKind(
    "ampacity-unknown",
    (FAULT,),
    "{where}: no table lists an ampacity for {conductor}, so it is not recommended. Offer another conductor.",
    "A cable on offer for which the tables have no ampacity; no choice holds it.",
)


def unknown_ampacity(subject: JobPart, cable: Cable) -> list[FindingFacts]:
    """What rules a cable out that is offered as a choice: nobody can tell whether it overheats."""
    if cable.ampacity_a is not None:
        return []
    where = f'Cable "{subject.id}" of the stock' if subject.id else "A cable of the stock"
    return [
        AMPACITY_UNKNOWN.found(subject, "caller", parameters=(("where", where), ("conductor", cable.name)))
    ]


def ampacity_findings(reading: StateReading) -> list[FindingFacts]:
    """Cables that carry more than their ampacity, and cables for which no table lists one.

    Of each the stretch with the most current in one cable, where leads alike lie side by side. [A]
    """
    worst: dict[tuple[str, str], tuple[float, JobPart, Cable]] = {}
    unlisted: dict[tuple[str, str], tuple[float, JobPart, Cable]] = {}
    for span, signed_a in zip(reading.state.layout.spans, reading.spans.current_a, strict=True):
        cable = span.cable
        if cable is None:
            continue
        each_a, limit_a = abs(signed_a) / span.pieces, cable.ampacity_a
        if limit_a is not None and not over_ampacity(each_a, limit_a):
            continue
        found, key = unlisted if limit_a is None else worst, (span.subject.pointer, cable.name)
        if key not in found or each_a > found[key][0]:
            found[key] = each_a, span.subject, cable
    over = [
        SPAN_OVER_AMPACITY.found(
            subject,
            cable.ampacity_source,
            measured=Amount(each_a, "A", 1),
            limit=Amount(cable.ampacity_a or 0.0, "A"),
            parameters=(("conductor", cable.name),),
        )
        for each_a, subject, cable in worst.values()
    ]
    return over + [
        AMPACITY_NOT_LISTED.found(
            subject, "caller", measured=Amount(each_a, "A", 1), parameters=(("conductor", cable.name),)
        )
        for each_a, subject, cable in unlisted.values()
    ]


CONDUCTOR_BELOW_DEVICE: Final = FindingKind(
    "conductor-below-device",
    (WARNING,),
    '{where}: {conductor} needs a device of {limit} or less; circuit "{name}" has {measured}. This is right'
    " only where the lighting system is listed for it.",
    "The smallest conductor of a circuit is thinner than its overcurrent device asks for.",
    limited=DEVICE_OF_CONDUCTOR,
)


def too_large_device(connected: Connected, feeder: int, cable: Cable) -> FedCircuit | None:
    """The circuit whose stated device is larger than a cable on it may stand behind on its own; None: it may.

    A Class 2 source limits its own current; no device stands before its conductors. A listing may cover a
    system as a whole.
    """
    circuit = connected.feed.circuits[connected.feed.circuit_of[feeder]]
    if connected.job.supply.class_2 or circuit.listed_system or circuit.limit_a is None:
        return None
    return circuit if device_too_large(circuit.limit_a, cable.device_a) else None


def device_findings(state: Connected) -> list[FindingFacts]:
    """The conductor least fit to stand behind each circuit's stated device, leads included."""
    if state.job.supply.class_2 or all(circuit.limit_a is None for circuit in state.feed.circuits):
        return []
    weakest: dict[int, tuple[LaidSpan, Cable]] = {}
    for span in state.layout.spans:
        if span.cable is None or span.cable.device_a is None:
            continue
        of = state.feed.circuit_of[span.feeder]
        if of not in weakest or span.cable.device_a < (weakest[of][1].device_a or 0.0):
            weakest[of] = span, span.cable
    return [
        CONDUCTOR_BELOW_DEVICE.found(
            span.subject,
            cable.device_source,
            measured=Amount(circuit.limit_a or 0.0, "A", 1),
            limit=Amount(cable.device_a or 0.0, "A"),
            parameters=(("conductor", cable.name), ("name", circuit.name)),
        )
        for span, cable in weakest.values()
        if (circuit := too_large_device(state, span.feeder, cable)) is not None
    ]


DEVICE_NOT_STATED: Final = FindingKind(
    "device-not-stated",
    (NOTE,),
    "No overcurrent device is stated for {name}, so none was checked. State its rating with the"
    " circuit.{allowed}",
    "A circuit in use whose overcurrent device the request does not state.",
)

MOST_NAMED = 5
"""Circuits that one message names."""


def unstated_device_findings(connected: Connected) -> list[FindingFacts]:
    """One note where a circuit in use has no stated device, and the largest that its cable allows."""
    supply, feed = connected.job.supply, connected.feed
    unstated = [each for each in dict.fromkeys(feed.circuit_of) if feed.circuits[each].limit_a is None]
    if not unstated or supply.class_2:
        return []
    return [device_not_stated(connected, unstated, supply.subject, _named(connected, unstated))]


def device_not_stated(
    connected: Connected, unstated: Collection[int], subject: JobPart, name: str
) -> FindingFacts:
    """That no device is known for some circuits, and the largest that the thinnest cable on them allows."""
    feed = connected.feed
    fed = {end.subject for end in connected.layout.run_ends() if feed.circuit_of[end.feeder] in unstated}
    thinnest = [cable for run, cable in thinnest_cables(connected.layout).items() if run in fed]
    if not thinnest:
        return DEVICE_NOT_STATED.found(
            subject, "own-calculation", parameters=(("name", name), ("allowed", ""))
        )
    cable = min(thinnest, key=lambda each: each.device_a or 0.0)
    limit = Amount(cable.device_a or 0.0, "A", -1)
    allowed = f" To protect the thinnest cable, {cable.name}, it may be {limit.value:g} A at most, leads not"
    allowed += " counted."
    return DEVICE_NOT_STATED.found(
        subject, cable.device_source, limit=limit, parameters=(("name", name), ("allowed", allowed))
    )


def _named(connected: Connected, circuits: list[int]) -> str:
    """The circuits in words; the only one of a supply that lists none is the supply itself."""
    feed = connected.feed
    if len(feed.circuits) == 1 and not connected.job.supply.circuits:
        return "the supply"
    return circuits_named([feed.circuits[circuit].name for circuit in circuits])


def circuits_named(names: Sequence[str]) -> str:
    """Circuits by their names, the first of many."""
    some = ", ".join(f'"{name}"' for name in names[:MOST_NAMED])
    return f"circuit {some}" + (" and others" if len(names) > MOST_NAMED else "")


def thinnest_cables(layout: Layout) -> dict[JobPart, Cable]:
    """Of each run, its branches and spurs included, the cable that stands behind the smallest device.

    Leads are chosen with their fixture and are not counted. A run with a cable for which no table lists a
    device is left out.
    """
    runs = {end.feeder: end.subject for end in layout.run_ends()}
    laid = {
        (span.feeder, id(span.cable)): span.cable
        for span in layout.spans
        if span.cable is not None and span.cable_at
    }
    thinnest: dict[JobPart, Cable] = {}
    unknown: set[JobPart] = set()
    for (feeder, _), cable in laid.items():
        run = runs[layout.leaders[feeder]]
        if cable.device_a is None:
            unknown.add(run)
        elif run not in thinnest or cable.device_a < (thinnest[run].device_a or 0.0):
            thinnest[run] = cable
    return {run: cable for run, cable in thinnest.items() if run not in unknown}


SHORT_CIRCUIT_BELOW_TRIP: Final = FindingKind(
    "short-circuit-below-trip",
    (WARNING,),
    "{where}: a dead short at the far end would draw only {measured}, so the {limit} device of circuit"
    ' "{name}" may not trip. Use thicker cable, a shorter run or a smaller device.',
    "A bolted short at the far end does not reach the rating of the device.",
    limited=DEVICE_OF_SHORT,
)


def short_circuit_findings(state: SolvedState) -> list[FindingFacts]:
    """The far end of each run where a bolted short draws least, if less than its stated device's rating."""
    if state.job.supply.class_2 or all(fed.limit_a is None for fed in state.feed.circuits):
        return []
    circuits, circuit_of = state.feed.circuits, state.feed.circuit_of
    return [
        found
        for feeder, end in weakest_ends(state).items()
        if (found := end.behind(circuits[circuit_of[feeder]])) is not None
    ]


class WeakestEnd(NamedTuple):
    """The far end of a feeder where a bolted short draws least. [A]"""

    subject: JobPart
    short_a: float

    def behind(self, circuit: FedCircuit) -> FindingFacts | None:
        """What is to be said of it behind the device of a circuit."""
        if circuit.limit_a is None or not below_trip(self.short_a, circuit.limit_a):
            return None
        return SHORT_CIRCUIT_BELOW_TRIP.found(
            self.subject,
            "own-calculation",
            measured=Amount(self.short_a, "A", -1),
            limit=Amount(circuit.limit_a, "A"),
            parameters=(("name", circuit.name),),
        )


def weakest_ends(state: SolvedState) -> dict[int, WeakestEnd]:
    """Of each feeder the far end where a bolted short draws least; none where nothing limits it."""
    resistance = short_circuit_resistances(state.network)
    weakest: dict[int, WeakestEnd] = {}
    for end in state.layout.ends:
        if resistance[end.point] <= 0.0:
            continue
        short_a = 1.0 / (resistance[end.point] * state.tap_open_circuit_v(end.feeder))
        if end.feeder not in weakest or short_a < weakest[end.feeder].short_a:
            weakest[end.feeder] = WeakestEnd(end.subject, short_a)
    return weakest
