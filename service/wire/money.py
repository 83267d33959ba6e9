"""Money: amounts as decimal text, one currency a request."""

from __future__ import annotations

from typing import Annotated, Final

from msgspec import Meta

AMOUNT_DECIMALS: Final = 6
"""The most that an amount of a request may have."""


Amount = Annotated[
    str,
    Meta(
        pattern=r"^[0-9]{1,13}(\.[0-9]{1,6})?(?![\s\S])",
        max_length=20,
        description="An amount of money as decimal text.",
    ),
]


ShownAmount = Annotated[
    str,
    Meta(pattern=r"^[0-9]{1,30}(\.[0-9]{1,4})?(?![\s\S])", description="An amount of money as decimal text."),
]


ShownPrice = Annotated[
    str,
    Meta(pattern=r"^[0-9]{1,60}(\.[0-9]{1,6})?(?![\s\S])", description="A unit price as decimal text."),
]


SignedAmount = Annotated[
    str,
    Meta(
        pattern=r"^-?[0-9]{1,60}(\.[0-9]{1,4})?(?![\s\S])",
        description="An amount of money as decimal text; below zero with a minus.",
    ),
]


DecimalText = Annotated[
    str,
    Meta(
        pattern=r"^[0-9]{1,9}(\.[0-9]{1,6})?(?![\s\S])",
        max_length=16,
        description="A number as decimal text.",
    ),
]


Currency = Annotated[
    str,
    Meta(pattern=r"^[A-Z]{3}(?![\s\S])", max_length=3, description="Currency of every amount (ISO 4217)."),
]
