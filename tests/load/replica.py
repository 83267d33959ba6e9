"""One instance of the service, as an operator runs it: a process of its own, sent real signals."""

import os
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path
from typing import IO, Any
from urllib.error import HTTPError
from urllib.request import urlopen

ROOT = Path(__file__).parents[2]
MIB = 1024 * 1024


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


class Replica:
    """An instance that can be stopped, killed, frozen and started again on its port."""

    def __init__(self, output: int | IO[Any] = subprocess.DEVNULL, **settings: str) -> None:
        self.port = free_port()
        self._output = output
        self._settings = {
            "LASTLAMP_BIND": f"127.0.0.1:{self.port}",
            "LASTLAMP_DRAIN_SECONDS": "2",
            **settings,
        }
        self.start()

    def start(self) -> None:
        self.process = subprocess.Popen(  # our own module
            [sys.executable, "-m", "service", "serve"],
            cwd=ROOT,
            env={**os.environ, **self._settings},
            stdout=self._output,
            stderr=self._output,
        )
        try:
            self.wait_until_ready()
        except BaseException:
            self.end()
            raise

    def wait_until_ready(self) -> None:
        # No test is about this: on a machine with much other work a start takes a minute.
        give_up_at = time.monotonic() + 120
        while not self.is_ready():
            assert self.process.poll() is None, "the instance ended while it started"
            assert time.monotonic() < give_up_at, "the instance did not become ready"
            time.sleep(0.1)

    def is_ready(self) -> bool:
        try:
            with urlopen(f"http://127.0.0.1:{self.port}/health/ready", timeout=5) as reply:
                return bool(reply.status == 200)
        except HTTPError as error:
            error.close()
            return False
        except OSError:
            return False

    def send(self, number: signal.Signals) -> None:
        self.process.send_signal(number)

    def wait(self) -> int:
        return self.process.wait(timeout=30)

    def end(self) -> None:
        """Stop it whatever state it is in."""
        if self.process.poll() is None:
            self.process.kill()
            self.process.wait(timeout=10)

    def resident_bytes(self) -> int:
        """What it holds in memory now, as the kernel counts."""
        status = Path(f"/proc/{self.process.pid}/status").read_text(encoding="ascii")
        line = next(line for line in status.splitlines() if line.startswith("VmRSS:"))
        return int(line.split()[1]) * 1024

    def open_descriptors(self) -> int:
        return len(list(Path(f"/proc/{self.process.pid}/fd").iterdir()))
