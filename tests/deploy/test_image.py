"""The image is built without an engine, and asked while its root cannot be written.

It is run as an engine would run it: read-only, as its own user, without privileges.
"""

import json
import os
import re
import shlex
import shutil
import socket
import subprocess
import time
import urllib.error
import urllib.request
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest

from service import __version__
from tests.client import Client
from tests.deploy.files import ROOT, compose, tool

NEEDED = ("buildah", "debootstrap", "unshare", "setpriv", "chroot")
READY_SECONDS = 30.0

# What an engine gives every container beside its root.
MOUNTS = """
set -eu
root=$1
shift
mount --bind "$root" "$root"
mount --rbind /dev "$root/dev"
mount -t proc proc "$root/proc"
mount -o remount,bind,ro "$root"
exec setpriv --no-new-privs chroot --userspec="$OWNER" "$root" /usr/bin/env -i - "$@"
"""


def skip_unless_it_can_be_built() -> None:
    if missing := [command for command in NEEDED if shutil.which(command) is None]:
        pytest.skip(f"Needs {', '.join(missing)}, which are not on the PATH.")
    if os.geteuid() != 0:
        pytest.skip("Only root can build the image without an engine.")


class Image:
    """The image of this tree.

    Parameters
    ----------
    folder : Path
        Where to unpack it.
    """

    def __init__(self, folder: Path) -> None:
        command = ["sh", str(ROOT / "deploy" / "image"), str(folder)]
        done = subprocess.run(command, capture_output=True, text=True, timeout=900, check=False)  # noqa: S603  # our own script
        assert done.returncode == 0, done.stderr
        self.root = folder / "root"
        self.config: Any = json.loads((folder / "config.json").read_bytes())["Docker"]["config"]
        sizes = dict(line.split(": ") for line in done.stdout.splitlines())
        self.base_bytes, self.bytes = (int(sizes[name].split()[0]) for name in ("base", "image"))

    def start(self, arguments: list[str], settings: Mapping[str, str]) -> subprocess.Popen[str]:
        """Start a program of the image, in the place of an engine."""
        environment = [*self.config["Env"], *(f"{name}={value}" for name, value in settings.items())]
        # What stands before the program is assigned by env(1); the working directory is the image's too.
        inside = f"cd {shlex.quote(self.config['WorkingDir'])} && exec {shlex.join(arguments)}"
        command = ["unshare", "--mount", "sh", "-c", MOUNTS, "mounts", str(self.root), *environment]
        return subprocess.Popen(  # noqa: S603  # a program of the image that was just built
            [*command, "/bin/sh", "-c", inside],
            env={**os.environ, "OWNER": self.config["User"]},
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )

    def serve(self, settings: Mapping[str, str]) -> "Container":
        """Start the service, as its entry says."""
        return Container(self, settings)


class Container:
    """One running service out of the image, on a port of its own."""

    def __init__(self, image: Image, settings: Mapping[str, str]) -> None:
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.bind = f"127.0.0.1:{probe.getsockname()[1]}"
        self._image = image
        self._settings = {**settings, "LASTLAMP_BIND": self.bind}
        entry = [*image.config["Entrypoint"], *image.config["Cmd"]]
        self.process = image.start(entry, self._settings)

    def wait_until_ready(self) -> None:
        give_up_at = time.monotonic() + READY_SECONDS
        while self.health()[0] != 0:
            if time.monotonic() > give_up_at or self.process.poll() is not None:
                self.process.kill()
                pytest.fail(f"The service did not become ready: {self.process.communicate()}")
            time.sleep(0.1)

    def health(self) -> tuple[int, str]:
        """Run the health check of the image beside it; return its exit code and words."""
        process = self._image.start(self._image.config["Healthcheck"]["Test"][1:], self._settings)
        out, err = process.communicate(timeout=30)
        return process.returncode, out + err

    def ask(self, path: str, body: bytes | None = None, accept: str = "*/*") -> tuple[int, bytes]:
        headers = {"Accept": accept}
        if body is not None:
            headers["Content-Type"] = "application/json"
        request = urllib.request.Request(f"http://{self.bind}{path}", body, headers)  # loopback
        try:
            with urllib.request.urlopen(request, timeout=30) as reply:  # noqa: S310  # loopback
                return reply.status, reply.read()
        except urllib.error.HTTPError as error:
            with error:
                return error.code, error.read()

    def stop(self) -> tuple[int, str, str]:
        """Ask it to stop, as an engine does; return exit code and what it wrote."""
        self.process.terminate()
        out, err = self.process.communicate(timeout=30)
        return self.process.returncode, out, err


LARGEST_ADDITION_BYTES = 150_000_000
"""Half of it is the engine of least-cost layouts with numpy, which brings its own linear algebra."""
QUICK_TO_STOP = {"LASTLAMP_DRAIN_SECONDS": "0", "LASTLAMP_METRICS_BIND": "off"}
JOB = (ROOT / "openapi" / "examples" / "voltage_drop.json").read_bytes()


@pytest.fixture(scope="module")
def image(tmp_path_factory: pytest.TempPathFactory) -> Image:
    skip_unless_it_can_be_built()
    return Image(tmp_path_factory.mktemp("image"))


@pytest.fixture(scope="module")
def container(image: Image) -> Iterator[Container]:
    running = image.serve({**compose()["services"]["lastlamp"]["environment"], **QUICK_TO_STOP})
    running.wait_until_ready()
    yield running
    if running.process.poll() is None:
        running.stop()


def test_the_linter_finds_nothing_in_the_dockerfile() -> None:
    command = [tool("hadolint"), "--no-color", "deploy/Dockerfile"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=60, check=False)  # noqa: S603  # the linter
    assert done.returncode == 0, done.stdout


def test_the_image_answers_as_this_tree_does(container: Container, client: Client) -> None:
    status, reply = container.ask("/v1/voltage-drop", JOB)
    here = client.post("/v1/voltage-drop", content=JOB, headers={"Content-Type": "application/json"})
    assert (status, reply) == (200, here.content)


def test_every_example_of_the_document_runs_in_the_image(container: Container, client: Client) -> None:
    assert container.ask("/openapi.json") == (200, client.get("/openapi.json").content)


@pytest.mark.parametrize("path", ["/docs", "/embed/manifest.json", "/v1/conductors", "/health/ready"])
def test_every_kind_of_file_that_is_served_is_in_the_image(container: Container, path: str) -> None:
    assert container.ask(path)[0] == 200


def test_the_solver_of_the_image_is_compiled_and_nothing_that_compiles_is_in_it(
    image: Image, container: Container
) -> None:
    assert json.loads(container.ask("/health/ready")[1])["solver"] == "compiled"
    kernel = image.root / "srv/lastlamp/service/physics/kernel"
    assert {path.suffix for path in (kernel / "compiled").iterdir()} == {".so", ""}
    assert not list((image.root / "usr" / "bin").glob("*gcc*"))
    for left_behind in ("Cython", "setuptools"):
        assert not list((image.root / "opt").rglob(left_behind))


def test_a_sheet_is_printed_without_the_packages_that_are_left_out(
    container: Container, client: Client
) -> None:
    headers = {"Content-Type": "application/json", "Accept": "application/pdf"}
    here = client.post("/v1/voltage-drop", content=JOB, headers=headers)
    assert container.ask("/v1/voltage-drop", JOB, "application/pdf") == (200, here.content)


def test_the_health_check_of_the_image_finds_it_ready(container: Container) -> None:
    assert container.health()[0] == 0


def test_an_engine_stops_it_cleanly(image: Image) -> None:
    running = image.serve(QUICK_TO_STOP)
    running.wait_until_ready()
    code, _, err = running.stop()
    assert (code, err) == (0, "")


def test_it_is_run_by_a_number_that_is_not_root(image: Image) -> None:
    user, _, group = image.config["User"].partition(":")
    assert int(user) >= 10_000
    assert int(group) >= 10_000


def test_its_user_owns_and_may_write_nothing_of_it(image: Image) -> None:
    for part in ("opt", "srv"):
        for path in (image.root / part).rglob("*"):
            status = path.lstat()
            assert status.st_uid == 0, path
            assert path.is_symlink() or not status.st_mode & 0o022, path


def test_no_module_is_compiled_when_it_starts(image: Image) -> None:
    version = next((image.root / "opt" / "lastlamp" / "lib").iterdir()).name
    tag = f"cpython-{version.removeprefix('python').replace('.', '')}"
    for part in ("opt", "srv"):
        for source in (image.root / part).rglob("*.py"):
            assert (source.parent / "__pycache__" / f"{source.stem}.{tag}.pyc").is_file(), source


def test_it_says_what_it_is(image: Image) -> None:
    labels = image.config["Labels"]
    assert labels["org.opencontainers.image.title"] == "Lastlamp"
    assert labels["org.opencontainers.image.version"] == __version__
    assert re.fullmatch(r"[0-9a-f]{40}|unknown", labels["org.opencontainers.image.revision"])


def test_it_holds_no_installer_and_no_address_to_install_from(image: Image) -> None:
    assert not list((image.root / "opt").rglob("pip"))
    # An empty file is left where the secret was mounted.
    left = image.root / "etc" / "pip.conf"
    assert not left.exists() or left.read_bytes() == b""
    assert not [name for name in os.environ if name.startswith("PIP_") and name in str(image.config["Env"])]


def test_it_holds_only_what_runs(image: Image) -> None:
    home = image.root / "srv" / "lastlamp"
    assert sorted(path.name for path in home.iterdir()) == ["NOTICES", "bom.cdx.json", "openapi", "service"]
    assert [path.name for path in (home / "openapi").iterdir()] == ["examples"]


def test_it_says_what_it_carries_and_under_which_licences(image: Image) -> None:
    home = image.root / "srv" / "lastlamp"
    assert (home / "NOTICES").read_bytes() == (ROOT / "deploy" / "NOTICES").read_bytes()
    bill = json.loads((home / "bom.cdx.json").read_bytes())
    purls = [component.get("purl", "") for component in bill["components"]]
    recorded = (image.root / "var" / "lib" / "dpkg" / "status").read_text(encoding="utf-8")
    assert sum(purl.startswith("pkg:deb/debian/") for purl in purls) == recorded.count(" ok installed\n")
    (packages,) = (image.root / "opt" / "lastlamp" / "lib").glob("python*/site-packages")
    installed = len(list(packages.glob("*.dist-info")))
    assert sum(purl.startswith("pkg:pypi/") for purl in purls) == installed > 0


def test_it_adds_little_to_its_base(image: Image) -> None:
    assert 0 < image.bytes - image.base_bytes < LARGEST_ADDITION_BYTES
