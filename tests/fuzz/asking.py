"""The calculations of the document, real requests to each, and what holds for any reply whatever."""

from functools import cache
from typing import Any, Final, NamedTuple

import httpx

from service.app import app
from service.studies.least_cost_layout.request import LEAST_EFFORT
from tests.client import Client
from tests.contract.matrix import soundness
from tests.contract.matrix.soundness import document
from tests.document.reading import examples, operations

JSON: Final = {"content-type": "application/json"}
CLIENT: Final = Client(app)
BATCH: Final = "/v1/batch"
LAYOUT: Final = "/v1/least-cost-layout"
QUICK: Final = {"effort": LEAST_EFFORT}
"""A layout of the usual effort takes a second; what is wrong with a body does not hang on that."""


class Calculation(NamedTuple):
    """One operation that takes a body."""

    path: str
    requests: tuple[Any, ...]
    """Those that the document shows; a layout is sought with the least effort."""


@cache
def calculations() -> tuple[Calculation, ...]:
    """Every calculation that the document lists, in its order."""
    shown = list(examples(document()))
    return tuple(
        Calculation(
            found.path,
            tuple(
                each.value | (QUICK if found.path == LAYOUT else {})
                for each in shown
                if each.label == found.label and each.status is None
            ),
        )
        for found in operations(document())
        if found.method == "post"
    )


def post(path: str, body: bytes) -> httpx.Response:
    return CLIENT.post(path, content=body, headers=JSON)


def assert_sound(path: str, reply: httpx.Response) -> None:
    """A reply in JSON is an answer as described or a refusal as described, and never a failure."""
    assert reply.headers["content-type"] in ("application/json", "application/problem+json")
    soundness.assert_sound(path, "post", reply)
