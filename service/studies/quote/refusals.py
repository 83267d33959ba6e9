"""What of a quote cannot be as it is described: each mistake by its kind, all of them in one refusal."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from service.problems import ErrorKind, Mistake, ProblemKind, UnansweredError

QUOTE_INVALID: Final = ProblemKind(
    "quote-invalid",
    422,
    "The quote contradicts itself or leaves something open",
    "It names a row, a tax or a place that there is not, or says something in a way that cannot be.",
    "Change every place that is listed.",
    detail="{places} of the quote cannot be as described; `errors` lists {which}.",
)


class QuoteInvalidError(UnansweredError):
    """A quote that cannot be as it is described, with every mistake in it."""

    def __init__(self, mistakes: Sequence[Mistake]) -> None:
        super().__init__(QUOTE_INVALID, f"{len(mistakes)} mistakes in the quote", mistakes)


UNKNOWN_ITEM: Final = ErrorKind(
    "unknown-item",
    "A part names a row that its class of the catalogue lacks.",
    'No row of `catalogue.{1}` has the id "{0}".{guess} Name one of them, or add the row.',
)

DUPLICATE_ROW: Final = ErrorKind(
    "duplicate-row",
    "Two rows of the catalogue, of labour or of ground have one id.",
    'The id "{0}" stands on more than one row. Give each an id of its own.',
)

DUPLICATE_ALTERNATIVE: Final = ErrorKind(
    "duplicate-alternative",
    "Two alternatives have one id.",
    'The id "{0}" stands on more than one alternative. Give each an id of its own.',
)

UNKNOWN_TAX: Final = ErrorKind(
    "unknown-tax",
    "A tax code is not listed.",
    'No tax has the code "{0}".{guess} Name one of `money.taxes`.',
)

DUPLICATE_TAX: Final = ErrorKind(
    "duplicate-tax",
    "Two taxes have one code.",
    'The code "{0}" stands on more than one tax. Give each a code of its own.',
)

PERCENT_TOO_FINE: Final = ErrorKind(
    "percent-too-fine",
    "A percentage that a bill prints has more than 6 decimals.",
    "{0} per cent is printed with {1} decimals, and a bill has 6 at most. Round it.",
)

MARGIN_TOO_LARGE: Final = ErrorKind(
    "margin-too-large",
    "A margin is not below 100 per cent.",
    "A margin is per cent of the price and below 100. Send less, or a markup.",
)

UPLIFT_WITHOUT_COST: Final = ErrorKind(
    "uplift-without-cost",
    "Prices are net or gross, and an uplift is asked for.",
    'Prices are "{0}", so nothing is put on them. Leave `uplift` out, or send prices at cost.',
)

DUPLICATE_UPLIFT: Final = ErrorKind(
    "duplicate-uplift",
    "Two uplifts are of one class.",
    'More than one uplift is for "{0}". Send one for each class.',
)

BASE_QUANTITY_ZERO: Final = ErrorKind(
    "base-quantity-zero",
    "A price is for a quantity of zero.",
    "A price for none is no price. Send for how many it is.",
)

BASE_MISSING: Final = ErrorKind(
    "base-missing",
    "What is counted by length does not say for how much of it.",
    "It is for so much length, and `base` does not say how much. Send a length above 0.",
)

BASE_UNUSED: Final = ErrorKind(
    "base-unused",
    "A base stands where nothing is counted by length.",
    "`base` goes with `length` or `crossing`, and this is counted per {0}. Leave it out.",
)

UNKNOWN_CURRENCY: Final = ErrorKind(
    "unknown-currency",
    "The currency is not one of ISO 4217 in which can be paid.",
    'ISO 4217 lists no currency "{0}" that has a minor unit. Send one such as EUR or USD.',
)

WRONG_CHECK_DIGIT: Final = ErrorKind(
    "wrong-check-digit",
    "A GTIN has a wrong length or check digit.",
    '"{0}" is no GTIN: 8, 12, 13 or 14 digits, the last of which checks the others. Compare the label.',
)

ADJUSTMENT_UNCLEAR: Final = ErrorKind(
    "adjustment-unclear",
    "An allowance or charge has no amount, or two.",
    "Send either `amount` or `percent`.",
)

ADJUSTMENT_TAX: Final = ErrorKind(
    "adjustment-tax",
    "The tax of an allowance or charge is missing, or stands beside a line that has its own.",
    "Of the whole bill it needs a `tax`; of a line it has that of its line: {0}.",
)

UNKNOWN_LINE: Final = ErrorKind(
    "unknown-line",
    "An allowance or charge names a row that there is not.",
    'No row has the id "{0}".{guess} Name one of the catalogue, of `labour` or of `ground`.',
)

NOT_A_DATE: Final = ErrorKind(
    "not-a-date",
    "The calendar has no such day.",
    '"{0}" is no day of the calendar. Send one as 2026-05-04.',
)

TOTALS_NOT_QUOTED: Final = ErrorKind(
    "totals-not-quoted",
    "Of a wiring only its total load and length are known.",
    "Fixtures and joints of a wiring in the form `totals` are not known. Send `runs`, `even` or `spans`.",
)

TOO_MANY_LENGTHS: Final = ErrorKind(
    "too-many-lengths",
    "A cable is cut in too many different lengths.",
    'The pieces of "{0}" have {1} different lengths; {2} are cut at most. Divide the quote, or round.',
)

UNKNOWN_PLACE: Final = ErrorKind(
    "unknown-place",
    "A pointer is to no cable on a route.",
    "{0} is no run, branch, spur, return leg or span of this request.",
)

UNKNOWN_GROUND: Final = ErrorKind(
    "unknown-ground",
    "A place names a ground that there is not.",
    'No ground has the id "{0}".{guess} Name one of `ground`.',
)

OUTSIDE_ROUTE: Final = ErrorKind(
    "outside-route",
    "A place or a crossing is not within its run.",
    "It is from {0} to {1}, and the route goes from 0 to {2}.",
)

GROUND_TWICE: Final = ErrorKind(
    "ground-twice",
    "Two places say the ground of one stretch.",
    "{0} says the ground of a part of this already. Let one end where the other begins.",
)

NOT_PER_CROSSING: Final = ErrorKind(
    "not-per-crossing",
    "A crossing names a sundry that is not counted per crossing.",
    'The row "{0}" is counted per {1}. Name one that is per crossing.',
)
