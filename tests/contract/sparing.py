"""Each slip in one place: a cable that is described alike in twelve places is not tried twelve times over."""

import re
from typing import Final

from schemathesis import Case, HookContext
from schemathesis.generation.meta import CoveragePhaseData

_STEP: Final = re.compile(r": | -> ")
_IN_LISTS: Final = ("Array with invalid items", "Single-item array")
_NAMES: Final = 3
"""So many members above a slip say what it is one in: a spool's length, a cable's other conductor."""


class OnePlace:
    """Lets a systematic case pass where its slip is tried first, whatever the operation, and nowhere else.

    All operations read their bodies by the types of the members, through one function, so that the place adds
    nothing; a change of the types does. Random cases go anywhere.
    """

    def __init__(self) -> None:
        self._first: dict[tuple[object, ...], tuple[str, str]] = {}

    def __call__(self, _context: HookContext, case: Case) -> bool:  # type: ignore[type-arg]  # hooks are plain
        if case.meta is None or not isinstance(case.meta.phase.data, CoveragePhaseData):
            return True
        said = case.meta.phase.data
        if said.parameter != "application/json":
            return True
        place = (case.operation.label, said.description)
        slip = (case.meta.generation.mode, *_steps(said.description)[-_NAMES - 1 :])
        return self._first.setdefault(slip, place) == place


def _steps(description: str) -> list[str]:
    """The members on the way to a slip, and the slip in words."""
    return [step for step in _STEP.split(description) if step not in _IN_LISTS]
