"""What must not matter to an answer: order and spacing of members, a batch around it, asking twice, units."""

import json
import re
from functools import cache
from typing import Any, Final

import pytest

from tests.contract.laws import near
from tests.contract.matrix.soundness import BATCH, JSON
from tests.contract.matrix.studies import CLIENT, Asked, covering, posted_paths
from tests.contract.rewriting import FAMILIES, in_another_unit, rewritten

REQUESTS: Final = 40
"""So many of each study are asked again in other words, from all over the matrix."""

_DIGEST: Final = re.compile(rb'"request_sha256":"[0-9a-f]{64}"')

each_path = pytest.mark.parametrize("path", posted_paths())


def asked(path: str, body: bytes) -> bytes:
    reply = CLIENT.post(path, content=body, headers={"content-type": JSON})
    assert reply.status_code == 200, reply.text
    return reply.content


def without_digest(content: bytes) -> bytes:
    """An answer but for the name of the bytes that were sent."""
    return _DIGEST.sub(b"", content)


@cache
def answered(path: str) -> tuple[tuple[Any, bytes, bytes], ...]:
    """Requests from all over the matrix that are answered, as values and as bytes, and their answers."""
    found = []
    requests = list(covering(path))
    for one in requests[:: max(1, len(requests) // REQUESTS)]:
        body = json.dumps(one.request).encode()
        reply = Asked("post", path, JSON, one.request).send()
        if reply.status_code == 200:
            found.append((one.request, body, reply.content))
    assert len(found) >= REQUESTS // 2
    return tuple(found)


def turned(value: Any) -> Any:
    """The members of every object the other way round."""
    if isinstance(value, dict):
        return {name: turned(part) for name, part in reversed(value.items())}
    return [turned(part) for part in value] if isinstance(value, list) else value


@each_path
def test_order_of_members_does_not_matter(path: str) -> None:
    for request, _, content in answered(path):
        again = asked(path, json.dumps(turned(request)).encode())
        assert without_digest(again) == without_digest(content)


@each_path
def test_white_space_does_not_matter(path: str) -> None:
    for request, _, content in answered(path):
        again = asked(
            path, b"\r\n\t " + json.dumps(request, indent=3, separators=(" ,", " : ")).encode() + b"\n"
        )
        assert without_digest(again) == without_digest(content)


@each_path
def test_escapes_do_not_matter(path: str) -> None:
    for _, body, content in answered(path):
        escaped = re.sub(rb'(?<=")[a-z](?=[a-z_]+": )', lambda hit: b"\\u%04x" % ord(hit.group()), body)
        assert escaped != body
        assert without_digest(asked(path, escaped)) == without_digest(content)


@each_path
def test_asking_again_gives_the_same_bytes(path: str) -> None:
    for _, body, content in answered(path):
        assert asked(path, body) == content


@each_path
def test_batch_of_one_holds_the_very_bytes_of_the_answer(path: str) -> None:
    study = path.removeprefix("/v1/").encode()
    for _, body, content in answered(path):
        batch = asked(BATCH, b'{"items":[{"study":"%s","request":%s}]}' % (study, body))
        assert batch == b'{"items":[{"outcome":"answered","study":"%s","answer":%s}]}' % (study, content)


@each_path
def test_units_of_the_request_do_not_matter(path: str) -> None:
    wishes = [request | {"units": "metric"} for request, _, _ in answered(path)]
    pairs = [(wish, rewritten(wish, in_another_unit)) for wish in wishes]
    assert sum(wish != other for wish, other in pairs) >= REQUESTS // 2
    for pair in pairs:
        one, two = (json.loads(asked(path, json.dumps(each).encode())) for each in pair)
        near(in_numbers(one), in_numbers(two))


def in_numbers(value: Any) -> Any:
    """A reply without texts, in which a number may be rounded to the other side, and without what is asked.

    Of corners that give the same to a hair either may be named.
    """
    if isinstance(value, list):
        return [in_numbers(part) for part in value]
    if not isinstance(value, dict):
        return value
    return {
        # What feeds a remedy, and what goes into a quote, is told in the units of the request.
        name: in_numbers(in_first_units(part) if name in ("supply", "quote_alternative") else part)
        for name, part in value.items()
        if name
        not in (
            "message",
            "judged_conditions",
            "parameters",
            "request_sha256",
            "wiring",
            "request",
            "conclusion",
            "sentence",
            "text",
            "name",
            "corner",
            # A search may take another way where two tries differ in the last digit alone.
            "work",
        )
    }


def in_first_units(value: Any) -> Any:
    """A part of a reply with every quantity in the first unit of its dimension."""
    if isinstance(value, list):
        return [in_first_units(part) for part in value]
    if not isinstance(value, dict):
        return value
    if value.keys() != {"value", "unit"}:
        return {name: in_first_units(part) for name, part in value.items()}
    if value["unit"] == "degF":
        return {"value": in_another_unit(value["value"], "degF")[0], "unit": "degC"}
    for family in FAMILIES:
        if value["unit"] in family:
            return {"value": value["value"] * family[value["unit"]], "unit": next(iter(family))}
    return value
