"""A shop beside the service: a browser visits the pages of both."""

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from unittest import mock

import pytest

from tests.clients.served import served
from tests.load.replica import free_port
from tests.node import a_browser, installed, printed_by

FOLDER = Path(__file__).parent


@pytest.fixture(scope="module")
def visit() -> Iterator[Any]:
    """Run a script of visits against the service; the page of the shop stands on a port of its own.

    What else the script takes stands behind the folder for pictures, of which there are none.
    """
    browser = a_browser()
    installed(FOLDER)
    port = str(free_port())
    shop = f"http://127.0.0.1:{port}"
    allowed = {"LASTLAMP_ALLOWED_ORIGINS": shop, "LASTLAMP_FRAME_ANCESTORS": shop}
    with mock.patch.dict(os.environ, allowed), served() as address:

        def run(script: str, *more: str) -> Any:
            return printed_by(FOLDER / script, browser, address, port, "", *more)

        yield run
