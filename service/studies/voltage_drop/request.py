"""`POST /v1/voltage-drop`: what is asked."""

from __future__ import annotations

from typing import Annotated

from msgspec import UNSET, Meta, UnsetType

from service.wire.job import JobRequest, OwnDropSheet


class VoltageDropRequest(JobRequest, frozen=True, forbid_unknown_fields=True):
    """A supply and its wiring, to be solved in one state, and in its corners where they are asked for."""

    margin: (
        Annotated[bool, Meta(description="Whether to search for the factor by which all loads could grow.")]
        | UnsetType
    ) = UNSET
    sheet: OwnDropSheet | UnsetType = UNSET
