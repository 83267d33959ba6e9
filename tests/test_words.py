"""What people read is in the trade's words: phrases that no installer writes stand nowhere that is shown."""

import ast
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from service.http import embed

ROOT = Path(__file__).parents[1]
GARDEN = ROOT / "openapi" / "examples" / "garden" / "README.md"

AVOIDED = (
    "hangs on",
    "hang on",
    "at home",
    "stand behind",
    "stands behind",
    "nought",
    "taken for granted",
    "no sine",
    "made anew",
    "less and less",
    "than thought",
    "likeliest single cause",
    "heat in cable",
    "into the page",
    "from one to the next",
    "may be off by",
    "nothing to report",
    "in the state that asks for most",
    "could grow to",
    "the list of the rejected",
    "loses nothing, so",
)
"""What stood there once, and what the trade does not say so."""


def written(tree: Any) -> Iterator[str]:
    """Every text of a tree."""
    if isinstance(tree, str):
        yield tree
    elif isinstance(tree, dict | list):
        for each in tree.values() if isinstance(tree, dict) else tree:
            yield from written(each)


def spoken(path: Path) -> Iterator[str]:
    """Texts of a program that are no docstrings."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    told = {
        id(node.value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in told:
            yield node.value


def shown() -> Iterator[tuple[str, str]]:
    """Everything that people read, by where it stands."""
    for path in sorted((ROOT / "service").rglob("*.py")):
        for text in spoken(path):
            yield str(path.relative_to(ROOT)), text
    for text in written(json.loads((ROOT / "openapi" / "openapi.json").read_text(encoding="utf-8"))):
        yield "openapi/openapi.json", text
    pages = [*(ROOT / "service" / "static" / "landing").glob("*.html"), ROOT / "README.md", GARDEN]
    newest = sorted((embed.FOLDER / embed.newest()).glob("*.json"))
    for path in [*pages, *newest]:
        yield str(path.relative_to(ROOT)), path.read_text(encoding="utf-8")


SHOWN = list(shown())


@pytest.mark.parametrize("phrase", AVOIDED)
def test_nobody_reads_what_the_trade_does_not_say(phrase: str) -> None:
    found = {(where, text[:120]) for where, text in SHOWN if phrase in text.lower()}
    assert found == set()


def test_there_is_something_to_read() -> None:
    assert len(SHOWN) > 5_000
    assert any("needs a device of" in text for _, text in SHOWN)
