"""The end of a run, whatever hangs on it, and the two layouts between which an unknown one lies."""

from __future__ import annotations

from typing import Annotated

from msgspec import UNSET, Meta, Struct, UnsetType

from service.messages.reply import Code
from service.messages.shown import ShownCurrent, ShownRealPower, ShownVoltage


class CarriedEnd(Struct, frozen=True, tag_field="outcome", tag="carried"):
    """The load is carried."""

    end_voltage: Annotated[ShownVoltage, Meta(description="At the far end of the cable.")]
    verdict: Annotated[Code, Meta(description="Where the end stands against the window.")]
    terminal_voltage: Annotated[ShownVoltage, Meta(description="Where the cable leaves the supply.")]
    cable_drop: Annotated[ShownVoltage, Meta(description="Terminal under load minus the end.")]
    drop_percent: Annotated[float, Meta(description="Cable drop over the rated secondary voltage.")]
    current: Annotated[ShownCurrent, Meta(description="Into the cable.")]
    cable_loss: ShownRealPower
    error_bound: (
        Annotated[
            ShownVoltage,
            Meta(
                description="By how much the end voltage may be wrong because a continuous load is computed"
                " as lumps. Left out where nothing is approximated, and within a hair of the collapse."
            ),
        ]
        | UnsetType
    ) = UNSET


class CollapsedEnd(Struct, frozen=True, tag_field="outcome", tag="collapsed"):
    """The cable cannot carry the load; no number is shown."""


EndState = CarriedEnd | CollapsedEnd


class Bracket(Struct, frozen=True):
    """The ends between which an unknown layout lies, in the state that is answered; corners do not enter."""

    lumped: Annotated[EndState, Meta(description="All of the load at the far end: the cautious layout.")]
    evenly_spread: Annotated[
        EndState, Meta(description="The load spread evenly and without gaps from the supply to the far end.")
    ]
