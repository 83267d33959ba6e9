"""Members of a message that may be left out."""

from __future__ import annotations

from typing import TypeVar

from msgspec import UnsetType

_T = TypeVar("_T")


def given(member: _T | UnsetType) -> _T | None:
    """An optional member, None where it was left out."""
    return None if isinstance(member, UnsetType) else member
