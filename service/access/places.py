"""Which addresses are open to everybody, and which of the others a page may be given."""

import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any, Final

from service.access.keys import EVERYTHING

FREE: Final = ("/", "/docs.md", "/llms.txt", "/openapi.json")
"""Addresses that never need a key."""


FREE_BELOW: Final = ("/docs", "/embed", "/health", "/schemas")
"""Addresses that never need a key, with all below them: static files, the contract, and what probes ask."""


EMBEDDED: Final = "/embed"


HEALTH: Final = "/health"


VERSION: Final = "/v1/"


_SEVERAL_SLASHES: Final = re.compile("/{2,}")


def routed_path(scope: Mapping[str, Any]) -> str:
    """The path by which the router of the framework will choose, as it makes it out of a request."""
    path: str = scope["path"]
    if root := scope.get("root_path", ""):
        path = path.split(root, maxsplit=1)[-1]
    return _SEVERAL_SLASHES.sub("/", "/" + path.strip("/"))


def is_below(path: str, top: str) -> bool:
    """Whether a path is an address or stands below it."""
    return path == top or path.startswith(f"{top}/")


def is_free(path: str) -> bool:
    """Whether everybody may ask at a path. What is not known to be free is not."""
    return path in FREE or any(is_below(path, top) for top in FREE_BELOW)


@dataclass(frozen=True, slots=True)
class Places:
    """The addresses of the application that a page may be given."""

    studies: frozenset[str]
    """Names of calculations, ``batch`` among them."""

    catalogues: frozenset[str]
    """Paths that only give: every browser key may ask there."""

    def may_ask(self, studies: frozenset[str], path: str) -> bool:
        """Whether a page that was given some studies may ask at a path."""
        return path in self.catalogues or path in {VERSION + study for study in studies - {EVERYTHING}}


def places_of(methods: Mapping[str, Collection[str]]) -> Places:
    """Sort the addresses of an application.

    Parameters
    ----------
    methods : mapping of str to collection of str
        The methods that each path takes.

    Returns
    -------
    places : Places
        What takes POST is a study; what only gives is a catalogue.
    """
    versioned = {path: taken for path, taken in methods.items() if path.startswith(VERSION)}
    studies = frozenset(path.removeprefix(VERSION) for path, taken in versioned.items() if "POST" in taken)
    return Places(studies, frozenset(path for path in versioned if path.removeprefix(VERSION) not in studies))
