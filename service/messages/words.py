"""Texts, counts and names that requests share."""

from __future__ import annotations

from typing import Annotated

from msgspec import Meta

from service.messages.patterns import ID_PATTERN, NAME_PATTERN

CallerId = Annotated[
    str,
    Meta(
        min_length=1,
        max_length=64,
        pattern=ID_PATTERN,
        description="The caller's own identifier: 1 to 64 printable ASCII characters, echoed verbatim.",
    ),
]

Name = Annotated[
    str,
    Meta(
        min_length=1,
        max_length=64,
        pattern=NAME_PATTERN,
        description="A name to show: no control or bidirectional-override characters.",
    ),
]

Count = Annotated[
    float,
    Meta(ge=1, le=2_000, multiple_of=1, description="How many.", extra_json_schema={"type": "integer"}),
]

CablesInParallel = Annotated[
    float,
    Meta(
        ge=1,
        le=20,
        multiple_of=1,
        description="Identical cables side by side, joined at both ends.",
        extra_json_schema={"type": "integer"},
    ),
]

PowerFactor = Annotated[
    float, Meta(ge=0.05, le=1, description="Real over apparent power, as a ratio; 1 on direct current.")
]

Percent = Annotated[float, Meta(ge=0, le=100, description="Per cent.")]
