"""Members of a message that may be left out."""

from __future__ import annotations

from typing import TypeVar

from msgspec import UNSET, UnsetType

_T = TypeVar("_T")


def given(member: _T | UnsetType) -> _T | None:
    """An optional member, None where it was left out."""
    return None if member is UNSET else member
