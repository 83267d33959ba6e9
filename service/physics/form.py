"""In which form the hot loops run."""

from typing import Final

from service.physics.kernel.vectors import COMPILED

FORM: Final = "compiled" if COMPILED else "plain"
"""``compiled``, or ``plain`` where no compiler was or what it made does not fit the files any more."""
