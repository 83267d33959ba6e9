"""What an operator decided about access, in the form in which the gate looks at it."""

from collections.abc import Callable
from dataclasses import dataclass

from service.access.key_file import KeyFile
from service.access.key_text import read_keys
from service.access.keys import KeyRing
from service.access.places import Places


@dataclass(frozen=True, slots=True)
class Policy:
    """Who may ask."""

    places: Places

    keys: Callable[[], KeyRing] | None = None
    """The keys that are good now; None where everybody may ask."""

    open_origins: frozenset[str] = frozenset()
    """Origins whose pages may read replies where everybody may ask."""

    hosts: frozenset[str] = frozenset()
    """Names under which the service answers; none where it answers under any."""

    @property
    def origins(self) -> frozenset[str]:
        """Origins whose pages may read replies."""
        return self.open_origins if self.keys is None else self.keys().origins

    @property
    def looks_at_origins(self) -> bool:
        """Whether replies to two origins may differ, now or once the keys are read again."""
        return self.keys is not None or bool(self.open_origins)


def keys_of(text: str, path: str, places: Places) -> Callable[[], KeyRing]:
    """Return what gives the keys: those of a text, or those of a file as it stands.

    Raises
    ------
    KeysError
        They cannot be used.
    """
    if path:
        return KeyFile(path, lambda content: read_keys(content, places.studies))
    ring = read_keys(text, places.studies)
    return lambda: ring
