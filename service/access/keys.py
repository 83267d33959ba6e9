"""Keys, of which the service knows the hashes alone."""

import hmac
import json
import re
import secrets
import tomllib
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from hashlib import sha256
from pathlib import Path
from time import monotonic
from typing import Any, Final

import structlog

from service.access.origins import WANTED_ORIGINS, read_origin
from service.observability.metrics import count_key_reload_failure

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


Read = Callable[[str], KeyRing]


SECONDS_BETWEEN_LOOKS: Final = 1.0


LARGEST_BYTES: Final = 1_048_576


class KeyFile:
    """The keys of a file, read again when it changes.

    The content itself is compared, at most once a second: a mounted secret is changed by turning a symbolic
    link, an editor may write in place, and times of files can be set. A file that cannot be used any more
    leaves the keys as they were: a slip must not lock every caller out.

    Parameters
    ----------
    path : str
        Of the file.
    read : callable
        From text to keys; raises `KeysError`.
    clock : callable, optional
        Seconds that only grow.

    Raises
    ------
    KeysError
        The file cannot be used as it is now.
    """

    def __init__(self, path: str, read: Read, clock: Callable[[], float] = monotonic) -> None:
        self._path = Path(path)
        self._read = read
        self._clock = clock
        self._content = _content(self._path)
        self._ring = read(_text(self._content))
        self._looked = clock()
        self._seen_mistake = ""

    def __call__(self) -> KeyRing:
        """Return the keys that are good now."""
        now = self._clock()
        if now - self._looked >= SECONDS_BETWEEN_LOOKS:
            self._looked = now
            self._look()
        return self._ring

    def _look(self) -> None:
        try:
            content = _content(self._path)
            if content != self._content:
                self._ring = self._read(_text(content))
                self._content = content
                structlog.get_logger().info("keys-reloaded", keys=[key.name for key in self._ring.keys])
            self._seen_mistake = ""
        except KeysError as error:
            # Counted each time, so that an alert stands for as long as the file is not mended.
            count_key_reload_failure()
            self._complain(str(error))

    def _complain(self, mistake: str) -> None:
        """Say each mistake once, not each second."""
        if mistake != self._seen_mistake:
            self._seen_mistake = mistake
            structlog.get_logger().error("keys-not-reloaded", mistake=mistake, kept=len(self._ring.keys))


def _content(path: Path) -> bytes:
    try:
        # Nothing but a plain file: a pipe would keep every caller waiting for its writer.
        if not path.is_file():
            raise KeysError(["The file of the keys is not there, or is no plain file."])
        with path.open("rb") as file:
            content = file.read(LARGEST_BYTES + 1)
    except OSError as error:
        raise KeysError([f"The file of the keys cannot be read: {(error.strerror or '').lower()}."]) from None
    if len(content) > LARGEST_BYTES:
        raise KeysError([f"The file of the keys has more than {LARGEST_BYTES} bytes."])
    return content


def _text(content: bytes) -> str:
    try:
        # Some editors put a mark of the byte order before the text.
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise KeysError(["The file of the keys is not UTF-8."]) from None


Readers = Mapping[str, Callable[[Any], object]]


EVERYTHING: Final = "batch"
"""The study that may ask all others, so that a key for it would be a key for all."""


_NAME: Final = re.compile(r"[a-z0-9][a-z0-9._-]{0,63}\Z")


_SHA256: Final = re.compile(r"[0-9A-Fa-f]{64}\Z")


_PLACE: Final = re.compile(r"(at line \d+, column \d+)")


class KeysError(Exception):
    """The keys cannot be used; carries one sentence per mistake, none of which quotes the text."""

    def __init__(self, mistakes: list[str]) -> None:
        super().__init__(" ".join(mistakes))
        self.mistakes = mistakes


def read_keys(text: str, studies: Collection[str]) -> KeyRing:
    """Read keys.

    Parameters
    ----------
    text : str
        TOML with ``[[key]]`` and ``[[browser_key]]`` tables.
    studies : collection of str
        Names that a browser key may list.

    Returns
    -------
    ring : KeyRing
        With at least one key.

    Raises
    ------
    KeysError
        The text is no TOML, or something in it is missing, unknown, twice or of another form.
    """
    document = _document(text)
    readers: dict[str, Readers] = {
        "key": {"name": _name, "sha256": _sha256},
        "browser_key": {
            "name": _name,
            "sha256": _sha256,
            "origins": _origins,
            "studies": _studies(frozenset(studies) - {EVERYTHING}),
        },
    }
    kinds: dict[str, Callable[..., Key]] = {"key": Key, "browser_key": BrowserKey}
    mistakes: list[str] = []
    if document.keys() - readers.keys():
        mistakes.append("Something stands outside the tables [[key]] and [[browser_key]].")
    keys = [
        kinds[kind](**values)
        for kind in readers
        for values in _entries(kind, document.get(kind, []), readers[kind], mistakes)
    ]
    mistakes += _repeated(keys)
    if not keys and not mistakes:
        mistakes.append("There is no key. `python -m service new-key NAME` makes one.")
    if mistakes:
        raise KeysError(mistakes)
    return KeyRing(tuple(keys))


def _document(text: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        place = _PLACE.search(str(error))
        where = f" {place[1]}" if place else ""
        raise KeysError([f"The keys are not TOML{where}."]) from None


def _entries(kind: str, entries: Any, readers: Readers, mistakes: list[str]) -> Iterator[dict[str, object]]:  # noqa: ANN401  # any TOML
    if not isinstance(entries, list) or not all(isinstance(entry, dict) for entry in entries):
        mistakes.append(f"{kind} is written as [[{kind}]], one table for each key.")
        return
    for number, entry in enumerate(entries, 1):
        values, wrong = _values(entry, readers)
        mistakes += [f"[[{kind}]] number {number}: {words}." for words in wrong]
        if not wrong:
            yield values


def _values(entry: Mapping[str, Any], readers: Readers) -> tuple[dict[str, object], list[str]]:
    values: dict[str, object] = {}
    wrong = []
    if entry.keys() - readers.keys():
        wrong.append(f"it has more than {', '.join(readers)}")
    for name, read in readers.items():
        if name not in entry:
            wrong.append(f"{name} is missing")
            continue
        try:
            values[name] = read(entry[name])
        except ValueError as wanted:
            wrong.append(f"{name} must be {wanted}")
    return values, wrong


def _name(value: object) -> str:
    if not isinstance(value, str) or not _NAME.match(value):
        message = "1 to 64 of a-z 0-9 . _ -, beginning with a letter or digit"
        raise ValueError(message)
    return value


def _sha256(value: object) -> bytes:
    if not isinstance(value, str) or not _SHA256.match(value):
        message = "the SHA-256 of the key as 64 hexadecimal digits, never the key itself"
        raise ValueError(message)
    return bytes.fromhex(value)


def _origins(value: object) -> frozenset[str]:
    return frozenset(read_origin(text) for text in _texts(value, WANTED_ORIGINS))


def _studies(known: frozenset[str]) -> Callable[[object], frozenset[str]]:
    wanted = f"some of {', '.join(sorted(known))}; {EVERYTHING} would ask all of them, so no page can have it"

    def read(value: object) -> frozenset[str]:
        studies = frozenset(_texts(value, wanted))
        if not studies <= known:
            raise ValueError(wanted)
        return studies

    return read


def _texts(value: object, wanted: str) -> list[str]:
    if not isinstance(value, list) or not value or not all(isinstance(text, str) for text in value):
        message = f"a list of {wanted}"
        raise ValueError(message)
    return value


def _repeated(keys: list[Key]) -> Iterator[str]:
    """Two keys of one name cannot be told apart in the log; one key of two kinds has no meaning."""
    if len({key.name for key in keys}) < len(keys):
        yield "Two keys have the same name."
    if len({key.sha256 for key in keys}) < len(keys):
        yield "Two keys have the same sha256."


# Beginnings by which a key is recognised where it must not stand, in a repository or a log.
SECRET_PREFIX: Final = "lastlamp_secret_"  # noqa: S105  # the part that is not secret


BROWSER_PREFIX: Final = "lastlamp_browser_"


_RANDOM_BYTES: Final = 32


def fresh_key(
    name: str, origins: Sequence[str] = (), studies: Sequence[str] = (), *, known: Collection[str]
) -> tuple[str, str]:
    """Make a key, one for pages where origins or studies are named.

    Parameters
    ----------
    name : str
        What the log will call it.
    origins, studies : sequence of str, optional
        From where, and for what, a page may use it.
    known : collection of str
        Names of the studies that exist.

    Returns
    -------
    key : str
        The key itself.
    lines : str
        What to add to the file of the keys.

    Raises
    ------
    KeysError
        The name or an origin has not the form that the file takes, or there is no such study.
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
    read_keys(text, known)
    return key, text
