"""Compiling the solver: once where a compiler is, and never a reason for not starting."""

import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Final

import pytest

from tests.deploy.files import ROOT

COPIED: Final = (
    "deploy/compile.py",
    "deploy/setup.py",
    "deploy/requirements-build.txt",
    "service/__init__.py",
)


@pytest.fixture
def tree(tmp_path: Path) -> Path:
    """What is compiled and what compiles it, in a folder of its own."""
    for name in COPIED:
        (tmp_path / name).parent.mkdir(exist_ok=True)
        shutil.copy(ROOT / name, tmp_path / name)
    left = shutil.ignore_patterns("compiled", "__pycache__")
    shutil.copytree(ROOT / "service" / "physics", tmp_path / "service" / "physics", ignore=left)
    return tmp_path


def compiling(tree: Path, **environment: str) -> str:
    """Compile; what was said."""
    ended = subprocess.run(  # noqa: S603  # this Python, with our own script
        [sys.executable, str(tree / "deploy" / "compile.py")],
        env={**os.environ, **environment},
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    assert (ended.returncode, ended.stdout) == (0, "")
    return ended.stderr


def form(tree: Path) -> str:
    """How the solver of a tree runs."""
    command = [sys.executable, "-c", "from service.physics.form import FORM; print(FORM)"]
    return subprocess.run(command, cwd=tree, capture_output=True, text=True, timeout=60, check=True).stdout  # noqa: S603  # this interpreter and a copy of our own tree


def pretended(tree: Path, *, pip: str = "") -> dict[str, str]:
    """A compiler that fails, and tools that are none, in the place of what pip would fetch."""
    files = {"bin/cc": "#!/bin/sh\nexit 1\n", "pip/__main__.py": pip, "pip/__init__.py": ""}
    for name, text in files.items():
        (tree / name).parent.mkdir(exist_ok=True)
        (tree / name).write_text(text, encoding="utf-8")
        (tree / name).chmod(0o755)
    return {"CC": str(tree / "bin" / "cc"), "PYTHONPATH": str(tree)}


def test_without_a_compiler_nothing_is_said_and_it_runs_as_python(tree: Path) -> None:
    assert compiling(tree, CC="no-such-compiler") == ""
    assert form(tree) == "plain\n"


def test_tools_that_could_not_be_fetched_are_tried_again(tree: Path) -> None:
    here = pretended(tree, pip="raise SystemExit(1)")
    for _ in range(2):
        assert "Its tools could not be fetched, so it runs as plain Python" in compiling(tree, **here)
    assert form(tree) == "plain\n"


def test_a_compiler_that_failed_is_not_asked_again_until_something_changed(tree: Path) -> None:
    here = pretended(tree)
    assert "It could not be compiled, so it runs as plain Python" in compiling(tree, **here)
    assert compiling(tree, **here) == ""
    assert form(tree) == "plain\n"
    with (tree / "service" / "physics" / "kernel" / "plan.py").open("a", encoding="utf-8") as file:
        file.write("# Another.\n")
    assert "It could not be compiled" in compiling(tree, **here)


def test_a_stale_extension_never_wins(tree: Path) -> None:
    built = ROOT / "service" / "physics" / "kernel" / "compiled"
    if not (built / "stamp").is_file():
        pytest.skip("Nothing was compiled: no compiler, or its tools were not reached.")
    kernel = tree / "service" / "physics" / "kernel"
    shutil.copytree(built, kernel / "compiled")
    assert form(tree) == "compiled\n"
    with (kernel / "search.py").open("a", encoding="utf-8") as file:
        file.write("# Another.\n")
    assert form(tree) == "plain\n"
