"""Choosing the form of the answer from the `Accept` header (RFC 9110, section 12.5.1)."""

import re
from typing import Final

from service.intake.words import listed, shown
from service.problems import Refused

_ANY: Final = "*/*"
_WEIGHT: Final = re.compile(r"(?:0(?:\.\d{0,3})?|1(?:\.0{0,3})?)\Z")


def negotiate(accept: str | None, offered: tuple[str, ...]) -> str:
    """Choose a media type.

    Parameters
    ----------
    accept : str or None
        The Accept header; without one, everything is accepted.
    offered : tuple of str
        Media types that the address can send, the preferred one first.

    Returns
    -------
    media_type : str
        The offered type of highest weight; among equals the one that stands first.

    Raises
    ------
    Refused
        `not-acceptable`: no offered type has a weight above zero.

    Examples
    --------
    >>> negotiate("text/html;q=0.5, text/*;q=0.9", ("application/json", "text/html", "text/csv"))
    'text/csv'
    """
    if accept is None or accept in (_ANY, offered[0]) or not accept.strip():
        return offered[0]
    ranges = [_parsed(part) for part in accept.split(",") if part.strip()]
    # `max` keeps the first of equals, so the order of the offer decides between them.
    best = max(offered, key=lambda media_type: _weight(media_type, ranges))
    if _weight(best, ranges) > 0:
        return best
    detail = f"The Accept header {shown(accept)} leaves nothing. This address answers in {listed(offered)}."
    raise Refused("not-acceptable", detail)


def _parsed(part: str) -> tuple[str, float]:
    """Read one range and its weight; a weight that the grammar does not know counts as one."""
    media_range, *parameters = (piece.strip().lower() for piece in part.split(";"))
    for parameter in parameters:
        name, _, value = parameter.partition("=")
        if name.strip() == "q" and _WEIGHT.match(value.strip()):
            return media_range, float(value)
    return media_range, 1.0


def _weight(media_type: str, ranges: list[tuple[str, float]]) -> float:
    """Give the weight of the most specific range that holds a type, whatever their order."""
    bare = media_type.partition(";")[0].strip().lower()
    for wanted in (bare, f"{bare.partition('/')[0]}/*", _ANY):
        weights = [weight for media_range, weight in ranges if media_range == wanted]
        if weights:
            return max(weights)
    return 0.0
