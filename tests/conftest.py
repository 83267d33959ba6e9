"""What every test may count on: settings of its own, and a client for the application as it is deployed."""

import gc
import json
import logging
import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, Final

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

HERE: Final = Path(__file__).parent
LONGEST: Final = [
    HERE / name
    for name in (
        "contract/test_contract.py",
        "contract/test_matrix.py",
        "studies/readings_truth/test_readings_truth.py",
        "contract/test_same_answer.py",
        "browser/test_embed_calculator.py",
        "sheets/test_any_job.py",
        "command/test_asking.py",
        "fuzz/test_generated_bodies.py",
        "fuzz/test_mutated_bodies.py",
        "sheets/test_hostile_names.py",
        "test_commands.py",
        "browser/test_sheets_on_phone.py",
        "lint/test_lint.py",
        "observability/test_log_reader.py",
        "studies/least_cost_layout/test_published.py",
        "worker/test_outcomes.py",
    )
]
"""Files that take half a minute or more, the longest first.

Begun last, one would keep a process busy when the others are done.
"""

assert all(path.is_file() for path in LONGEST)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Begin with the longest files, in their order; all else stays in its own."""
    places = {path: place for place, path in enumerate(LONGEST)}
    items.sort(key=lambda item: places.get(item.path, len(places)))


def pytest_collection_finish() -> None:
    """Leave what was imported and collected out of every search for garbage, a tenth of the time."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(10_000, 20, 20)


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


@pytest.fixture(scope="module")
def answered_once() -> Iterator[None]:
    """Let each body be solved once in a file, in however many forms it is asked."""
    from tests import answers  # noqa: PLC0415  # tests of the lower rooms must not load the framework

    with answers.answered_once():
        yield


@pytest.fixture
def lines(capfdbinary: pytest.CaptureFixture[bytes]) -> Iterator[Callable[[], list[dict[str, Any]]]]:
    """Yield a function that gives the log lines written since the last call."""
    from service.observability.logs import configure  # noqa: PLC0415  # tests of the lower rooms must not load the log

    handlers = logging.root.handlers[:]
    configure("info")
    yield lambda: [json.loads(line) for line in capfdbinary.readouterr().out.splitlines()]
    logging.root.handlers[:] = handlers
