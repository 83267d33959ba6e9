"""`POST /v1/readings-check`: what is asked."""

from __future__ import annotations

from typing import Annotated

from msgspec import UNSET, Meta, UnsetType

from service.wire.job import JobRequest
from service.wire.readings import MOST_READINGS, Instrument, Priors, Reading


class ReadingsCheckRequest(JobRequest, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A job as `/v1/voltage-drop` takes it, and what a meter said; limits and corners are not judged here."""

    readings: Annotated[list[Reading], Meta(min_length=1, max_length=MOST_READINGS)]
    instrument: Instrument | UnsetType = UNSET
    priors: Priors | UnsetType = UNSET
