"""The environment, read once into one frozen value.

Every name begins ``LASTLAMP_``. A name that is not known, or a value that does not read, is refused with a
sentence: a misspelt limit that silently keeps its default is found on the day it was meant to help.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields

PREFIX = "LASTLAMP_"

# A Kubernetes Service named "lastlamp" injects these shapes into every pod beside it. They are not ours, and
# nobody can stop them from here, so exactly these are passed over.
INJECTED = re.compile(r"LASTLAMP_(SERVICE_HOST|SERVICE_PORT(_[A-Z0-9_]+)?|PORT|PORT_\d+_[A-Z]+(_[A-Z]+)?)\Z")

# The two commands in deploy/ read this one before there is a Python to read anything else.
READ_BY_SCRIPTS = frozenset({"LASTLAMP_PYTHON"})

HIGHEST_PORT = 65_535
LOG_LEVELS = ("debug", "info", "warning", "error")


class SettingsError(Exception):
    """The environment cannot be used; carries one sentence per mistake.

    Parameters
    ----------
    mistakes : list of str
        Sentences that name the variable, what is wrong and what would be right.
    """

    def __init__(self, mistakes: list[str]) -> None:
        super().__init__("\n".join(mistakes))
        self.mistakes = mistakes


@dataclass(frozen=True, slots=True)
class Address:
    """Where to listen: a host name or an IP address, and a TCP port."""

    host: str
    port: int

    def __str__(self) -> str:
        """Write the address as ``host:port``, an IPv6 address in brackets."""
        return f"[{self.host}]:{self.port}" if ":" in self.host else f"{self.host}:{self.port}"


@dataclass(frozen=True, slots=True)
class Settings:
    """What an operator can set. The environment name is ``LASTLAMP_`` and the field in capitals."""

    bind: Address = Address("127.0.0.1", 8080)
    """Where the service listens. Off loopback it belongs behind a proxy: it speaks no TLS."""

    log_level: str = "info"
    """The least severe log line that is written; ``info`` has one line a request."""

    maximum_body_bytes: int = 1_048_576
    """The largest request body that is read. A larger one is answered 413."""

    maximum_header_bytes: int = 16_384
    """The largest request line and header fields together. A larger head is answered 431."""

    request_seconds: float = 10.0
    """How long a client may take to send one request, head and body. A slower one is answered 408."""

    drain_seconds: float = 3.0
    """How long the service still answers after SIGTERM, not ready any more, before it stops listening."""

    finish_seconds: float = 5.0
    """How long requests in flight may take after that before they are cut off."""


def _address(text: str) -> Address:
    match = re.fullmatch(r"(?:\[([0-9A-Fa-f:.%]+)\]|([^\s:\[\]]+)):(\d{1,5})", text)
    if match is None or not 1 <= int(match[3]) <= HIGHEST_PORT:
        message = "a host and a port from 1 to 65535, such as 127.0.0.1:8080 or [::1]:8080"
        raise ValueError(message)
    return Address(match[1] or match[2], int(match[3]))


def _log_level(text: str) -> str:
    if text not in LOG_LEVELS:
        raise ValueError("one of " + ", ".join(LOG_LEVELS))
    return text


def _whole(lowest: int, highest: int) -> Callable[[str], int]:
    def read(text: str) -> int:
        if not re.fullmatch(r"\d{1,12}", text, re.ASCII) or not lowest <= int(text) <= highest:
            message = f"a whole number from {lowest} to {highest}"
            raise ValueError(message)
        return int(text)

    return read


def _seconds(lowest: float, highest: float) -> Callable[[str], float]:
    def read(text: str) -> float:
        if not re.fullmatch(r"\d{1,6}(\.\d{1,6})?", text, re.ASCII) or not lowest <= float(text) <= highest:
            message = f"a number of seconds from {lowest:g} to {highest:g}"
            raise ValueError(message)
        return float(text)

    return read


_READERS: dict[str, Callable[[str], object]] = {
    "bind": _address,
    "log_level": _log_level,
    "maximum_body_bytes": _whole(1_024, 67_108_864),
    "maximum_header_bytes": _whole(1_024, 1_048_576),
    "request_seconds": _seconds(0.1, 600),
    "drain_seconds": _seconds(0, 600),
    "finish_seconds": _seconds(0, 600),
}


def environment_name(field: str) -> str:
    """Return the environment name of a field of `Settings`."""
    return PREFIX + field.upper()


def read_settings(environment: Mapping[str, str]) -> Settings:
    """Read the settings out of an environment.

    Parameters
    ----------
    environment : mapping of str to str
        Such as ``os.environ``. Names that do not begin ``LASTLAMP_`` are not looked at.

    Returns
    -------
    settings : Settings
        Defaults where the environment is silent.

    Raises
    ------
    SettingsError
        For unknown names and for values that do not read, all of them at once.
    """
    names = {environment_name(field.name): field.name for field in fields(Settings)}
    values: dict[str, object] = {}
    mistakes: list[str] = []
    for name in sorted(n for n in environment if n.startswith(PREFIX)):
        if name in names:
            try:
                values[names[name]] = _READERS[names[name]](environment[name])
            except ValueError as wanted:
                mistakes.append(f"{name} is {environment[name]!r}. It must be {wanted}.")
        elif name not in READ_BY_SCRIPTS and not INJECTED.match(name):
            mistakes.append(f"{name} is not a setting of this service. It knows {', '.join(names)}.")
    if mistakes:
        raise SettingsError(mistakes)
    return Settings(**values)  # type: ignore[arg-type]  # each reader returns the type of its field


def effective(settings: Settings) -> list[tuple[str, str]]:
    """List the settings as environment names and values, in the order of their fields."""
    return [(environment_name(f.name), str(getattr(settings, f.name))) for f in fields(settings)]
