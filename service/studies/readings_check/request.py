"""`POST /v1/readings-check`: what is asked."""

from __future__ import annotations

from typing import Annotated

from msgspec import UNSET, Meta, UnsetType

from service.wire.job import JobRequest
from service.wire.quantities import MainsVoltage
from service.wire.readings import MOST_READINGS, Instrument, Priors, Reading

LONGEST_SHEET = 200_000
"""A sheet of 200 places with seven columns of mains has about 40,000 characters."""


SHEET_PATTERN = r"^[^\x00-\x08\x0B\x0C\x0E-\x1F\x7F]*(?![\s\S])"
"""A text with tabs and line ends, and no other control characters."""


class ReadingsCheckRequest(JobRequest, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A job as `/v1/voltage-drop` takes it, and what a meter read; limits and corners are not judged here."""

    readings: Annotated[list[Reading], Meta(min_length=1, max_length=MOST_READINGS)] | UnsetType = UNSET
    readings_csv: (
        Annotated[
            str,
            Meta(
                max_length=LONGEST_SHEET,
                pattern=SHEET_PATTERN,
                description="The CSV of `/v1/commissioning-sheet` of this job with its column `read` filled"
                " in (empty cells are passed over), `mains_read` where the mains moved; read as are those of"
                " `readings`. Semicolons, tabs and decimal commas are taken too. A line that is not of this"
                " job is refused by its number (422 `readings-invalid`); the first line is line 1.",
            ),
        ]
        | UnsetType
    ) = UNSET
    mains_read: (
        Annotated[
            MainsVoltage,
            Meta(description="The mains while `readings_csv` was read, for rows without `mains_read`."),
        ]
        | UnsetType
    ) = UNSET
    instrument: Instrument | UnsetType = UNSET
    priors: Priors | UnsetType = UNSET
