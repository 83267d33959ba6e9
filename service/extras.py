"""Packages of optional extras, as far as they are installed here."""

from importlib.util import find_spec
from typing import Final


def installed(*names: str) -> bool:
    """Whether all packages of an extra are there; none of them is loaded."""
    return all(find_spec(name) is not None for name in names)


LAYOUT_BOUND: Final = "relaxation" if installed("highspy", "numpy") else "closed-form"
"""What the bound of a least-cost layout is proven by: more with the packages of the extra ``layout``."""
