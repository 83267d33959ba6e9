"""The proxy of deploy/proxy, run for real: the same templates, filled in here as the official image does."""

import os
import re
import shutil
import socket
import subprocess
import time
from pathlib import Path

import pytest

from tests.load.replica import ROOT, free_port

TEMPLATES = ROOT / "deploy" / "proxy"
NGINX = shutil.which("nginx", path=f"{os.environ.get('PATH', '')}:/usr/sbin")

needs_nginx = pytest.mark.skipif(NGINX is None, reason="nginx is not installed; the proxy cannot be run")


def defaults() -> dict[str, str]:
    lines = (TEMPLATES / "proxy.env").read_text(encoding="utf-8").splitlines()
    return dict(line.split("=", 1) for line in lines if line and not line.startswith("#"))


def servers(*ports: int) -> str:
    written = defaults()["PROXY_SERVERS"]
    assert "lastlamp:8080 resolve" in written
    return " ".join(written.replace("lastlamp:8080 resolve", f"127.0.0.1:{port}") for port in ports)


def wait_for(process: subprocess.Popen[bytes], port: int, log: Path) -> None:
    """Wait until a proxy listens; what it wrote says why it does not."""
    for _ in range(100):
        assert process.poll() is None, log.read_text(encoding="utf-8")
        with socket.socket() as probe:
            if probe.connect_ex(("127.0.0.1", port)) == 0:
                return
        time.sleep(0.05)
    pytest.fail("The proxy does not listen.")


class Proxy:
    """An nginx in the foreground, in a folder of its own."""

    def __init__(self, folder: Path, *ports: int, **variables: str) -> None:
        assert NGINX is not None
        self.folder = folder
        self.port, self.tls_port = free_port(), free_port()
        self._fill_in(
            {
                **defaults(),
                "PROXY_FOLDER": str(folder),
                "PROXY_PORT": str(self.port),
                "PROXY_TLS_PORT": str(self.tls_port),
                "PROXY_SERVERS": servers(*ports),
                "PROXY_RESOLVER": "127.0.0.1",
                **variables,
            }
        )
        user = "user root; " if os.geteuid() == 0 else ""
        with self.log.open("wb") as log:
            self._process = subprocess.Popen(  # noqa: S603  # found on the path, our own configuration
                [NGINX, "-c", str(folder / "nginx.conf"), "-e", "stderr", "-g", f"{user}daemon off;"],
                stdout=log,
                stderr=log,
            )
        wait_for(self._process, self.port, self.log)

    @property
    def log(self) -> Path:
        return self.folder / "log"

    def _fill_in(self, variables: dict[str, str]) -> None:
        for template in TEMPLATES.glob("*.template"):
            text = template.read_text(encoding="utf-8")
            filled = re.sub(r"\$\{(PROXY_[A-Z_]+)\}", lambda found: variables[found[1]], text)
            (self.folder / template.name.removesuffix(".template")).write_text(filled, encoding="utf-8")

    def end(self) -> None:
        self._process.terminate()
        self._process.wait(timeout=10)
