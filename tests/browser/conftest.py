"""A shop beside the service: a browser visits the pages of both."""

import json
import os
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from unittest import mock

import pytest

from tests.clients.served import served
from tests.load.replica import free_port
from tests.node import a_browser, installed

FOLDER = Path(__file__).parent


@pytest.fixture(scope="module")
def visit() -> Iterator[Any]:
    """Run a script of visits against the service; the page of the shop stands on a port of its own."""
    browser = a_browser()
    installed(FOLDER)
    port = str(free_port())
    shop = f"http://127.0.0.1:{port}"
    allowed = {"LASTLAMP_ALLOWED_ORIGINS": shop, "LASTLAMP_FRAME_ANCESTORS": shop}
    with mock.patch.dict(os.environ, allowed), served() as address:

        def run(script: str) -> Any:
            command = [shutil.which("node") or "node", script, browser, address, port]
            done = subprocess.run(  # noqa: S603  # our own script
                command, cwd=FOLDER, capture_output=True, text=True, timeout=180, check=False
            )
            assert done.returncode == 0, done.stderr
            return json.loads(done.stdout)

        yield run
