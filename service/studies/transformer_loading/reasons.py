"""Why a transformer is not recommended: each reason once, with all that is said of it.

A reason that is that of a finding has its code.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from service import tables
from service.findings.connection import TAP_NOT_OFFERED
from service.findings.loading import BELOW_MINIMUM_LOAD, RATING_AT_USUAL_POWER_FACTOR, WINDING_OVER_CURRENT
from service.findings.protection import CONDUCTOR_BELOW_DEVICE, SHORT_CIRCUIT_BELOW_TRIP
from service.findings.voltage import NO_OPERATING_POINT


@dataclass(frozen=True, slots=True)
class ReasonKind:
    """What all reasons of one code have in common.

    Parameters
    ----------
    code : str
        Stable: the contract.
    message : str
        Of a unit that is ruled out, with the parts that a reason fills in.
    in_the_range : str
        Why a unit that carries the stated state does not carry every corner; empty where it cannot be why.
    lacks : str
        Of the nearest of several that are large enough what it lacks; empty where it cannot lack that.
    """

    code: str
    message: str
    in_the_range: str = ""
    lacks: str = ""


RATED_TOO_LOW: Final = ReasonKind(
    "rating-below-connected", "The fixtures, spare included, need {measured}; it is rated {limit}."
)

RATED_BELOW_LABELS: Final = ReasonKind(
    RATED_TOO_LOW.code, "The fixtures need {measured}; it is rated {limit}."
)
"""The same where there is to be no spare."""

LOADING_OVER_MAXIMUM: Final = ReasonKind(
    "loading-over-maximum",
    "It would carry {measured}; the most that it may be loaded to is {limit}.",
    "would be loaded to {measured} at its worst, and {limit} is the most",
    "Those large enough by their plates would be loaded to more than is allowed",
)

TOO_MUCH_CURRENT: Final = ReasonKind(
    WINDING_OVER_CURRENT.code,
    "Its winding would carry {measured}; its rating allows {limit}.",
    "would carry {measured} at its worst, and its rating allows {limit}",
    "Those large enough by their plates would carry more current than is allowed",
)

TAP_MISSING: Final = ReasonKind(
    TAP_NOT_OFFERED.code,
    "It has no {measured} tap.",
    lacks="Those large enough do not have every tap in use",
)

CANNOT_BE_CARRIED: Final = ReasonKind(
    NO_OPERATING_POINT.code,
    "Behind it the wiring cannot carry its load.",
    "would have wiring behind it that at its worst cannot carry its load",
    "It is not the rating: the cable cannot carry the load. Change that first",
)

TOO_LITTLE_LOAD: Final = ReasonKind(
    BELOW_MINIMUM_LOAD.code,
    "The wiring draws {measured} at its lightest; it asks for at least {limit}.",
)

RUN_OVER_CIRCUIT: Final = ReasonKind(
    "run-over-circuit",
    "{where} draws {measured}; its widest circuit is limited to {limit}.",
    "would feed a run of {measured} at its worst, and its widest circuit is for {limit}",
    "It is not the rating: a run draws more than a circuit may carry. Split it first",
)

CIRCUITS_TOO_FEW: Final = ReasonKind(
    "circuits-too-few",
    "No division over its circuits was found: one would carry {measured} of {limit}.",
    "would carry {measured} at its worst on a circuit for {limit}",
    "Those large enough have too few circuits for the runs",
)

CIRCUIT_REASONS: Final = frozenset({RUN_OVER_CIRCUIT, CIRCUITS_TOO_FEW})
"""Reasons that a transformer with other circuits would not have."""

FULL_AT_USUAL_POWER_FACTOR: Final = ReasonKind(
    RATING_AT_USUAL_POWER_FACTOR.code,
    f"At {tables.constant('usual_power_factor').value:g}, a usual power factor of LED lamps, it would carry"
    " about {measured}; it is rated {limit}.",
)

TOO_THIN_FOR_DEVICE: Final = ReasonKind(
    CONDUCTOR_BELOW_DEVICE.code,
    "{where} needs a device of {limit} or less; its circuit has {measured}.",
)

MAY_NOT_TRIP: Final = ReasonKind(
    SHORT_CIRCUIT_BELOW_TRIP.code,
    "A short at the far end of {where} draws {measured}; its device of {limit} may not trip.",
)

BEHIND_IT: Final = "Behind it: {told}"
"""Of a unit with which voltage-drop finds a fault or a warning: what it finds."""

NOT_TRIED: Final = ReasonKind("not-tried", "The work ended before it was tried.")

LARGER_THAN_NEEDED: Final = ReasonKind("larger-than-needed", "It is rated {measured}; {limit} is enough.")

COSTS_MORE: Final = ReasonKind("costs-more", "One of the same rating costs less.")

WITHOUT_PRICE: Final = ReasonKind("without-price", "It has no price; one of the same rating has.")

LISTED_LATER: Final = ReasonKind("listed-later", "One of the same rating and price stands before it.")
