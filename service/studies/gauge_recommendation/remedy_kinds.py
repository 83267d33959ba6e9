"""Kinds of remedies: the code of each, what is to be done, and how it is told."""

from __future__ import annotations

from typing import Final, NamedTuple


class RemedyKind(NamedTuple):
    """One kind of change.

    Parameters
    ----------
    code, words : str
        What is to be done, `{where}` and with which `{parameter}`.
    rank : int
        Told after all of a lower rank, whatever it costs: what has no price here comes last.
    priced : bool
        Whether a total holds its price.
    together : bool
        Whether it reads the same of several runs as of one: they are named in one sentence.
    """

    code: str
    words: str
    rank: int = 0
    priced: bool = True
    together: bool = False


LARGER_BOX: Final = RemedyKind(
    "larger-box",
    "Use a transformer of {parameter}, otherwise the same.",
    priced=False,
)

LARGER_SUPPLY: Final = RemedyKind(
    "larger-supply",
    "Use a supply of at least {parameter}, otherwise the same.",
    priced=False,
)

SMALLER_DEVICE: Final = RemedyKind(
    "smaller-device",
    "Fit a device of {parameter} in place of a larger one.",
    rank=1,
    priced=False,
    together=True,
)

OTHER_CIRCUIT: Final = RemedyKind(
    "other-circuit",
    'Put {where} on circuit "{parameter}".',
    together=True,
)

TAP_UP: Final = RemedyKind(
    "tap-up",
    "Put {where} on the {parameter} tap.",
    together=True,
)

TAP_DOWN: Final = RemedyKind(
    "tap-down",
    "Put {where} on the {parameter} tap.",
    together=True,
)

BOX_WITH_TAPS: Final = RemedyKind(
    "box-with-taps",
    "Use a transformer with taps of 12, 13, 14 and 15 V and put {where} on its {parameter} tap.",
    rank=1,
    priced=False,
    together=True,
)

OTHER_CABLE: Final = RemedyKind(
    "other-cable",
    "Use other cable of the stock in {where}.",
)

OWN_RUN: Final = RemedyKind(
    "own-run",
    "Move the farthest fixtures of {where}, {parameter} in number, to a new run from the supply"
    " along the same route.",
)

SPLIT_THE_RUN: Final = RemedyKind(
    "split-the-run",
    "Split {where} in two, each part from the supply: {parameter} fixtures, nearest first.",
)

SPLIT_FURTHER: Final = RemedyKind(
    "split-further",
    "Split {where}, each part from the supply: {parameter} fixtures, nearest first.",
)

FEED_FROM_THE_MIDDLE: Final = RemedyKind(
    "feed-from-the-middle",
    "Bring the cable of {where} to the middle of its fixtures and feed both ways.",
)

CLOSE_THE_LOOP: Final = RemedyKind(
    "close-the-loop",
    "Bring the far end of {where} back to the supply.",
)

THICKER: Final = RemedyKind(
    "thicker",
    "Use {parameter} in {where}, which the stock does not have.",
    rank=2,
    priced=False,
    together=True,
)

THICKER_LEADS: Final = RemedyKind(
    "thicker-leads",
    "Use leads of {parameter} for the fixtures of {where}.",
    rank=1,
    priced=False,
    together=True,
)

TWICE_THE_VOLTAGE: Final = RemedyKind(
    "twice-the-voltage",
    "Use a 24 V supply and 24 V fixtures of the same watts.",
    rank=3,
    priced=False,
)

LOWER_VOLTAGE: Final = RemedyKind(
    "lower-voltage",
    "Use a supply of {parameter}, otherwise the same.",
    rank=1,
    priced=False,
)

ALLOW_JOINTS: Final = RemedyKind(
    "allow-joints",
    'Allow joints in the cable: `cutting.joints` "anywhere".',
)

LONGER_SPOOL: Final = RemedyKind(
    "longer-spool",
    "Offer a spool that holds the longest piece.",
)

FEWER_WATTS: Final = RemedyKind(
    "fewer-watts",
    "Bring every load of {where} down to {parameter} of its watts.",
    rank=4,
    together=True,
)

THICKEST_OF_THE_STOCK: Final = RemedyKind(
    "thickest-of-the-stock",
    "Use the thickest cable of the stock.",
)


REMEDY_KINDS: Final = {
    each.code: each
    for each in (
        LARGER_BOX,
        LARGER_SUPPLY,
        SMALLER_DEVICE,
        OTHER_CIRCUIT,
        TAP_UP,
        TAP_DOWN,
        BOX_WITH_TAPS,
        OTHER_CABLE,
        OWN_RUN,
        SPLIT_THE_RUN,
        SPLIT_FURTHER,
        FEED_FROM_THE_MIDDLE,
        CLOSE_THE_LOOP,
        THICKER,
        THICKER_LEADS,
        TWICE_THE_VOLTAGE,
        LOWER_VOLTAGE,
        ALLOW_JOINTS,
        LONGER_SPOOL,
        FEWER_WATTS,
        THICKEST_OF_THE_STOCK,
    )
}
"""Every kind, by its code."""


TOGETHER: Final = "together"
"""The code of a remedy whose changes are of several kinds."""
