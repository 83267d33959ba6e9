"""The environment, read once into one frozen value.

Every name begins ``LASTLAMP_``. A name that is not known, or a value that does not read, is refused with a
sentence: a misspelt limit that silently keeps its default is found on the day it was meant to help.
"""

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, fields
from ipaddress import ip_address

from service.access.client_address import WANTED_NETWORKS, read_network
from service.access.origins import WANTED_HOSTS, WANTED_ORIGINS, read_host, read_origin
from service.circuit.most import MAXIMUM_REQUEST_WORK

PREFIX = "LASTLAMP_"


# A Kubernetes Service named "lastlamp" injects these shapes into every pod beside it. They are not ours, and
# nobody can stop them from here, so exactly these are passed over.
INJECTED = re.compile(r"LASTLAMP_(SERVICE_HOST|SERVICE_PORT(_[A-Z0-9_]+)?|PORT|PORT_\d+_[A-Z]+(_[A-Z]+)?)\Z")


# The two commands in deploy/ read this one before there is a Python to read anything else.
READ_BY_SCRIPTS = frozenset({"LASTLAMP_PYTHON"})


HIGHEST_PORT = 65_535


LOG_LEVELS = ("debug", "info", "warning", "error")


OPEN, KEYS = "open", "keys"


# Their values are shown to nobody, neither where they are wrong nor where all settings are printed.
SECRETS = frozenset({"keys"})


MASK = "***"


OFF = "off"


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

    @property
    def is_loopback(self) -> bool:
        """Whether only programs of the same machine can reach it."""
        try:
            return ip_address(self.host).is_loopback
        except ValueError:
            return self.host.lower() == "localhost"


@dataclass(frozen=True, slots=True)
class Settings:
    """What an operator can set. The environment name is ``LASTLAMP_`` and the field in capitals."""

    bind: Address = Address("127.0.0.1", 8080)
    """Where the service listens. Off loopback it belongs behind a proxy: it speaks no TLS."""

    metrics_bind: Address | None = None
    """Where Prometheus may scrape ``/metrics``, for the network inside; ``off`` counts nothing."""

    access: str = OPEN
    """Who may ask: ``open`` for everybody, ``keys`` for who shows one. Off loopback it must be set."""

    keys: str = field(default="", repr=False)
    """The keys as TOML text, a secret; see Access. Rather name their file."""

    keys_file: str = ""
    """The file of the keys, read again when it changes."""

    allowed_origins: tuple[str, ...] = ()
    """Origins whose pages may ask an ``open`` service, with commas; in ``keys`` each key has its own."""

    allowed_hosts: tuple[str, ...] = ()
    """Hosts under which the service answers, with commas, health apart; none: under any. Others get 421."""

    frame_ancestors: tuple[str, ...] = ()
    """Origins whose pages may show ``/embed/frame`` in a frame, with commas; none: it stands alone."""

    work_per_minute: int | None = None
    """Work, 10 µs a unit, that one key or address may ask of one instance in a minute; ``off``: any."""

    trusted_proxies: tuple[str, ...] = ()
    """Networks of proxies whose ``X-Forwarded-For`` names the client, with commas; none: the peer is it."""

    contact: str = ""
    """Whom clients ask about this service, an e-mail address or ``https://…``; stands in the document."""

    log_level: str = "info"
    """The least severe log line that is written; ``info`` has one line a request, good health apart."""

    maximum_body_bytes: int = 4_194_304
    """The largest request body that is read. A larger one is answered 413."""

    maximum_header_bytes: int = 16_384
    """The largest request line and header fields together. A larger head is answered 431."""

    request_seconds: float = 10.0
    """How long a client may take to send one request; a slower one is answered 408. Or to read 64 KiB."""

    # A job of 20 lamps takes 1 ms, and what arrives meanwhile waits as long again outside: 0.3 s for so many,
    # and less than 1 s on a third of a core.
    maximum_in_progress: int = 128
    """How many requests may wait for their turn. One more is answered 503 at once, health apart."""

    maximum_wait_seconds: float = 2.0
    """How long a request may have waited when its turn comes. One that waited longer is answered 503."""

    workers: int = 1
    """Processes beside the one that serves; what is heavy is answered there. ``0``: all in one process."""

    work_seconds: float = 6.0
    """How long a worker may take for one request. It is then ended and replaced, the request answered 500."""

    worker_memory_bytes: int = 536_870_912
    """The address space of one worker. One that needs more ends and is replaced, its request answered 500."""

    maximum_connections: int = 2_000
    """How many connections may be open. One more is answered 503 and closed, health apart."""

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


def _address_or_off(text: str) -> Address | None:
    if text in {"", OFF}:
        return None
    try:
        return _address(text)
    except ValueError as wanted:
        message = f"{OFF}, or {wanted}"
        raise ValueError(message) from None


def _access(text: str) -> str:
    if text not in (OPEN, KEYS):
        message = f"{OPEN}, for everybody, or {KEYS}, for who shows one of LASTLAMP_KEYS_FILE"
        raise ValueError(message)
    return text


def _several(read: Callable[[str], str], wanted: str) -> Callable[[str], tuple[str, ...]]:
    def read_all(text: str) -> tuple[str, ...]:
        try:
            return tuple(read(part.strip()) for part in text.split(",")) if text.strip() else ()
        except ValueError:
            message = f"{wanted}; with commas between"
            raise ValueError(message) from None

    return read_all


def _log_level(text: str) -> str:
    if text not in LOG_LEVELS:
        raise ValueError("one of " + ", ".join(LOG_LEVELS))
    return text


def _contact(text: str) -> str:
    if not re.fullmatch(r"|[\w.+-]{1,64}@[\w-]+(\.[\w-]+)+|https?://[!-~]{1,500}", text, re.ASCII):
        message = "an e-mail address, or an address that begins https://"
        raise ValueError(message)
    return text


def _whole(lowest: int, highest: int) -> Callable[[str], int]:
    def read(text: str) -> int:
        if not re.fullmatch(r"\d{1,12}", text, re.ASCII) or not lowest <= int(text) <= highest:
            message = f"a whole number from {lowest} to {highest}"
            raise ValueError(message)
        return int(text)

    return read


def _whole_or_off(lowest: int, highest: int) -> Callable[[str], int | None]:
    read_whole = _whole(lowest, highest)

    def read(text: str) -> int | None:
        try:
            return None if text in {"", OFF} else read_whole(text)
        except ValueError as wanted:
            message = f"{OFF}, or {wanted}"
            raise ValueError(message) from None

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
    "metrics_bind": _address_or_off,
    "access": _access,
    "keys": str,
    "keys_file": str,
    "allowed_origins": _several(read_origin, WANTED_ORIGINS),
    "allowed_hosts": _several(read_host, WANTED_HOSTS),
    "frame_ancestors": _several(read_origin, WANTED_ORIGINS),
    # Less, and the largest request that is answered at all would never be.
    "work_per_minute": _whole_or_off(MAXIMUM_REQUEST_WORK, 1_000_000_000),
    "trusted_proxies": _several(read_network, WANTED_NETWORKS),
    "contact": _contact,
    "log_level": _log_level,
    "maximum_body_bytes": _whole(1_024, 67_108_864),
    "maximum_header_bytes": _whole(1_024, 1_048_576),
    "request_seconds": _seconds(0.1, 600),
    "maximum_in_progress": _whole(1, 100_000),
    "maximum_wait_seconds": _seconds(0.01, 600),
    "workers": _whole(0, 64),
    "work_seconds": _seconds(0.1, 600),
    "worker_memory_bytes": _whole(268_435_456, 68_719_476_736),
    "maximum_connections": _whole(1, 100_000),
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
                shown = MASK if names[name] in SECRETS else repr(environment[name])
                mistakes.append(f"{name} is {shown}. It must be {wanted}.")
        elif name not in READ_BY_SCRIPTS and not INJECTED.match(name):
            mistakes.append(f"{name} is not a setting of this service. It knows {', '.join(names)}.")
    if mistakes:
        raise SettingsError(mistakes)
    settings = Settings(**values)  # type: ignore[arg-type]  # each reader returns the type of its field
    if mistakes := list(_unfit(settings, access_is_said="access" in values)):
        raise SettingsError(mistakes)
    return settings


def _unfit(settings: Settings, *, access_is_said: bool) -> Iterator[str]:
    """Find settings that do not fit together, or would let in others than the operator means."""
    if settings.metrics_bind == settings.bind:
        yield f"LASTLAMP_METRICS_BIND is {settings.bind}, where the service itself listens. Set another port."
    if not access_is_said and not settings.bind.is_loopback:
        yield (
            f"LASTLAMP_BIND is {settings.bind}, which others can reach, so say who may ask:"
            f" LASTLAMP_ACCESS={OPEN} for everybody, or LASTLAMP_ACCESS={KEYS} with LASTLAMP_KEYS_FILE."
        )
    given = [environment_name(name) for name in ("keys", "keys_file") if getattr(settings, name)]
    if settings.access == OPEN and given:
        yield f"{' and '.join(given)} would not be looked at. Set LASTLAMP_ACCESS={KEYS}, or leave it out."
    if settings.access == KEYS and len(given) != 1:
        yield f"LASTLAMP_ACCESS is {KEYS}, which takes exactly one of LASTLAMP_KEYS_FILE and LASTLAMP_KEYS."
    if settings.access == KEYS and settings.allowed_origins:
        yield "LASTLAMP_ALLOWED_ORIGINS is for open access. With keys, each key for pages lists its origins."


def effective(settings: Settings) -> list[tuple[str, str]]:
    """List the settings as environment names and values, in the order of their fields; secrets masked."""
    return [(environment_name(f.name), _shown(f.name, getattr(settings, f.name))) for f in fields(settings)]


def _shown(name: str, value: object) -> str:
    if value and name in SECRETS:
        return MASK
    if type(value) is tuple:
        return ",".join(value)
    return OFF if value is None else str(value)
