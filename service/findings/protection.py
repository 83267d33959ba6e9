"""Conductors against the current in them and against the device in front of them."""

from __future__ import annotations

from typing import Final

from service.circuit.layout import LaidSpan
from service.circuit.limits import device_too_large, over_ampacity
from service.circuit.state import SolvedState, SpanResult
from service.findings.finding import FAULT, NOTE, WARNING, Amount, FindingFacts, FindingKind
from service.physics.certificate import short_circuit_resistances

SPAN_OVER_AMPACITY: Final = FindingKind(
    "span-over-ampacity",
    (FAULT,),
    "{where} carries {measured} in {conductor}, whose ampacity is {limit}. The cable overheats.",
    "The current in a cable is over its ampacity.",
)

AMPACITY_NOT_LISTED: Final = FindingKind(
    "ampacity-not-listed",
    (NOTE,),
    "{where}: the ampacity of its cable ({conductor}) is not listed; check {measured} with the maker.",
    "The tables have no ampacity for this conductor, so it was not checked.",
)


def ampacity_findings(spans: list[SpanResult]) -> list[FindingFacts]:
    """Cables that carry more than their ampacity, and cables for which no table lists one."""
    worst: dict[tuple[str, str], SpanResult] = {}
    unlisted: dict[tuple[str, str], SpanResult] = {}
    for span in spans:
        cable = span.laid.cable
        if cable is None:
            continue
        key = (span.laid.subject.pointer, cable.name)
        if cable.ampacity_a is None:
            unlisted.setdefault(key, span)
        elif over_ampacity(each_a(span), cable.ampacity_a) and (
            key not in worst or each_a(span) > each_a(worst[key])
        ):
            worst[key] = span
    over = [_over_ampacity(span) for span in worst.values()]
    return over + [_not_listed(span) for span in unlisted.values()]


def each_a(span: SpanResult) -> float:
    """Current of one cable, where leads alike lie side by side. [A]"""
    return abs(span.current_a) / span.laid.pieces


def _over_ampacity(span: SpanResult) -> FindingFacts:
    cable = span.laid.cable
    assert cable is not None  # noqa: S101  only spans with a cable are collected
    return SPAN_OVER_AMPACITY.found(
        span.laid.subject,
        cable.ampacity_source,
        measured=Amount(each_a(span), "A", 1),
        limit=Amount(cable.ampacity_a or 0.0, "A"),
        parameters=(("conductor", cable.name),),
    )


def _not_listed(span: SpanResult) -> FindingFacts:
    cable = span.laid.cable
    name = "" if cable is None else cable.name
    return AMPACITY_NOT_LISTED.found(
        span.laid.subject,
        "caller",
        measured=Amount(each_a(span), "A", 1),
        parameters=(("conductor", name),),
    )


CONDUCTOR_BELOW_DEVICE: Final = FindingKind(
    "conductor-below-device",
    (WARNING,),
    '{where}: {conductor} stands behind the {measured} device of circuit "{name}"; on its own it may stand'
    " behind {limit} at most, unless the listing of the system covers it.",
    "The smallest conductor of a circuit is thinner than its overcurrent device asks for.",
)


def device_findings(state: SolvedState) -> list[FindingFacts]:
    """The conductor least fit to stand behind each circuit's device, leads included."""
    if state.job.supply.class_2:
        return []  # A Class 2 source limits its own current; no device stands before its conductors.
    weakest: dict[int, tuple[float, LaidSpan]] = {}
    for laid in state.layout.spans:
        if laid.cable is None or laid.cable.device_a is None:
            continue
        circuit = state.feed.circuit_of[laid.feeder]
        if circuit not in weakest or laid.cable.device_a < weakest[circuit][0]:
            weakest[circuit] = (laid.cable.device_a, laid)
    found = []
    for circuit, (device_a, laid) in weakest.items():
        limit_a = state.feed.circuits[circuit].limit_a
        if device_too_large(limit_a, device_a) and laid.cable is not None:
            found.append(
                CONDUCTOR_BELOW_DEVICE.found(
                    laid.subject,
                    laid.cable.device_source,
                    measured=Amount(limit_a, "A", 1),
                    limit=Amount(device_a, "A"),
                    parameters=(("conductor", laid.cable.name), ("name", state.feed.circuits[circuit].name)),
                )
            )
    return found


SHORT_CIRCUIT_BELOW_TRIP: Final = FindingKind(
    "short-circuit-below-trip",
    (WARNING,),
    '{where}: a short at the far end draws {measured}, less than the {limit} device of circuit "{name}",'
    " which may never trip.",
    "A bolted short at the far end does not reach the rating of the device.",
)


def short_circuit_findings(state: SolvedState) -> list[FindingFacts]:
    """The far end of each run where a bolted short draws least, if less than its device's rating."""
    if state.job.supply.class_2:
        return []
    resistance = short_circuit_resistances(state.network)
    worst: dict[int, FindingFacts] = {}
    lowest_a: dict[int, float] = {}
    for end in state.layout.ends:
        circuit = state.feed.circuits[state.feed.circuit_of[end.feeder]]
        if resistance[end.point] <= 0.0:
            continue
        short_a = 1.0 / (resistance[end.point] * state.tap_open_circuit_v(end.feeder))
        if short_a < circuit.limit_a and short_a < lowest_a.get(end.feeder, circuit.limit_a):
            lowest_a[end.feeder] = short_a
            worst[end.feeder] = SHORT_CIRCUIT_BELOW_TRIP.found(
                end.subject,
                "own-calculation",
                measured=Amount(short_a, "A", -1),
                limit=Amount(circuit.limit_a, "A"),
                parameters=(("name", circuit.name),),
            )
    return list(worst.values())
