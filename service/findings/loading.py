"""Currents and volt-amperes against circuits, ratings and Class 2."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, floor, hypot, sqrt
from typing import Final

from service import tables
from service.circuit.job import JobPart, Remark
from service.circuit.layout import load_drawn
from service.circuit.limits import (
    LAST_DIGITS,
    beyond,
    class_2_current_a,
    continuous_limit,
    near_circuit_limit,
    over_circuit,
    over_rating,
)
from service.circuit.reading import StateReading
from service.circuit.state import Connected
from service.circuit.supply import Feed
from service.findings.finding import (
    CIRCUIT_CURRENT,
    FAULT,
    LEAST_LOAD,
    NOTE,
    VOLT_AMPERES,
    WARNING,
    WATTS,
    Amount,
    FindingFacts,
    FindingKind,
)

TRANSFORMER_OVER_RATING: Final = FindingKind(
    "transformer-over-rating",
    (FAULT,),
    "{drawn} {measured} at the terminals of a transformer rated {limit}. It overheats: take a larger one or"
    " split the load.",
    "Apparent power, cable loss included, is over the rating.",
    limited=VOLT_AMPERES,
)

WIRING_DRAWS: Final = (("drawn", "The wiring draws"),)
LAMPS_DRAW: Final = (("drawn", "The lamps alone draw"),)
"""What draws so much: what was solved, or the least of any wiring."""

WINDING_OVER_CURRENT: Final = FindingKind(
    "winding-over-current",
    (FAULT,),
    "On its {tap} tap the transformer carries {measured}; its rating allows {limit}. At low voltage the"
    " same watts draw more current, and current heats the winding: take a larger one or split the load.",
    "The volt-amperes are within the rating, but the current is over rating divided by rated voltage. Where"
    " several taps are in use their currents are added up as on the first of them.",
    limited=VOLT_AMPERES,
)

DC_SUPPLY_OVER_RATING: Final = FindingKind(
    "dc-supply-over-rating",
    (FAULT,),
    "{drawn} {measured} from a supply rated {limit}. Take a larger one or split the load.",
    "The power drawn, cable loss included, is over the rating of the DC supply.",
    limited=WATTS,
)

BELOW_MINIMUM_LOAD: Final = FindingKind(
    "below-minimum-load",
    (WARNING,),
    "The wiring draws {measured}; {box} needs at least {limit} connected, or it may flicker or not start.",
    "The real power drawn is below the minimum load of the supply.",
    limited=LEAST_LOAD,
)


def loading_findings(reading: StateReading) -> list[FindingFacts]:
    """The rating of the supply, too much and too little."""
    state, supply = reading.state, reading.supply
    job_supply, subject = state.job.supply, state.job.supply.subject
    found = []
    if over_rating(supply.used_ratio):
        found.append(over_rating_finding(reading))
    if job_supply.minimum_load_w is not None and supply.below_minimum:
        found.append(below_minimum_load_finding(subject, supply.real_w, job_supply.minimum_load_w))
    return found


def below_minimum_load_finding(subject: JobPart, real_w: float, least_w: float) -> FindingFacts:
    """A supply that delivers less than it asks for. [W]"""
    drawn, least = Amount(real_w, "W", -1), Amount(least_w, "W")
    return BELOW_MINIMUM_LOAD.found(subject, "caller", drawn, least, (("box", "this supply"),))


def over_rating_finding(reading: StateReading) -> FindingFacts:
    """By its volt-amperes or watts, else by the current that its rating allows."""
    job_supply, supply = reading.state.job.supply, reading.supply
    if job_supply.winding is None:
        drawn, rating = Amount(supply.apparent_va, "W", 1), Amount(job_supply.rating_w or 0.0, "W")
        return DC_SUPPLY_OVER_RATING.found(job_supply.subject, "caller", drawn, rating, WIRING_DRAWS)
    rating_va = job_supply.winding.rating_va
    tap_v = next(tap.rated_v for tap in supply.taps if tap.current_a > 0.0)
    if over_rating(supply.apparent_va / rating_va):
        drawn, rating = Amount(supply.apparent_va, "VA", 1), Amount(rating_va, "VA")
        return TRANSFORMER_OVER_RATING.found(job_supply.subject, "caller", drawn, rating, WIRING_DRAWS)
    return WINDING_OVER_CURRENT.found(
        job_supply.subject,
        "caller",
        measured=Amount(supply.used_va / tap_v, "A", 1),
        limit=Amount(rating_va / tap_v, "A"),
        parameters=(("tap", f"{tap_v:g} V"),),
    )


RATING_AT_USUAL_POWER_FACTOR: Final = FindingKind(
    "rating-at-usual-power-factor",
    (WARNING,),
    "Not every power factor is stated. At {power_factor}, usual for LED lamps, the wiring would draw about"
    " {measured} from a transformer rated {limit}. Send the volt-amperes of the labels.",
    "With the power factor that LED lamps usually have the supply would be over its rating.",
    limited=VOLT_AMPERES,
)


def power_factor_findings(reading: StateReading) -> list[FindingFacts]:
    """A transformer within its rating only as long as lamps of unstated power factor have one of 1."""
    winding, usual_va = reading.state.job.supply.winding, usual_apparent_va(reading)
    if winding is None or usual_va is None or over_rating(reading.supply.loading_ratio):
        return []
    if not over_rating(usual_va / winding.rating_va):
        return []
    return [usual_power_factor_finding(reading.state.job.supply.subject, usual_va, winding.rating_va)]


def usual_power_factor_finding(subject: JobPart, usual_va: float, rating_va: float) -> FindingFacts:
    """A transformer that would be over its rating at a usual power factor. [VA]"""
    usual = tables.constant("usual_power_factor")
    return RATING_AT_USUAL_POWER_FACTOR.found(
        subject,
        usual.source,
        measured=Amount(usual_va, "VA", 1),
        limit=Amount(rating_va, "VA"),
        parameters=(("power_factor", f"{usual.value:g}"),),
    )


def usual_loading_ratio(reading: StateReading) -> float | None:
    """Share of the rating that would be drawn at a usual power factor. [-]

    None where the rating is not known, on direct current, and where every power factor is stated.
    """
    winding, usual_va = reading.state.job.supply.winding, usual_apparent_va(reading)
    return None if winding is None or usual_va is None else usual_va / winding.rating_va


def usual_apparent_va(reading: StateReading) -> float | None:
    """About what would be drawn if fixtures of unstated power factor had a usual one. [VA]

    The volts are taken as solved; heat in the cables grows with the square of what passes. None on direct
    current, and where every power factor is stated.
    """
    layout = reading.state.layout
    if not any(Remark.POWER_FACTOR_UNSTATED in line.remarks for line in layout.lines):
        return None
    unstated_w = sum(
        watts * placed.pieces
        for placed, watts in zip(layout.fixtures, reading.real_w, strict=True)
        if Remark.POWER_FACTOR_UNSTATED in placed.line.remarks
    )
    if unstated_w <= 0.0:
        return None
    cosine = tables.constant("usual_power_factor").value
    real_w, apparent_va = reading.supply.real_w, reading.supply.apparent_va
    other_var = sqrt(max(0.0, apparent_va * apparent_va - real_w * real_w))
    if reading.state.job.all_in_phase:
        drawn_w = reading.fixture_w + unstated_w * (1.0 / cosine - 1.0)
    else:
        drawn_w, other_var = reading.fixture_w, other_var + unstated_w * sqrt(1.0 / (cosine * cosine) - 1.0)
    before_va = hypot(reading.fixture_w, sqrt(max(0.0, apparent_va * apparent_va - real_w * real_w)))
    loss_w = reading.cable_loss_w * (hypot(drawn_w, other_var) / before_va) ** 2
    return hypot(drawn_w + loss_w, other_var)


CIRCUIT_OVER_CURRENT: Final = FindingKind(
    "circuit-over-current",
    (FAULT,),
    'Circuit "{name}" {carries} {measured}; its device is rated {limit} and may open. {remedy}.',
    "The current of a circuit is over the rating of its overcurrent device.",
    limited=CIRCUIT_CURRENT,
)

CONTINUOUS_SHARE: Final = f"{100.0 * continuous_limit(1.0):g} %"
"""Of its device what a circuit may carry of a continuous load, in words."""

CIRCUIT_NEAR_LIMIT: Final = FindingKind(
    "circuit-near-limit",
    (WARNING,),
    f'Circuit "{{name}}" {{carries}} {{measured}}; for lighting, a continuous load, {{limit}} is the most,'
    f" {CONTINUOUS_SHARE} of its device. {{remedy}}.",
    f"The current of a circuit is over {CONTINUOUS_SHARE} of its device.",
    limited=CIRCUIT_CURRENT,
)

CIRCUIT_NOT_DECLARED: Final = FindingKind(
    "circuit-not-declared",
    (NOTE,),
    'Circuit "{name}" is not among the supply\'s circuits; no device is known for it.',
    "A run names a circuit that the supply does not list.",
)


SOLVED, AT_LEAST = "carries", "would carry at least"
"""What is known of a current: what was solved, or the least with which the lamps get their watts."""


def circuit_findings(reading: StateReading) -> list[FindingFacts]:
    """Each circuit whose device is stated, against its limit and the share of that for a continuous load."""
    state, found = reading.state, list[FindingFacts]()
    carried_a = [circuit.current_a for circuit in reading.supply.circuits]
    for index, circuit in enumerate(reading.supply.circuits):
        found += _device_findings(state, index, carried_a, SOLVED)
        if not state.feed.circuits[index].declared:
            name = (("name", circuit.name),)
            found.append(CIRCUIT_NOT_DECLARED.found(circuit_subject(state, index), "caller", parameters=name))
    return found


def least_current_findings(connected: Connected) -> list[FindingFacts]:
    """Each circuit against its device, by what its lamps draw at least: of wiring that was not solved.

    Cable loses volts and the supply gives no more than its open-circuit voltage, so watts that do not follow
    the voltage take no less than at that.
    """
    drawn = [0j for _ in connected.feed.circuits]
    for placed in connected.layout.fixtures:
        load = load_drawn(placed, all_in_phase=connected.job.all_in_phase)
        volts = connected.tap_open_circuit_v(placed.feeder)
        drawn[connected.feed.circuit_of[placed.feeder]] += complex(load.power_w, load.non_active_var) / volts
    carried_a = [abs(each) for each in drawn]
    return [
        found
        for index in range(len(drawn))
        for found in _device_findings(connected, index, carried_a, AT_LEAST)
    ]


def _device_findings(
    connected: Connected, index: int, carried_a: Sequence[float], known: str
) -> list[FindingFacts]:
    """The current of a circuit beside its stated device, and beside the share for a continuous load. [A]

    `carried_a`: of each circuit of the supply.
    """
    circuit, current_a = connected.feed.circuits[index], carried_a[index]
    limit_a = circuit.limit_a
    if limit_a is None:
        return []
    amps, subject = Amount(current_a, "A", 1), circuit_subject(connected, index)
    remedy = _of_circuit(connected.feed, index, carried_a, limit_a)
    parts = (("name", circuit.name), ("carries", known), ("remedy", remedy))
    if over_circuit(current_a, limit_a):
        return [CIRCUIT_OVER_CURRENT.found(subject, "caller", amps, Amount(limit_a, "A"), parts)]
    if not near_circuit_limit(current_a, limit_a):
        return []
    near, source = Amount(continuous_limit(limit_a), "A"), tables.constant("continuous_load_ratio").source
    return [CIRCUIT_NEAR_LIMIT.found(subject, source, amps, near, parts)]


def _of_circuit(feed: Feed, index: int, carried_a: Sequence[float], limit_a: float) -> str:
    """What to do about a circuit that carries too much: what is moved has room elsewhere, as far as known."""
    if len(feed.circuits) == 1:
        return "Use fewer watts on it, or a supply with more circuits"
    limits_a, alone = [each.limit_a for each in feed.circuits], feed.circuit_of.count(index) == 1
    known_a = [each for each in limits_a if each is not None]
    if len(known_a) == len(limits_a) and beyond(sum(carried_a), continuous_limit(sum(known_a))):
        return _more_circuits(carried_a, known_a, limit_a, alone=alone)
    if not alone:
        return "Move a run to another circuit"
    rooms_a = [
        (continuous_limit(limit) - carried, circuit.name)
        for circuit, limit, carried in zip(feed.circuits, limits_a, carried_a, strict=True)
        if limit is not None
    ]
    room_a, name = max(rooms_a)
    if room_a < carried_a[index] - continuous_limit(limit_a):
        return "Split its run over several circuits"
    return f'Move part of its run to circuit "{name}", which has {floor(100.0 * room_a) / 100.0:g} A to spare'


def _more_circuits(
    carried_a: Sequence[float], limits_a: Sequence[float], limit_a: float, *, alone: bool
) -> str:
    """How many circuits like the one that carries too much a load takes at least, and how many there are."""
    lacking_a, each_a = sum(carried_a) - continuous_limit(sum(limits_a)), continuous_limit(limit_a)
    more = ceil(lacking_a / each_a * (1.0 - LAST_DIGITS))
    split = "Split its run, on a supply with more circuits" if alone else "Take a supply with more circuits"
    if len(set(limits_a)) > 1:
        further = "one more" if more == 1 else f"{more} more"
        return f"{split}: the load takes at least {further} of {limit_a:g} A"
    number = len(limits_a)
    return f"{split}: the load takes at least {number + more} of {limit_a:g} A, and this supply has {number}"


CLASS_2_EXCEEDED: Final = FindingKind(
    "class-2-exceeded",
    (FAULT,),
    'Circuit "{name}" carries {measured}; a Class 2 source of its voltage gives at most {limit}.',
    "The current is over the nameplate limit of a Class 2 source.",
    limited=CIRCUIT_CURRENT,
)


def class_2_findings(reading: StateReading) -> list[FindingFacts]:
    """Each circuit of a Class 2 supply against the largest nameplate current of its voltage."""
    state, supply = reading.state, reading.supply
    if not state.job.supply.class_2:
        return []
    highest_v = max(tap.open_circuit_v for tap in supply.taps)
    limit_a = class_2_current_a(highest_v)
    source = tables.constant("class_2_lower_band_current").source
    return [
        CLASS_2_EXCEEDED.found(
            circuit_subject(state, index),
            source,
            measured=Amount(circuit.current_a, "A", 1),
            limit=Amount(limit_a, "A"),
            parameters=(("name", circuit.name),),
        )
        for index, circuit in enumerate(supply.circuits)
        if over_circuit(circuit.current_a, limit_a)
    ]


def circuit_subject(state: Connected, index: int) -> JobPart:
    """The circuit where the caller declared it, else the first feeder that is on it, else the supply."""
    if index < len(state.job.supply.circuits):
        return state.job.supply.circuits[index].subject
    for feeder, of in zip(state.job.feeders(), state.feed.circuit_of, strict=True):
        if of == index:
            member = "/circuit" if feeder.circuit is not None else ""
            return JobPart(feeder.subject.pointer + member, feeder.subject.id)
    return state.job.supply.subject
