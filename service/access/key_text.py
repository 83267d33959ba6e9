"""Reads keys from TOML. Sentences about mistakes never quote the text: it may hold what must stay secret."""

import re
import tomllib
from collections.abc import Callable, Collection, Iterator, Mapping
from typing import Any, Final

from service.access.keys import BrowserKey, Key, KeyRing
from service.access.origins import WANTED_ORIGINS, read_origin

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
