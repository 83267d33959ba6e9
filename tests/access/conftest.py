"""A service with keys, made once: nothing about it changes."""

import logging
from collections.abc import Iterator

import pytest

from tests.access.gates import gated
from tests.client import Client


@pytest.fixture(scope="session")
def keyed() -> Client:
    return gated()


@pytest.fixture(autouse=True)
def _handlers_of_the_test_run() -> Iterator[None]:
    """Building an application puts its log handlers in the place of those of the test run."""
    handlers = logging.root.handlers[:]
    yield
    logging.root.handlers[:] = handlers
