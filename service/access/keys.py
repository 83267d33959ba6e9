"""Keys, of which the service knows the hashes alone."""

import hmac
from dataclasses import dataclass, field
from functools import cached_property
from hashlib import sha256
from typing import Final

SHOWN_KEY: Final = "shown_key"
"""Where the gate leaves the key of a request, in its state, for what stands behind it."""


@dataclass(frozen=True, slots=True)
class Key:
    """A secret that a program of the caller holds. It may ask everything."""

    name: str
    """What the log calls it."""

    sha256: bytes = field(repr=False)
    """SHA-256 of the key. Keys are long and random, so neither salt nor a slow hash would add anything."""


@dataclass(frozen=True, slots=True)
class BrowserKey(Key):
    """A key that stands in a page for everybody to read.

    It therefore only works from the origins of its pages, which browsers do not let a page choose, and only
    for what those pages need. A program can claim any origin: the key bounds what can be asked, not by whom.
    """

    origins: frozenset[str]
    studies: frozenset[str]


@dataclass(frozen=True)
class KeyRing:
    """Every key that is good at one time."""

    keys: tuple[Key, ...]

    @cached_property
    def origins(self) -> frozenset[str]:
        """The origins of all pages that hold a key."""
        return frozenset().union(*(key.origins for key in self.keys if isinstance(key, BrowserKey)))

    def find(self, presented: bytes) -> Key | None:
        """Find the key that was presented.

        Every hash is compared, each in constant time, so that how long it takes says nothing of how near a
        guess came.
        """
        digest = sha256(presented).digest()
        found = [key for key in self.keys if hmac.compare_digest(digest, key.sha256)]
        return found[0] if found else None
