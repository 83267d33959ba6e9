"""The files that a deployment is made of, read as its tools read them."""

import re
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

import yaml

from service.server.shedding import MOST_HELD_BYTES
from service.settings import Settings

ROOT: Final = Path(__file__).parents[2]
KUBERNETES: Final = ROOT / "deploy" / "kubernetes"

OWN_MEBIBYTES: Final = 190
"""Measured, the serving process alone: 125 at rest, 188 after the largest requests and their answers."""

_VARIABLE: Final = re.compile(r"\$\{([A-Z_]+)(?::([-+])([^}]*))?\}")
_UNITS: Final = {"ms": 0.001, "s": 1, "m": 60, "h": 3600}


def read_yaml(path: Path) -> Any:
    return yaml.safe_load(path.read_text(encoding="utf-8"))


def tool(name: str) -> str:
    """A command of a package that is installed beside this Python."""
    return str(Path(sys.executable).with_name(name))


def interpolated(value: Any, variables: Mapping[str, str]) -> Any:
    """Fill in ``${NAME}``, ``${NAME:-default}`` and ``${NAME:+instead}``, as compose does."""
    if isinstance(value, dict):
        return {name: interpolated(member, variables) for name, member in value.items()}
    if isinstance(value, list):
        return [interpolated(item, variables) for item in value]
    if not isinstance(value, str):
        return value

    def filled(match: re.Match[str]) -> str:
        name, sign, text = match.groups()
        given = variables.get(name, "")
        return (text if given else "") if sign == "+" else given or text or ""

    return _VARIABLE.sub(filled, value)


def compose(**variables: str) -> Any:
    """Return docker-compose.yml as it is with some variables set."""
    return interpolated(read_yaml(ROOT / "docker-compose.yml"), variables)


def env_file(path: Path) -> dict[str, str]:
    lines = [line for line in path.read_text(encoding="utf-8").splitlines() if line and line[0] != "#"]
    return dict(line.split("=", 1) for line in lines)


def mebibytes(size: str) -> int:
    # By M compose means what Kubernetes means by Mi.
    return int(size.removesuffix("i").removesuffix("M"))


def at_most_mebibytes(settings: Settings) -> int:
    """The memory of one instance at its fullest: its own, its workers', and every body that may wait."""
    held = min(settings.maximum_in_progress * settings.maximum_body_bytes, MOST_HELD_BYTES)
    return OWN_MEBIBYTES + (settings.workers * settings.worker_memory_bytes + held) // 2**20


def seconds(duration: str) -> float:
    number, unit = re.fullmatch(r"(\d+)(ms|s|m|h)", duration).groups()  # type: ignore[union-attr]  # or the test fails
    return float(number) * _UNITS[unit]
