"""The end of a run and the bracket of an unknown layout: from the studies to the wire."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import UNSET

from service.messages.bracket import Bracket, CarriedEnd, CollapsedEnd
from service.translate.rounding import DECIMALS, rounded
from service.translate.rows import TOWARDS_FAILING, amps, volts, watts

if TYPE_CHECKING:
    from service.messages.bracket import EndState
    from service.studies import outcome


def bracket_row(bracket: outcome.Bracket) -> Bracket:
    """Both bounds."""
    return Bracket(end_row(bracket.lumped), end_row(bracket.evenly_spread))


def end_row(end: outcome.EndState | None) -> EndState:
    """One end, or that it collapses."""
    if end is None:
        return CollapsedEnd()
    return CarriedEnd(
        volts(end.end_v, TOWARDS_FAILING[end.verdict]),
        end.verdict,
        volts(end.terminal_v),
        volts(end.terminal_v - end.end_v),
        rounded(100.0 * end.drop_ratio, DECIMALS["%"]),
        amps(end.current_a),
        watts(end.cable_loss_w),
        UNSET if end.error_v is None else volts(end.error_v, 1),
    )
