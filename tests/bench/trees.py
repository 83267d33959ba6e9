"""Processes that are asked for figures: this tree in both forms, and the tree of another commit.

What they answer is timed in their own processor time, so that a busy machine tells the same, and they take
turns, so that a figure is read beside its neighbours of the same minute.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from statistics import median
from typing import Any, NamedTuple

from service.physics.form import FORM

ROOT = Path(__file__).parents[2]
ANSWERING = ROOT / "tests" / "bench" / "answering.py"

BEFORE = "before"
"""What the tree of another commit is called."""

TURNS = 5


class Process:
    """A script that runs on one tree and answers each line that it is given.

    Parameters
    ----------
    script : Path
        Of this tree, whatever tree it runs on.
    folder : Path
        The tree.
    *arguments : str
        For the script.
    """

    def __init__(self, script: Path, folder: Path, *arguments: str) -> None:
        self._process = subprocess.Popen(  # noqa: S603  # this interpreter and a module of the tree that is compared
            [sys.executable, str(script), *arguments],
            cwd=folder,
            env={**os.environ, "PYTHONPATH": str(folder), "PYTHONDONTWRITEBYTECODE": "1"},
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )

    def asked(self, *line: Any) -> Any:
        """What it answers to one line."""
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.write(json.dumps(line) + "\n")
        self._process.stdin.flush()
        return json.loads(self._process.stdout.readline())

    def stop(self) -> None:
        """End it."""
        self._process.communicate()


class Asked(NamedTuple):
    """One request: what it is called, where it goes, and how often it is answered in one turn."""

    what: str
    path: str
    body: str
    repeats: int


class Answer(NamedTuple):
    """The median time of one request in one form [ms], its status and its reply."""

    form: str
    ms: float
    status: int
    reply: Any


@contextmanager
def answering(before: Path | None) -> Iterator[dict[str, Process]]:
    """A process for each form of this tree, and one for the tree of another commit."""
    found = {FORM: Process(ANSWERING, ROOT)}
    if FORM != "plain":
        found["plain"] = Process(ANSWERING, ROOT, "--plain")
    if before is not None:
        found[BEFORE] = Process(ANSWERING, before.resolve())
    try:
        yield found
    finally:
        for process in found.values():
            process.stop()


def answers(trees: dict[str, Process], asked: Asked) -> dict[str, Answer]:
    """The answer of each process to one request, by turns."""
    turns: dict[str, list[Any]] = {form: [] for form in trees}
    for _ in range(TURNS):
        for form, process in trees.items():
            turns[form].append(process.asked(asked.path, asked.body, asked.repeats))
    return {
        form: Answer(form, median(ms for _, ms, _ in found), found[0][0], json.loads(found[0][2]))
        for form, found in turns.items()
    }


def options(name: str, arguments: list[str]) -> argparse.Namespace:
    """What is said on the command line: as JSON or not, and beside which other tree."""
    parser = argparse.ArgumentParser(prog=f"python -m tests.bench.{name}")
    parser.add_argument("--json", action="store_true", help="figures instead of a table")
    parser.add_argument("--before", type=Path, help="the folder of a tree of another commit")
    return parser.parse_args(arguments)


def by_form(rows: list[dict[str, Any]]) -> dict[str, list[dict[str, Any]]]:
    """The rows of the form that runs, those of the plain one, and those of the other tree."""
    forms = {"rows": FORM, "plain_rows": "plain", "before_rows": BEFORE}
    return {name: [row for row in rows if row["form"] == form] for name, form in forms.items()}
