"""Where a Python is looked for: deploy/environment.sh, as deploy/start and deploy/test source it."""

import shutil
import subprocess
import sys
from pathlib import Path
from typing import Final

import pytest

from tests.deploy.files import ROOT

FINDING: Final = ". deploy/environment.sh; find_python"


def found(folder: Path) -> subprocess.CompletedProcess[str]:
    """Look for a Python where nothing is but what a folder holds, and `head`."""
    (folder / "head").symlink_to(str(shutil.which("head")))
    return subprocess.run(  # noqa: S603  # a shell with a script that stands here
        ["/bin/sh", "-c", FINDING],
        cwd=ROOT,
        env={"PATH": str(folder)},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )


def put_old(folder: Path, name: str) -> None:
    """A Python that is too old: it tells its version, and fails whatever else it is asked."""
    (folder / name).write_text(
        '#!/bin/sh\n[ "$1" = --version ] && echo Python 3.9.2 || exit 1\n', encoding="utf-8"
    )
    (folder / name).chmod(0o755)


@pytest.mark.parametrize(
    "name", ["python3", "python3.14", "python3.13", "python3.12", "python3.11", "python"]
)
def test_a_python_is_found_by_any_of_its_names_beside_one_that_is_too_old(tmp_path: Path, name: str) -> None:
    if name != "python3":
        put_old(tmp_path, "python3")
    (tmp_path / name).symlink_to(sys.executable)
    assert found(tmp_path).stdout == f"{name}\n"


def test_without_a_python_that_is_new_enough_one_sentence_says_so(tmp_path: Path) -> None:
    put_old(tmp_path, "python3")
    ended = found(tmp_path)
    assert (ended.returncode, ended.stdout) == (1, "")
    assert ended.stderr.startswith("Python 3.11 or newer is needed, and python3 is Python 3.9.2.")


def test_the_command_of_an_environment_runs_from_any_folder_and_in_one_with_a_quote(tmp_path: Path) -> None:
    home, elsewhere = tmp_path / "Marta's tools", tmp_path / "elsewhere"
    (home / "env" / "bin").mkdir(parents=True)
    # A program of the same name there must not be taken for this one.
    (elsewhere / "service").mkdir(parents=True)
    (elsewhere / "service" / "__main__.py").write_text("print('another')\n", encoding="utf-8")
    (home / "env" / "bin" / "python").symlink_to(sys.executable)
    (home / "service").symlink_to(ROOT / "service")
    script = f'. "{ROOT}/deploy/environment.sh"; add_command env'
    subprocess.run(["/bin/sh", "-euc", script], cwd=home, check=True)  # noqa: S603  # a shell with a script that stands here
    ended = subprocess.run(  # noqa: S603  # what was just made
        [home / "env" / "bin" / "lastlamp", "config"],
        cwd=elsewhere,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert (ended.returncode, ended.stderr) == (0, "")
    assert "LASTLAMP_BIND=127.0.0.1:8080\n" in ended.stdout
    ended = subprocess.run(  # noqa: S603  # the same command, misspelt
        [home / "env" / "bin" / "lastlamp", "aks"],
        cwd=elsewhere,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert ended.returncode == 64
    assert ended.stderr.startswith("usage: lastlamp [-h] ")


def test_a_folder_that_cannot_be_written_is_named() -> None:
    # Nobody makes a file there, root neither.
    script = ". deploy/environment.sh; make_environment /proc/environment deploy/requirements.txt"
    ended = subprocess.run(  # noqa: S603  # a script of the repository, by its path
        ["/bin/sh", "-euc", script], cwd=ROOT, capture_output=True, text=True, timeout=60, check=False
    )
    assert (ended.returncode, ended.stdout) == (1, "")
    assert ended.stderr.startswith(
        "The folder /proc cannot be written, and /proc/environment is made in it. "
    )
    assert len(ended.stderr.splitlines()) == 1


def test_a_command_that_cannot_be_added_is_said_in_one_sentence() -> None:
    script = f'. "{ROOT}/deploy/environment.sh"; add_command /proc'
    ended = subprocess.run(  # noqa: S603  # a script of the repository, by its path
        ["/bin/sh", "-euc", script], cwd=ROOT, capture_output=True, text=True, timeout=60, check=False
    )
    assert ended.returncode == 1
    assert ended.stderr == "The folder /proc cannot be written, and the command lastlamp is made in it.\n"
