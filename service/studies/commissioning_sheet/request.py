"""`POST /v1/commissioning-sheet`: what is asked."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import UNSET, Meta, UnsetType

from service.wire.job import JobRequest
from service.wire.quantities import MainsVoltage
from service.wire.readings import Instrument, Priors

MOST_MAINS = 7
"""Columns that still fit on a page."""


TestPlaces = Literal["key", "every"]


class CommissioningSheetRequest(JobRequest, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A job as `/v1/voltage-drop` takes it, and the meter with which it will be read.

    `instrument` and `priors` mean what they mean in `/v1/readings-check`: a tolerance is the uncertainty with
    which that study judges the reading.
    """

    instrument: Instrument | UnsetType = UNSET
    priors: Priors | UnsetType = UNSET
    mains: (
        Annotated[
            list[MainsVoltage],
            Meta(
                min_length=1,
                max_length=MOST_MAINS,
                description="Mains voltages for which values are wanted, a column each. Left out: five even"
                " steps, in a large job three or one, through `conditions.mains`, else through the range"
                " `outlet` about the rated primary (`mains-outlet-steps`). A DC supply does not follow the"
                " mains and has one column; a battery has three: lowest, nominal, highest.",
            ),
        ]
        | UnsetType
    ) = UNSET
    points: (
        Annotated[
            TestPlaces,
            Meta(
                description="`key`: the terminals; of each run its start, its first, its lowest and its"
                " farthest fixture and its far ends. `every`: every fixture too. Left out: key."
            ),
        ]
        | UnsetType
    ) = UNSET
