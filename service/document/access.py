"""What the document says of keys, from what the gate itself looks at."""

from typing import Any, Final

from service.access.places import HEALTH, is_below, is_free

SCHEMES: Final[dict[str, dict[str, str]]] = {
    "key": {
        "type": "http",
        "scheme": "bearer",
        "description": (
            "A key from the operator, where the service asks for one; an open one does not look at it. A key "
            " for pages works only from their origins, for the studies listed with it and for the catalogues."
        ),
    }
}

SECURITY: Final[list[dict[str, list[Any]]]] = [{}, {"key": []}]
"""Without a key or with one, as the operator decided. An operation that has no reply 401 never needs one."""

_HOST: Final = ("host-not-served",)
_KEY: Final = ("key-missing", "key-unknown", "origin-not-allowed", "study-not-allowed")


def gate_refusals(path: str) -> tuple[str, ...]:
    """Codes of the problems with which the gate may refuse a request to a path."""
    hosts = () if is_below(path, HEALTH) else _HOST
    return hosts if is_free(path) else (*_KEY, *hosts)
