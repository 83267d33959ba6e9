"""Compiles the hot loops of the solver where a compiler is: python deploy/compile.py

The Python that runs this needs pip. What is made stands in `service/physics/kernel/compiled` and fits every
Python of 3.11 or newer on this kind of machine. It is made once for each state of the files: a compiler that
failed is not asked again, tools that could not be fetched are. Where nothing can compile nothing is said: the
solver runs as plain Python then, and `python -m service config` says so. It always ends well.
"""

import os
import shlex
import shutil
import subprocess
import sys
import sysconfig
import tempfile
from pathlib import Path

TOP = Path(__file__).parents[1]
sys.path.insert(0, str(TOP))

from service.physics.kernel.stamp import COMPILED_FOLDER, FOLDER, STAMP, fits, stamp  # noqa: E402  # found there

FAILED = COMPILED_FOLDER / "failed"
"""The stamp of what a compiler failed at."""

LOG = COMPILED_FOLDER / "compile.log"

NOT_COMPILED = {"__init__", "stamp"}
"""Files that decide whether what was compiled is used."""

LOCK = TOP / "deploy" / "requirements-build.txt"
SETUP = TOP / "deploy" / "setup.py"


def can_compile() -> bool:
    """Whether a compiler is on the PATH, and what it needs to know of this Python."""
    command = shlex.split(os.environ.get("CC") or sysconfig.get_config_var("CC") or "cc")
    headers = Path(sysconfig.get_path("include"), "Python.h")
    # Without its lock Python takes no such extensions.
    locked = sys.implementation.name == "cpython" and not sysconfig.get_config_var("Py_GIL_DISABLED")
    return locked and headers.is_file() and shutil.which(command[0]) is not None


def ran(command: list[str], folder: Path, **environment: str) -> bool:
    """Run a program and keep what it says; whether it ended well."""
    with LOG.open("ab") as log:
        ended = subprocess.run(  # noqa: S603  # programs of this file
            command,
            cwd=folder,
            env={**os.environ, **environment},
            stdin=subprocess.DEVNULL,
            stdout=log,
            stderr=subprocess.STDOUT,
            check=False,
        )
    return ended.returncode == 0


def fetched(tools: Path) -> bool:
    """Unpack the tools that the lock names into a folder of their own; whether they could be had."""
    pip = [
        sys.executable,
        "-m",
        "pip",
        "install",
        "--disable-pip-version-check",
        "--no-input",
        "--retries",
        "2",
    ]
    kept = ["--no-deps", "--only-binary", ":all:", "--require-hashes", "--requirement", str(LOCK)]
    return ran([*pip, *kept, "--target", str(tools)], TOP)


def compiled(work: Path, tools: Path) -> list[Path]:
    """Compile copies of the files; the extensions, none unless all of them were made."""
    copies = work / FOLDER.relative_to(TOP)
    copies.mkdir(parents=True)
    for path in [*FOLDER.glob("*.py"), *FOLDER.glob("*.pxd")]:
        shutil.copy(path, copies)
    for folder in (copies.parent, copies.parent.parent):
        (folder / "__init__.py").touch()
    # Its own setuptools, also where this Python has another.
    ran([sys.executable, str(SETUP)], work, PYTHONPATH=str(tools), SETUPTOOLS_USE_DISTUTILS="local")
    made = sorted((work / "build" / "lib").rglob("*.so"))
    wanted = {path.stem for path in FOLDER.glob("*.py")} - NOT_COMPILED
    return made if wanted == {path.name.split(".")[0] for path in made} else []


def put(made: list[Path], wanted: str) -> None:
    """Put the extensions where they are found, their stamp last; each at once, another process may look."""
    STAMP.unlink(missing_ok=True)
    for old in COMPILED_FOLDER.glob("*.so"):
        old.unlink()
    for path in made:
        beside = COMPILED_FOLDER / f"{path.name}.new"
        shutil.copy(path, beside)
        beside.replace(COMPILED_FOLDER / path.name)
    beside = STAMP.with_suffix(".new")
    beside.write_text(wanted, encoding="ascii")
    beside.replace(STAMP)


def main() -> None:
    """Compile, unless it was done or cannot be done."""
    wanted = stamp()
    if fits() or (FAILED.is_file() and FAILED.read_text(encoding="ascii") == wanted) or not can_compile():
        return
    LOG.write_bytes(b"")
    print("Compiling the solver, once ...", file=sys.stderr)
    with tempfile.TemporaryDirectory() as folder:
        work, tools = Path(folder, "work"), Path(folder, "tools")
        if not fetched(tools):
            print(
                f"Its tools could not be fetched, so it runs as plain Python; {LOG} says why.",
                file=sys.stderr,
            )
            return
        made = compiled(work, tools)
        if not made:
            FAILED.write_text(wanted, encoding="ascii")
            print(f"It could not be compiled, so it runs as plain Python; {LOG} says why.", file=sys.stderr)
            return
        put(made, wanted)
    LOG.unlink()


if __name__ == "__main__":
    COMPILED_FOLDER.mkdir(exist_ok=True)
    main()
