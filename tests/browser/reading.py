"""What the committed document lets one expect of a page about it."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

COMMITTED: Final = Path(__file__).parents[2] / "openapi" / "openapi.json"


def operation_titles(document: Any) -> Iterator[str]:
    for item in document["paths"].values():
        for said in item.values():
            yield said["summary"]
