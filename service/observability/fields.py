"""Header fields, as the interface between server and application has them."""

from collections.abc import Iterable

Fields = Iterable[tuple[bytes, bytes]]
"""Header fields that are read."""
