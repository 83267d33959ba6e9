"""Tools that run on Node.js: a folder with a package.json and a lock, installed when first needed."""

import shutil
import subprocess
from pathlib import Path

import pytest


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
    npm = shutil.which("npm")
    if npm is None or shutil.which("node") is None:
        pytest.skip("Needs Node.js with npm, and there is none on the PATH.")
    if not is_current(folder):
        command = [npm, "ci", "--ignore-scripts", "--no-audit", "--no-fund"]
        done = subprocess.run(command, cwd=folder, capture_output=True, text=True, timeout=300, check=False)  # noqa: S603  # npm, with fixed arguments
        assert done.returncode == 0, done.stderr
    return folder / "node_modules" / ".bin"


def is_current(folder: Path) -> bool:
    """Whether what is installed is newer than the lock that it was installed from."""
    written = folder / "node_modules" / ".package-lock.json"
    return written.is_file() and written.stat().st_mtime >= (folder / "package-lock.json").stat().st_mtime
