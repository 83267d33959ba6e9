"""Versions that an answer carries."""

from typing import Final

CALCULATION_VERSION: Final = "1"
"""Changes whenever the same request may get another number."""
