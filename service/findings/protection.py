"""Conductors against the current in them and against the device in front of them."""

from __future__ import annotations

from service.circuit.layout import LaidSpan
from service.circuit.state import SolvedState, SpanResult
from service.findings.finding import NOTE, WARNING, Amount, FindingFacts
from service.physics.certificate import short_circuit_resistances


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
        elif each_a(span) > cable.ampacity_a and (key not in worst or each_a(span) > each_a(worst[key])):
            worst[key] = span
    over = [_over_ampacity(span) for span in worst.values()]
    return over + [_not_listed(span) for span in unlisted.values()]


def each_a(span: SpanResult) -> float:
    """Current of one cable, where leads alike lie side by side. [A]"""
    return abs(span.current_a) / span.laid.pieces


def _over_ampacity(span: SpanResult) -> FindingFacts:
    cable = span.laid.cable
    assert cable is not None  # noqa: S101  only spans with a cable are collected
    return FindingFacts(
        "span-over-ampacity",
        "fault",
        span.laid.subject,
        cable.ampacity_source,
        measured=Amount(each_a(span), "A", 1),
        limit=Amount(cable.ampacity_a or 0.0, "A"),
        parameters=(("conductor", cable.name),),
    )


def _not_listed(span: SpanResult) -> FindingFacts:
    cable = span.laid.cable
    name = "" if cable is None else cable.name
    return FindingFacts(
        "ampacity-not-listed",
        NOTE,
        span.laid.subject,
        "caller",
        measured=Amount(each_a(span), "A", 1),
        parameters=(("conductor", name),),
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
        if limit_a > device_a and laid.cable is not None:
            found.append(
                FindingFacts(
                    "conductor-below-device",
                    WARNING,
                    laid.subject,
                    laid.cable.device_source,
                    measured=Amount(limit_a, "A", 1),
                    limit=Amount(device_a, "A"),
                    parameters=(("conductor", laid.cable.name), ("name", state.feed.circuits[circuit].name)),
                )
            )
    return found


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
            worst[end.feeder] = FindingFacts(
                "short-circuit-below-trip",
                WARNING,
                end.subject,
                "own-calculation",
                measured=Amount(short_a, "A", -1),
                limit=Amount(circuit.limit_a, "A"),
                parameters=(("name", circuit.name),),
            )
    return list(worst.values())
