"""What the import contracts in pyproject.toml cannot say, and that they say what DEVELOPERS.md does."""

import ast
import re
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parents[1]
PHYSICS = sorted((ROOT / "service" / "physics").rglob("*.py"))
SOURCES = sorted((ROOT / "service").rglob("*.py"))


CONTRACTS: list[dict[str, Any]] = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))[
    "tool"
]["importlinter"]["contracts"]
ROW = re.compile(r"^\| `(\w+)` \| [^|]+ \| ([^|]*)\|$", re.MULTILINE)
ROOMS = {
    room: words.strip() for room, words in ROW.findall((ROOT / "DEVELOPERS.md").read_text(encoding="utf-8"))
}


@pytest.mark.parametrize("room", [room for room, words in ROOMS.items() if words])
def test_what_a_room_knows_nothing_of_is_held_by_a_contract_in_the_same_words(room: str) -> None:
    layers = CONTRACTS[0]["layers"]
    held = {
        contract["name"].removeprefix("Knows nothing of ")
        for contract in CONTRACTS
        if f"service.{room}" in contract.get("source_modules", ())
    }
    # Below the last layer there is nothing to know of.
    assert ROOMS[room] in held or (room == layers[-1] and ROOMS[room] == "everything")


def test_every_contract_of_what_rooms_know_nothing_of_stands_in_the_table() -> None:
    said = {contract["name"] for contract in CONTRACTS if contract["name"].startswith("Knows nothing of ")}
    assert said == {f"Knows nothing of {words}" for words in ROOMS.values() if words}


LIKE_A_TUPLE = {"tuple", "Sequence", "Collection", "Iterable"}
"""Types that every named tuple is as well, so that a test for them tells nothing apart."""


def foolable_tests(path: Path) -> list[int]:
    """Lines that ask with `isinstance` for what a named tuple is too."""
    return [
        node.lineno
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and node.func.id in {"isinstance", "issubclass"}
        and any(
            isinstance(name, ast.Name) and name.id in LIKE_A_TUPLE
            for kind in node.args[1:]
            for name in ast.walk(kind)
        )
    ]


def imported_names(path: Path) -> set[str]:
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            names.add(node.module)
    return names


@pytest.mark.parametrize("path", PHYSICS, ids=lambda path: path.stem)
def test_physics_imports_only_itself_and_the_standard_library(path: Path) -> None:
    foreign = {name for name in imported_names(path) if name.split(".")[0] not in sys.stdlib_module_names}
    assert {name for name in foreign if not name.startswith("service.physics")} == set()


@pytest.mark.parametrize(
    "path", [path for path in PHYSICS if path.parent.name == "kernel"], ids=lambda path: path.stem
)
def test_the_kernel_imports_only_itself_and_the_standard_library(path: Path) -> None:
    ours = {name for name in imported_names(path) if name.split(".")[0] == "service"}
    assert {name for name in ours if not name.startswith("service.physics.kernel")} == set()


LONG = 300
"""Of a body written out as its syntax tree: what is shorter is one call or one attribute."""


def bodies() -> Iterator[tuple[str, str]]:
    """Every function, and what it does."""
    for path in SOURCES:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                said = node.body[1:] if ast.get_docstring(node) else node.body
                yield f"{path.name}:{node.name}", " ".join(map(ast.dump, said))


def test_no_two_functions_do_the_same_in_the_same_words() -> None:
    found: dict[str, list[str]] = {}
    for name, body in bodies():
        if len(body) > LONG:
            found.setdefault(body, []).append(name)
    assert [names for names in found.values() if len(names) > 1] == []


def test_a_collapse_is_caught_in_one_place() -> None:
    catching = [
        path.name
        for path in SOURCES
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.ExceptHandler) and node.type and "NoOperatingPoint" in ast.unparse(node.type)
    ]
    assert catching == ["solve.py"]


def test_every_room_says_what_it_is_for() -> None:
    silent = [path for path in SOURCES if not ast.get_docstring(ast.parse(path.read_text(encoding="utf-8")))]
    assert silent == []


def test_no_type_test_can_be_fooled_by_a_named_tuple() -> None:
    fooled = {path.name: lines for path in SOURCES if (lines := foolable_tests(path))}
    assert fooled == {}


def test_a_type_test_that_a_named_tuple_fools_is_noticed(tmp_path: Path) -> None:
    source = tmp_path / "source.py"
    source.write_text("def f(x):\n    return isinstance(x, (int, tuple))\n", encoding="utf-8")
    assert foolable_tests(source) == [2]
