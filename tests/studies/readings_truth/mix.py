"""The committed population, as `mix.toml` says it."""

import tomllib
from pathlib import Path
from typing import Any, Final

MIX: Final[dict[str, Any]] = tomllib.loads(Path(__file__).with_name("mix.toml").read_text(encoding="utf-8"))
