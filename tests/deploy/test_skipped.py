"""What was not checked is counted by a script that reads the report of pytest."""

import re
import subprocess
import sys
from pathlib import Path

from tests.deploy.files import ROOT

TESTS = """
import pytest

def test_runs(): pass
def test_misses_one_thing(): pytest.skip("Needs a thing.")
def test_misses_it_too(): pytest.skip("Needs a thing.")
def test_misses_another(): pytest.skip("Needs another thing.")
"""


def python(*arguments: str) -> str:
    command = [sys.executable, *arguments]
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=60, check=True).stdout  # noqa: S603  # this interpreter


def counted(folder: Path, tests: str) -> list[str]:
    file, report = folder / "test_some.py", folder / "report.xml"
    file.write_text(tests, encoding="utf-8")
    python(
        "-m", "pytest", f"--rootdir={folder}", "-p", "no:cacheprovider", f"--junit-xml={report}", str(file)
    )
    return python("deploy/skipped.py", str(report)).splitlines()


def test_skipped_tests_are_counted_by_their_reason(tmp_path: Path) -> None:
    assert counted(tmp_path, TESTS) == ["Skipped: 3.", "  2 × Needs a thing.", "  1 × Needs another thing."]


def test_tests_of_several_reports_are_counted_together(tmp_path: Path) -> None:
    (tmp_path / "one").mkdir()
    (tmp_path / "two").mkdir()
    counted(tmp_path / "one", TESTS)
    counted(tmp_path / "two", TESTS)
    reports = [str(each) for each in sorted(tmp_path.glob("*/report.xml"))]
    assert python("deploy/skipped.py", *reports).splitlines()[:2] == ["Skipped: 6.", "  4 × Needs a thing."]


def test_what_runs_alone_is_there() -> None:
    # What pytest does not find to ignore it does not mention.
    script = (ROOT / "deploy/test").read_text(encoding="utf-8")
    [folders] = re.findall(r'^alone="([^"]+)"$', script, re.MULTILINE)
    assert [each for each in folders.split() if not (ROOT / each).exists()] == []


def test_a_run_without_skipped_tests_says_so_too(tmp_path: Path) -> None:
    assert counted(tmp_path, "def test_runs(): pass\n") == ["Skipped: 0."]
