"""Nothing of a request stays when it is answered."""

import gc
import tracemalloc
from copy import deepcopy
from itertools import islice
from typing import Any

from tests.bench.mixed import mixed
from tests.contract.matrix.soundness import document
from tests.document.reading import examples
from tests.fuzz.asking import CLIENT, LAYOUT, QUICK

WARM_UP, REQUESTS = 60, 120
MOST_BYTES = 384 * 1024
"""Three kilobytes a request. The cache of cables at a temperature still fills, to its bound of 1,024 entries;
a body of several kilobytes that stayed would show."""


def searching_little() -> Any:
    """The document, whose layouts are sought with the least effort: a search that is traced takes long."""
    changed = deepcopy(document())
    for shown in examples(changed):
        if shown.label == f"POST {LAYOUT}" and shown.status is None:
            shown.value.update(QUICK)
    return changed


def test_memory_is_flat_over_requests_of_every_kind() -> None:
    calls = mixed(searching_little())
    for call in islice(calls, WARM_UP):
        call.send(CLIENT)
    tracemalloc.start()
    try:
        for call in islice(calls, WARM_UP):
            call.send(CLIENT)
        gc.collect()
        before, _ = tracemalloc.get_traced_memory()
        for call in islice(calls, REQUESTS):
            call.send(CLIENT)
        gc.collect()
        after, _ = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert after - before < MOST_BYTES
