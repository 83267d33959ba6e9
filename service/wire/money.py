"""Money: amounts as decimal text, one currency a request."""

from __future__ import annotations

from typing import Annotated

from msgspec import Meta

Amount = Annotated[
    str,
    Meta(
        pattern=r"^[0-9]{1,9}(\.[0-9]{1,4})?(?![\s\S])",
        max_length=14,
        description="An amount of money as decimal text.",
    ),
]


ShownAmount = Annotated[
    str,
    Meta(pattern=r"^[0-9]{1,30}(\.[0-9]{1,4})?(?![\s\S])", description="An amount of money as decimal text."),
]


Currency = Annotated[
    str,
    Meta(pattern=r"^[A-Z]{3}(?![\s\S])", max_length=3, description="Currency of every amount (ISO 4217)."),
]
