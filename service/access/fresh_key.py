"""Makes keys. A key is shown once, to whoever asked for it; the service keeps its hash."""

import json
import secrets
from collections.abc import Sequence
from hashlib import sha256
from typing import Final

from service.access.key_text import EVERYTHING, KeysError, read_keys

# Beginnings by which a key is recognised where it must not stand, in a repository or a log.
SECRET_PREFIX: Final = "lastlamp_secret_"  # noqa: S105  # the part that is not secret
BROWSER_PREFIX: Final = "lastlamp_browser_"

_RANDOM_BYTES: Final = 32


def fresh_key(name: str, origins: Sequence[str] = (), studies: Sequence[str] = ()) -> tuple[str, str]:
    """Make a key, one for pages where origins or studies are named.

    Parameters
    ----------
    name : str
        What the log will call it.
    origins, studies : sequence of str, optional
        From where, and for what, a page may use it. Whether the studies exist is known once the service
        starts.

    Returns
    -------
    key : str
        The key itself.
    lines : str
        What to add to the file of the keys.

    Raises
    ------
    KeysError
        The name or an origin has not the form that the file takes.
    """
    is_browser = bool(origins or studies)
    key = (BROWSER_PREFIX if is_browser else SECRET_PREFIX) + secrets.token_urlsafe(_RANDOM_BYTES)
    members = {"name": name, "sha256": sha256(key.encode("ascii")).hexdigest()}
    lines = ["[[browser_key]]" if is_browser else "[[key]]"]
    lines += [f"{member} = {json.dumps(value)}" for member, value in members.items()]
    if is_browser:
        lines += [f"origins = {json.dumps(list(origins))}", f"studies = {json.dumps(list(studies))}"]
    text = "\n".join(lines) + "\n"
    if EVERYTHING in studies:
        raise KeysError([f"A page cannot have {EVERYTHING}: it would ask every study."])
    read_keys(text, studies)
    return key, text
