"""Tools that run on Node.js, in a folder with a lock, installed when first needed; and a browser."""

import json
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest

from tests.alone import alone_at

BROWSERS = ("chromium", "chromium-browser", "google-chrome")


def installed(folder: Path) -> Path:
    """Install the packages of a folder, exactly as locked and without running their scripts.

    Skips the test where there is no Node.js; fails it where the packages cannot be had.

    Parameters
    ----------
    folder : Path
        With package.json and package-lock.json.

    Returns
    -------
    commands : Path
        The folder in which the commands of the packages are.
    """
    npm()
    with alone_at(folder):
        if not is_current(folder):
            clean_install(folder)
    return folder / "node_modules" / ".bin"


def npm() -> str:
    """Name the program that installs packages; skips the test where there is none."""
    program = shutil.which("npm")
    if program is None or shutil.which("node") is None:
        pytest.skip("Needs Node.js with npm, and there is none on the PATH.")
    return program


def clean_install(folder: Path) -> None:
    """Install what the lock of a folder names, anew and without running its scripts."""
    command = [npm(), "ci", "--ignore-scripts", "--prefer-offline", "--no-audit", "--no-fund"]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, timeout=300, check=False)  # noqa: S603  # npm, with fixed arguments
    assert done.returncode == 0, done.stderr


def a_browser() -> str:
    """Name a browser of this machine; skips the test where there is none."""
    browser = next(filter(None, map(shutil.which, BROWSERS)), None)
    if browser is None:
        pytest.skip(f"Needs a browser, and none of {', '.join(BROWSERS)} is on the PATH.")
    return browser


def printed_by(script: Path, *arguments: str) -> Any:
    """What a script of ours prints as JSON, run in its folder."""
    command = [shutil.which("node") or "node", script.name, *arguments]
    done = subprocess.run(  # noqa: S603  # our own script
        command, cwd=script.parent, capture_output=True, text=True, timeout=180, check=False
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def is_current(folder: Path) -> bool:
    """Whether what is installed is newer than the lock that it was installed from."""
    written = folder / "node_modules" / ".package-lock.json"
    return written.is_file() and written.stat().st_mtime >= (folder / "package-lock.json").stat().st_mtime
