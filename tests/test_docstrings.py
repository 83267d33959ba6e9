"""Examples in docstrings are run."""

import doctest
from importlib import import_module
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
WITH_EXAMPLES = sorted(
    ".".join(file.relative_to(ROOT).with_suffix("").parts)
    for file in (ROOT / "service").rglob("*.py")
    if ">>> " in file.read_text(encoding="utf-8")
)


@pytest.mark.parametrize("module", WITH_EXAMPLES)
def test_the_examples_of_a_module_give_what_they_show(module: str) -> None:
    tried = doctest.testmod(import_module(module))
    assert tried.attempted > 0
    assert tried.failed == 0
