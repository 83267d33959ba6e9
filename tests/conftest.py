"""What every test may count on: settings of its own, and a client for the application as it is deployed."""

import json
import logging
import os
from collections.abc import Callable, Iterator
from typing import Any

import hypothesis
import pytest

from service.circuit import work
from service.physics import effort
from tests.client import Client

# The application reads its settings when it is imported; a test run must not depend on who started it.
for _name in [name for name in os.environ if name.startswith("LASTLAMP_")]:
    del os.environ[_name]

# The same cases on every run, and none remembered from the last: a red build must be red for everybody.
hypothesis.settings.register_profile("repeatable", derandomize=True, database=None, deadline=None)
hypothesis.settings.load_profile("repeatable")


@pytest.fixture(autouse=True)
def _no_work_is_left_to_the_next() -> Iterator[None]:
    """Whatever a test began in this process, the next one is outside of any request."""
    yield
    # A request of the service never ends in the context of another, so neither has an end to call.
    work._REQUEST.set(None)  # noqa: SLF001  # what begins it belongs to the service alone
    effort._TALLY.set(None)  # noqa: SLF001  # nor is a count ever taken back


@pytest.fixture
def client() -> Iterator[Client]:
    """Yield a client for the application as it is deployed."""
    from service.app import app  # noqa: PLC0415  # tests of the lower rooms must not load the framework

    yield Client(app)
    app.lifecycle.draining = False


@pytest.fixture
def lines(capfdbinary: pytest.CaptureFixture[bytes]) -> Iterator[Callable[[], list[dict[str, Any]]]]:
    """Yield a function that gives the log lines written since the last call."""
    from service.observability.logs import configure  # noqa: PLC0415  # tests of the lower rooms must not load the log

    handlers = logging.root.handlers[:]
    configure("info")
    yield lambda: [json.loads(line) for line in capfdbinary.readouterr().out.splitlines()]
    logging.root.handlers[:] = handlers
