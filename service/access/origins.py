"""Origins of pages, as the browser sends them: scheme, host, and a port that is not the usual one.

The form is that of the HTML standard, "serialization of an origin". ``null`` is the origin of every page that
hides its own, so it can stand for nobody.
"""

import re
from typing import Final

from service.access.hosts import read_host

WANTED_ORIGINS: Final = (
    "origins such as https://shop.example or http://localhost:3000: a scheme, a host, a port where it is not"
    " the usual one, and no path; neither null nor *"
)

_ORIGIN: Final = re.compile(r"(https?)://([^/?#@\s:]+|\[[^/?#@\s]+\])(?::(\d{1,5}))?\Z", re.IGNORECASE)
_USUAL_PORTS: Final = {"http": 80, "https": 443}
_HIGHEST_PORT: Final = 65_535


def read_origin(text: str) -> str:
    """Read one origin.

    Returns
    -------
    origin : str
        As a browser would write it.

    Raises
    ------
    ValueError
        The text is no origin of a page on the web.
    """
    match = _ORIGIN.match(text)
    if match is None:
        raise ValueError(WANTED_ORIGINS)
    scheme, host, port = match[1].lower(), match[2], int(match[3] or 0)
    if match[3] and not 1 <= port <= _HIGHEST_PORT:
        raise ValueError(WANTED_ORIGINS)
    try:
        written = f"{scheme}://{read_host(host)}"
    except ValueError:
        raise ValueError(WANTED_ORIGINS) from None
    return written if port in (0, _USUAL_PORTS[scheme]) else f"{written}:{port}"
