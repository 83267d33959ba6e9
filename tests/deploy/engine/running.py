"""A container engine: the one that is there, or one of its own in namespaces, and the project run by it."""

import contextlib
import json
import os
import shlex
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, Final, Self

import pytest

from tests.load.replica import free_port

ROOT: Final = Path(__file__).parents[3]
HERE: Final = Path(__file__).parent
NEEDED: Final = ("curl", "debootstrap", "flock", "nsenter", "setpriv", "unshare")
CARRIED: Final = (".dockerignore", "docker-compose.yml", "deploy", "openapi", "service")
BASES: Final = {
    "python": "python:3.11-slim-bookworm",
    "tools": "python:3.11-bookworm",
    "nginx": "nginx:1.30-alpine",
}
NGINX_CHANGES: Final = (
    'ENTRYPOINT ["/docker-entrypoint.sh"]',
    "ENV PATH=/bin",
    "STOPSIGNAL SIGQUIT",
)
CGROUPS: Final = Path("/sys/fs/cgroup")
PATIENCE_SECONDS: Final = 120.0


def done(command: list[str], *, seconds: float = 900, **options: Any) -> subprocess.CompletedProcess[str]:
    """Run a program to its end, whatever that is."""
    return subprocess.run(command, capture_output=True, text=True, timeout=seconds, check=False, **options)  # noqa: S603  # of this file's making


def eventually(what: str, holds: Callable[[], bool]) -> None:
    """Wait until something holds."""
    give_up_at = time.monotonic() + PATIENCE_SECONDS
    while not holds():
        assert time.monotonic() < give_up_at, f"{what}: not within {PATIENCE_SECONDS:.0f} s"
        time.sleep(0.2)


class Engine:
    """A container engine, and the folder of the project as commands of it see it.

    Parameters
    ----------
    project : Path
        A copy of the project, which may be changed.
    entered : list of str
        What to put before a command so that it runs where the engine is.
    beside : list of str
        The same for a program of this machine that asks a published port.
    folder : str
        The path of the copy where the engine is.
    """

    image = "lastlamp"
    plain = "127.0.0.1:8080"
    tls = "127.0.0.1:8443"
    pip_conf = "[global]\nno-index = true\nfind-links = /wheels\n"
    """What the build must know to find packages."""

    def __init__(self, project: Path, entered: list[str], beside: list[str], folder: str) -> None:
        self.project = project
        self._entered = entered
        self._beside = beside
        self._folder = folder
        self.environment: dict[str, str] = {}

    def tried(self, script: str) -> subprocess.CompletedProcess[str]:
        """Run lines of a shell in the project's folder, to their end or the first that fails."""
        settings = [f"{name}={value}" for name, value in self.environment.items()]
        inside = f"cd {shlex.quote(self._folder)} && {script}"
        return done([*self._entered, "env", *settings, "sh", "-e", "-c", inside])

    def run(self, script: str) -> str:
        """Run lines of a shell that must not fail; return what they wrote."""
        ended = self.tried(script)
        assert ended.returncode == 0, f"{script}\n{ended.stdout}\n{ended.stderr}"
        return ended.stdout.strip()

    def asking(self, address: str, body: Path) -> "Asking":
        """Start asking a published address again and again."""
        return Asking([*self._beside, sys.executable, str(HERE / "asking.py"), address, str(body)])

    def get(self, address: str, *options: str) -> tuple[int, str]:
        """Ask once, with curl; return the status and the body."""
        command = [*self._beside, "curl", "--silent", "--max-time", "20", "--write-out", "\n%{http_code}"]
        body, _, status = done([*command, *options, address]).stdout.rpartition("\n")
        return int(status), body

    def instances(self) -> list[str]:
        """The ids of the service's containers that run."""
        return self.run("docker compose ps --quiet lastlamp").split()

    def inspected(self, container: str) -> Any:
        return json.loads(self.run(f"docker inspect {container}"))[0]

    def healthy(self, container: str) -> bool:
        state = self.inspected(container)["State"]
        return bool(state["Running"] and state["Health"]["Status"] == "healthy")


class Asking:
    """Requests on their way, one after the other, until they are ended."""

    def __init__(self, command: list[str]) -> None:
        self._process = subprocess.Popen(  # noqa: S603  # of this file's making
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )
        assert self._process.stdout is not None
        assert self._process.stdout.readline() == "asking\n"

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        if self._process.poll() is None:
            self.ended()

    def ended(self) -> dict[str, int]:
        """Let them end; return how often each outcome was seen."""
        out, _ = self._process.communicate(timeout=60)
        seen: dict[str, int] = json.loads(out)
        return seen


def copied(folder: Path) -> Path:
    """Copy what an image and a deployment are made of."""
    project = folder / "project"
    project.mkdir()
    unwanted = shutil.ignore_patterns("__pycache__")
    for name in CARRIED:
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, project / name, ignore=unwanted)
        else:
            shutil.copy(source, project / name)
    return project


@contextlib.contextmanager
def engine(folder: Path) -> Iterator[Engine]:
    """Yield an engine with base images, or skip and say why there is none."""
    found = shutil.which("docker")
    if found and all(done([found, *words]).returncode == 0 for words in (["info"], ["compose", "version"])):
        with _there(folder, found) as running:
            yield running
    else:
        with _own(folder) as running:
            yield running


@contextlib.contextmanager
def _there(folder: Path, docker: str) -> Iterator[Engine]:
    """The engine of this machine, with names that are nobody else's, taken away again afterwards."""
    for base in BASES.values():
        if done([docker, "image", "inspect", base]).returncode and done([docker, "pull", base]).returncode:
            pytest.skip(f"The container engine has no {base} and cannot fetch it.")
    project = copied(folder)
    running = Engine(project, [], [], str(project))
    running.image = f"lastlamp-test-{os.getpid()}"
    running.plain, running.tls = (f"127.0.0.1:{free_port()}" for _ in range(2))
    # Packages come from where the machine's own pip is told to look.
    told = os.environ.get("PIP_CONFIG_FILE", os.devnull)
    running.pip_conf = Path(told).read_text(encoding="utf-8")
    running.environment = {
        "COMPOSE_PROJECT_NAME": running.image,
        "SERVICE_IMAGE": running.image,
        "PROXY_PUBLISH": running.plain,
        "PROXY_PUBLISH_TLS": running.tls,
    }
    try:
        yield running
    finally:
        for name in ("KEYS_FOLDER", "PROXY_CERTIFICATE_FOLDER"):
            running.environment.pop(name, None)  # or the volumes in their place would be left
        running.tried("docker compose down --volumes --timeout 1")
        running.tried(f"docker image rm {running.image}")
        running.tried("docker image prune --force --filter label=org.opencontainers.image.title=Lastlamp")


@contextlib.contextmanager
def _own(folder: Path) -> Iterator[Engine]:
    """An engine in namespaces, of which nothing is left afterwards but the folder in the cache."""
    if missing := [command for command in NEEDED if shutil.which(command) is None]:
        pytest.skip(
            f"No container engine runs here, and for one of its own {', '.join(missing)} are missing."
        )
    if os.geteuid() != 0:
        pytest.skip("No container engine runs here, and only root can run one of its own.")
    made = done(["sh", str(HERE / "make"), str(folder)])
    if made.returncode:
        pytest.skip(f"No container engine runs here, and none could be made: {made.stderr.strip()}")
    project = copied(folder)
    cgroup = f"/lastlamp-test-{os.getpid()}"
    arguments = [str((folder / "engine").resolve()), str(project), str(folder), cgroup]
    # Whoever kills the tests kills the first process, and with that all others and the namespaces.
    alone = shlex.split("setpriv --pdeathsig KILL unshare --mount --net --pid --fork --kill-child")
    with (folder / "engine.log").open("w") as log:
        starter = subprocess.Popen([*alone, "sh", str(HERE / "enter"), *arguments], stdout=log, stderr=log)  # noqa: S603  # our own script
    try:
        yield _filled(starter, project, folder)
    finally:
        # The first process and not its starter, which then takes note of the end and leaves no zombie.
        for first in _children(starter.pid):
            os.kill(int(first), signal.SIGKILL)
        starter.wait()
        _swept(cgroup)


def _filled(starter: subprocess.Popen[bytes], project: Path, folder: Path) -> Engine:
    """Wait for the engine of the namespaces, and give it the stand-ins for the base images."""
    first = _first_process(starter.pid)
    there = ["nsenter", "--target", first, "--net"]
    cleared = ["env", "-i", "PATH=/usr/sbin:/usr/bin:/sbin:/bin", "HOME=/root"]
    running = Engine(project, [*there, "--mount", "--pid", "--root", *cleared], there, "/project")
    give_up_at = time.monotonic() + PATIENCE_SECONDS
    while running.tried("docker info").returncode:
        if starter.poll() is not None or time.monotonic() > give_up_at:
            said = (folder / "engine.log").read_text(encoding="utf-8")
            pytest.skip(f"No container engine runs here, and one of its own does not: {said[-500:]}")
        time.sleep(0.2)
    changes = shlex.join(f"--change={change}" for change in NGINX_CHANGES)
    running.run(f"docker import --change 'ENV PATH=/usr/bin:/bin' /stand-ins/python.tar {BASES['python']}")
    # It has no compiler, with which the image does as well.
    running.run(f"docker tag {BASES['python']} {BASES['tools']}")
    running.run(f"docker import {changes} /stand-ins/nginx.tar {BASES['nginx']}")
    tried = running.tried(f"docker run --rm --memory 64m --network none {BASES['python']} true")
    for name in ("python.tar", "nginx.tar"):
        (folder / name).unlink()
    if tried.returncode:
        pytest.skip(f"No container engine runs here, and one of its own runs nothing: {tried.stderr[-500:]}")
    return running


def _first_process(starter: int) -> str:
    """Return the number, as this machine counts, of the first process in the namespaces."""
    eventually("the engine starts", lambda: _children(starter) != [])
    return _children(starter)[0]


def _children(process: int) -> list[str]:
    return Path(f"/proc/{process}/task/{process}/children").read_text(encoding="ascii").split()


def _swept(cgroup: str) -> None:
    """Remove the groups in which the processes of a dead engine were counted."""
    left = sorted(CGROUPS.rglob(f"{cgroup[1:]}/**/"), reverse=True)
    eventually("all of them end", lambda: not any((group / "cgroup.procs").read_text() for group in left))
    for group in left:
        group.rmdir()
