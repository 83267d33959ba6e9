"""How the wiring is connected to its supply."""

from __future__ import annotations

from typing import Final

from service import tables
from service.circuit.job import JobPart
from service.circuit.limits import above_voltage, too_far
from service.circuit.state import Connected
from service.findings.finding import FAULT, NOTE, WARNING, Amount, FindingFacts, FindingKind

WET_CONTACT_VOLTAGE: Final = FindingKind(
    "wet-contact-voltage",
    (FAULT, NOTE),
    "With nothing connected the {tap} tap reads {measured}; where people may touch it wet (pools, fountains)"
    " the limit is {limit}. Use a lower voltage there.",
    "The no-load voltage is above what is allowed where wet contact is likely.",
)


def wet_contact_findings(connected: Connected) -> list[FindingFacts]:
    """Taps above what is allowed where wet contact is likely: a fault; a note where that is not stated."""
    if connected.job.wet_contact is False:
        return []
    limit = tables.constant("wet_contact_dc" if connected.job.supply.direct_current else "wet_contact_ac")
    return _taps_above(connected, WET_CONTACT_VOLTAGE, limit, FAULT if connected.job.wet_contact else NOTE)


SUPPLY_ABOVE_LOW_VOLTAGE: Final = FindingKind(
    "supply-above-low-voltage",
    (FAULT,),
    "With nothing connected the {tap} tap reads {measured}, above the {limit} of low voltage. Check the mains"
    " voltages in the request.",
    f"The no-load voltage is above {tables.constant('low_voltage_ac').value:g} V AC or"
    f" {tables.constant('low_voltage_dc').value:g} V DC: no longer low voltage.",
)


def low_voltage_findings(connected: Connected) -> list[FindingFacts]:
    """Taps whose no-load voltage is no longer low voltage, because the stated mains lift it there."""
    limit = tables.constant("low_voltage_dc" if connected.job.supply.direct_current else "low_voltage_ac")
    return _taps_above(connected, SUPPLY_ABOVE_LOW_VOLTAGE, limit, FAULT)


def _taps_above(
    connected: Connected, kind: FindingKind, limit: tables.Constant, severity: str
) -> list[FindingFacts]:
    """Taps whose no-load voltage is above a limit. [V]"""
    return [
        kind.found(
            connected.job.supply.subject,
            limit.source,
            measured=Amount(volts, "V", 1),
            limit=Amount(limit.value, "V"),
            parameters=(("tap", Amount(tap_v, "V")),),
            severity=severity,
        )
        for tap_v, volts in zip(connected.feed.taps_v, _highest_v(connected), strict=True)
        if above_voltage(volts, limit.value)
    ]


def _highest_v(connected: Connected) -> list[float]:
    """No-load voltage of each tap; of a battery its highest. [V], one per tap"""
    highest_v = list(connected.feed.open_circuit_v)
    if connected.job.supply.range_v is not None:
        highest_v[0] = max(highest_v[0], *connected.job.supply.range_v)
    return highest_v


TAP_NOT_OFFERED: Final = FindingKind(
    "tap-not-offered",
    (FAULT,),
    "{where} is on a {measured} tap, which the supply does not have. Name one of its taps.",
    "A run names a tap that is not among those of the supply.",
)

TAP_ON_DIRECT_CURRENT: Final = FindingKind(
    "tap-on-direct-current",
    (NOTE,),
    "{where} is on a {measured} tap; a DC supply or a battery has none, so the tap is ignored.",
    "A run names a tap of a supply that has none.",
)


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
            found.append(TAP_ON_DIRECT_CURRENT.found(subject, "caller", measured=asked))
        elif supply.taps_v and feeder.tap_v not in {*supply.taps_v, supply.rated_v}:
            found.append(TAP_NOT_OFFERED.found(subject, "caller", measured=asked))
    return found


CABLE_TOO_LONG_FOR_SUPPLY: Final = FindingKind(
    "cable-too-long-for-supply",
    (FAULT,),
    "{where} ends {measured} from the supply, which allows {limit} of cable.",
    "A run reaches farther than the supply's maker allows.",
)


def length_findings(connected: Connected) -> list[FindingFacts]:
    """Runs, and lamps behind a lead, that reach farther than the supply's maker allows."""
    limit_m = connected.job.supply.maximum_cable_m
    if limit_m is None:
        return []
    reached = [(end.subject, end.distance_m) for end in connected.layout.ends]
    reached += [
        (placed.subject, placed.distance_m)
        for placed in connected.layout.fixtures
        if placed.line.lead is not None
    ]
    return [
        CABLE_TOO_LONG_FOR_SUPPLY.found(
            subject,
            "caller",
            measured=Amount(distance_m, "m", 1),
            limit=Amount(limit_m, "m"),
        )
        for subject, distance_m in reached
        if too_far(distance_m, limit_m)
    ]


SUPPLY_RANGE_EMPTY: Final = FindingKind(
    "supply-range-empty",
    (FAULT,),
    "The battery's lowest voltage, {measured}, is above its highest, {limit}.",
    "The lowest voltage of a battery is above its highest.",
)

SUPPLY_NOMINAL_OUTSIDE_RANGE: Final = FindingKind(
    "supply-nominal-outside-range",
    (WARNING,),
    "The battery's nominal voltage, {measured}, lies outside its own range.",
    "The nominal voltage of a battery is below its lowest or above its highest.",
)


def range_findings(connected: Connected) -> list[FindingFacts]:
    """A battery whose lowest voltage is above its highest, or whose nominal lies outside."""
    supply, subject = connected.job.supply, connected.job.supply.subject
    if supply.range_v is None:
        return []
    lowest_v, highest_v = supply.range_v
    if lowest_v > highest_v:
        lowest, highest = Amount(lowest_v, "V", 1), Amount(highest_v, "V", -1)
        return [SUPPLY_RANGE_EMPTY.found(subject, "caller", measured=lowest, limit=highest)]
    if not lowest_v <= supply.rated_v <= highest_v:
        nominal = Amount(supply.rated_v, "V")
        return [SUPPLY_NOMINAL_OUTSIDE_RANGE.found(subject, "caller", measured=nominal)]
    return []


CABLE_CHANGE_PAST_END: Final = FindingKind(
    "cable-change-past-end",
    (NOTE,),
    "{where}: the cable change at {measured} lies past the end at {limit} and changes nothing.",
    "A change of cable beyond the end of its run.",
)


def change_findings(connected: Connected) -> list[FindingFacts]:
    """Cable changes that lie past the end of their run and so change nothing."""
    return [
        CABLE_CHANGE_PAST_END.found(
            change.subject,
            "caller",
            measured=Amount(change.at_m, "m"),
            limit=Amount(end.end_m, "m"),
        )
        for end in connected.layout.ends
        for change in end.changes
        if change.at_m >= end.end_m
    ]


CABLE_CHANGE_OVERRIDDEN: Final = FindingKind(
    "cable-change-overridden",
    (NOTE,),
    "{where} has two cable changes at {measured}; the later one in the request is used.",
    "Two changes of cable at one place.",
)


def repeated_change_findings(connected: Connected) -> list[FindingFacts]:
    """Two cable changes at one place, of which only the later can hold."""
    return [
        CABLE_CHANGE_OVERRIDDEN.found(change.subject, "caller", measured=Amount(change.at_m, "m"))
        for end in connected.layout.ends
        for index, change in enumerate(end.changes)
        if any(change.at_m == earlier.at_m for earlier in end.changes[:index])
    ]
