"""The image, unpacked, and run as an engine would run it: read-only, as its own user, without privileges."""

import json
import os
import shlex
import shutil
import socket
import subprocess
import time
import urllib.error
import urllib.request
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parents[2]
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
        return subprocess.Popen(  # noqa: S603  # as above
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
