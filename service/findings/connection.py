"""How the wiring is connected to its supply."""

from __future__ import annotations

from service import tables
from service.circuit.job import JobPart
from service.circuit.state import Connected
from service.findings.finding import FAULT, NOTE, WARNING, Amount, FindingFacts


def wet_contact_findings(connected: Connected) -> list[FindingFacts]:
    """Taps whose no-load voltage is above what is allowed where wet contact is likely."""
    limit = tables.constant("wet_contact_dc" if connected.job.supply.direct_current else "wet_contact_ac")
    return [
        FindingFacts(
            "wet-contact-voltage",
            WARNING,
            connected.job.supply.subject,
            limit.source,
            measured=Amount(volts, "V", 1),
            limit=Amount(limit.value, "V"),
            parameters=(("tap", Amount(tap_v, "V")),),
        )
        for tap_v, volts in zip(connected.feed.taps_v, _highest_v(connected), strict=True)
        if volts > limit.value
    ]


def low_voltage_findings(connected: Connected) -> list[FindingFacts]:
    """Taps whose no-load voltage is no longer low voltage, because the mains that were said lift it there."""
    limit = tables.constant("low_voltage_dc" if connected.job.supply.direct_current else "low_voltage_ac")
    return [
        FindingFacts(
            "supply-above-low-voltage",
            FAULT,
            connected.job.supply.subject,
            limit.source,
            measured=Amount(volts, "V", 1),
            limit=Amount(limit.value, "V"),
            parameters=(("tap", Amount(tap_v, "V")),),
        )
        for tap_v, volts in zip(connected.feed.taps_v, _highest_v(connected), strict=True)
        if volts > limit.value
    ]


def _highest_v(connected: Connected) -> list[float]:
    """No-load voltage of each tap; of a battery its highest. [V], one per tap"""
    highest_v = list(connected.feed.open_circuit_v)
    if connected.job.supply.range_v is not None:
        highest_v[0] = max(highest_v[0], *connected.job.supply.range_v)
    return highest_v


def tap_findings(connected: Connected) -> list[FindingFacts]:
    """Taps that the box does not offer, and taps asked of a supply that has none."""
    supply = connected.job.supply
    found = []
    for feeder in connected.job.feeders():
        if feeder.tap_v is None:
            continue
        subject = JobPart(f"{feeder.subject.pointer}/tap", feeder.subject.id)
        asked = Amount(feeder.tap_v, "V")
        if supply.direct_current:
            found.append(FindingFacts("tap-on-direct-current", NOTE, subject, "caller", measured=asked))
        elif supply.taps_v and feeder.tap_v not in {*supply.taps_v, supply.rated_v}:
            found.append(FindingFacts("tap-not-offered", FAULT, subject, "caller", measured=asked))
    return found


def length_findings(connected: Connected) -> list[FindingFacts]:
    """Runs, and lamps behind a lead, that reach farther than the supply's maker allows."""
    limit_m = connected.job.supply.maximum_cable_m
    if limit_m is None:
        return []
    too_far = [(end.subject, end.distance_m) for end in connected.layout.ends if end.distance_m > limit_m]
    too_far += [
        (placed.line.subject._replace(number=placed.number), placed.distance_m)
        for placed in connected.layout.fixtures
        if placed.line.lead is not None and placed.distance_m > limit_m
    ]
    return [
        FindingFacts(
            "cable-too-long-for-supply",
            FAULT,
            subject,
            "caller",
            measured=Amount(distance_m, "m", 1),
            limit=Amount(limit_m, "m"),
        )
        for subject, distance_m in too_far
    ]


def range_findings(connected: Connected) -> list[FindingFacts]:
    """A battery whose lowest voltage is above its highest, or whose nominal lies outside."""
    supply, subject = connected.job.supply, connected.job.supply.subject
    if supply.range_v is None:
        return []
    lowest_v, highest_v = supply.range_v
    if lowest_v > highest_v:
        lowest, highest = Amount(lowest_v, "V", 1), Amount(highest_v, "V", -1)
        return [FindingFacts("supply-range-empty", FAULT, subject, "caller", measured=lowest, limit=highest)]
    if not lowest_v <= supply.rated_v <= highest_v:
        nominal = Amount(supply.rated_v, "V")
        return [FindingFacts("supply-nominal-outside-range", WARNING, subject, "caller", measured=nominal)]
    return []


def change_findings(connected: Connected) -> list[FindingFacts]:
    """Cable changes that lie past the end of their run and so change nothing."""
    return [
        FindingFacts(
            "cable-change-past-end",
            NOTE,
            change.subject,
            "caller",
            measured=Amount(change.at_m, "m"),
            limit=Amount(end.end_m, "m"),
        )
        for end in connected.layout.ends
        for change in end.changes
        if change.at_m >= end.end_m
    ]


def repeated_change_findings(connected: Connected) -> list[FindingFacts]:
    """Two cable changes at one place, of which only the later can hold."""
    return [
        FindingFacts(
            "cable-change-overridden", NOTE, change.subject, "caller", measured=Amount(change.at_m, "m")
        )
        for end in connected.layout.ends
        for index, change in enumerate(end.changes)
        if any(change.at_m == earlier.at_m for earlier in end.changes[:index])
    ]
