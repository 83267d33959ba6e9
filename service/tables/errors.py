"""What can be wrong with a table, and what a caller can ask for in vain."""

from __future__ import annotations

from collections.abc import Iterable


class TableError(ValueError):
    """A table breaks its own rules; raised while it is loaded, so that the service does not start on it."""

    def __init__(self, place: str, sentence: str) -> None:
        self.place = place
        self.sentence = sentence
        super().__init__(f"{place}: {sentence}")


class NotListedError(LookupError):
    """The tables have no entry of that name.

    Attributes
    ----------
    kind : str
        What was looked for, such as ``conductor``.
    asked : str
        The name as given.
    listed : tuple of str
        All names that would have been answered.
    """

    def __init__(self, *, kind: str, asked: str, listed: Iterable[str]) -> None:
        self.kind = kind
        self.asked = asked
        self.listed = tuple(listed)
        super().__init__(f'The tables list no {kind} "{asked}". Use one of: {", ".join(self.listed)}.')
