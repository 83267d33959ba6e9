"""A layout as one of the alternatives of a quote."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from msgspec import UNSET, UnsetType

from service.studies.least_cost_layout.composing import SupplyBody
from service.studies.least_cost_layout.request import LeastCostLayoutRequest
from service.studies.quote.request import MOST_PARTS, QuoteAlternative, QuoteCutting
from service.wire.optional import given

UNNAMED_LAYOUT: Final = "layout"
"""Id of an alternative from a request without one."""


def quote_alternative(
    request: LeastCostLayoutRequest, bodies: Sequence[SupplyBody]
) -> QuoteAlternative | UnsetType:
    """The layout with a part for each transformer, cut as it was priced; unset where these are too many."""
    if len(bodies) > MOST_PARTS:
        return UNSET
    cutting = given(request.cutting)
    return QuoteAlternative(
        given(request.id) or UNNAMED_LAYOUT,
        [body.request for body in bodies],
        cutting=QuoteCutting("nowhere" if cutting is None else cutting.joints),
    )


def unnamed(request: LeastCostLayoutRequest) -> list[str]:
    """Pointers to the fixtures that say nowhere as what they are bought."""
    types = {each.id: each.item for each in given(request.fixture_types) or ()}
    return [
        f"/fixtures/{number}"
        for number, own in enumerate(request.fixtures)
        if own.item is UNSET and types.get(given(own.type) or "", UNSET) is UNSET
    ]
