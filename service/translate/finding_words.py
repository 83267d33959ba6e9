"""The shape of a finding's words."""

from typing import NamedTuple


class FindingWords(NamedTuple):
    """The severities a finding may have, its template, and what it means."""

    severities: tuple[str, ...]
    template: str
    meaning: str
