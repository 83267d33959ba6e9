"""What a calculation refuses: raised where the facts are known, put into words by its kind."""

from collections.abc import Sequence
from typing import NamedTuple

from service.problems.catalogue import ProblemKind


class Mistake(NamedTuple):
    """One thing that cannot be as described: a code, a pointer into the request, the names involved."""

    code: str
    """Of `ERROR_KINDS`, which has its words."""
    pointer: str
    names: tuple[str, ...] = ()
    known: Sequence[str] | None = None
    """Names that could have stood in the place of the wrong one; one list for all mistakes of a kind."""


class UnansweredError(Exception):
    """A request that a calculation cannot answer; what else its kind says of it are attributes.

    Parameters
    ----------
    kind : ProblemKind
    note : str
        For who reads a traceback.
    mistakes : sequence of Mistake, optional
        Every place to change.
    """

    def __init__(self, kind: ProblemKind, note: str, mistakes: Sequence[Mistake] = ()) -> None:
        super().__init__(note)
        self.kind = kind
        self.mistakes = mistakes
