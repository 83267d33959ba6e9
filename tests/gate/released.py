"""The documents that were released, one file a version."""

import json
from pathlib import Path
from typing import Any, Final

OPENAPI: Final = Path(__file__).parents[2] / "openapi"
COMMITTED: Final = OPENAPI / "openapi.json"
RELEASED: Final = OPENAPI / "released"


def version_of(path: Path) -> tuple[int, ...]:
    """Read the version from the name of a file, so that 0.10.0 comes after 0.9.0."""
    return tuple(int(part) for part in path.stem.split("."))


def last_released(folder: Path = RELEASED) -> Path | None:
    """The document of the newest release; none where nothing was released yet."""
    return max(folder.glob("*.json"), key=version_of, default=None)


def read(path: Path) -> Any:
    return json.loads(path.read_bytes())
