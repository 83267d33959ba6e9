"""Bodies with one known fault, sent to every calculation of the document: status, code and place."""

import copy
import gzip
import json
from collections.abc import Callable, Iterator
from typing import Any, Final, NamedTuple

import pytest

from tests.fuzz.asking import BATCH, CLIENT, JSON, Calculation, assert_sound, calculations, post
from tests.intake.test_body import UNREADABLE as UNREADABLE_BODIES

LENGTHS: Final = ("m", "cm", "mm", "km", "in", "ft", "yd")


class Place(NamedTuple):
    """A member of a request, and the JSON Pointer to it."""

    holder: Any
    key: Any
    pointer: str


class Slipped(NamedTuple):
    """A body, the code and the pointer of its one error, and the code of the problem."""

    body: bytes
    code: str
    pointer: str
    problem: str = "request-invalid"


Slip = Callable[[Any], Slipped | None]
"""From a sound request to one with the slip; None where it has no such member."""


def members(value: Any, pointer: str = "") -> Iterator[Place]:
    """Every member and item, in document order."""
    pairs = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, part in list(pairs):
        here = f"{pointer}/{str(key).replace('~', '~0').replace('/', '~1')}"
        yield Place(value, key, here)
        yield from members(part, here)


def replacing(
    wanted: Callable[[Place], bool], new: Any, code: str, *, raw: str | None = None, problem: str = ""
) -> Slip:
    """Make a slip that replaces the first member of a kind, by a raw text where JSON has no value."""

    def slip(request: Any) -> Slipped | None:
        changed = copy.deepcopy(request)
        place = next((one for one in members(changed) if wanted(one)), None)
        if place is None:
            return None
        place.holder[place.key] = "the place" if raw else new
        body = json.dumps(changed)
        body = body.replace('"the place"', raw) if raw else body
        return Slipped(body.encode(), code, place.pointer, problem or "request-invalid")

    return slip


def adding(new: str, code: str, name: str, problem: str = "request-invalid") -> Slip:
    """Make a slip that writes a member before all others."""

    def slip(request: Any) -> Slipped:
        first = next(iter(request))
        body = "{" + new.replace("FIRST", first) + ", " + json.dumps(request)[1:]
        return Slipped(body.encode(), code, "/" + name.replace("FIRST", first), problem)

    return slip


def is_value(place: Place) -> bool:
    """The number of a quantity."""
    return place.key == "value" and isinstance(place.holder, dict) and "unit" in place.holder


def is_length_value(place: Place) -> bool:
    return is_value(place) and place.holder["unit"] in LENGTHS


def is_distance_value(place: Place) -> bool:
    """A length that is no coordinate, which may be negative."""
    return is_length_value(place) and not place.pointer.endswith(("/x/value", "/y/value"))


def is_length_unit(place: Place) -> bool:
    return place.key == "unit" and place.holder["unit"] in LENGTHS


def is_length(place: Place) -> bool:
    value = place.holder[place.key]
    return isinstance(value, dict) and value.get("unit") in LENGTHS and "value" in value


def is_conductor(place: Place) -> bool:
    return bool(place.key == "conductor")


def is_secondary_value(place: Place) -> bool:
    return place.pointer.endswith("supply/secondary/value")


def is_first_tap_value(place: Place) -> bool:
    """What a transformer offers, as stated for a supply or in a stock."""
    return place.pointer.endswith("/taps/0/value")


def is_kind(place: Place) -> bool:
    return bool(place.key == "kind")


_RANGE: Final = "number-out-of-range"

SLIPS: Final[dict[str, Slip]] = {
    "unknown member": adding('"colour": "warm"', "unknown-member", "colour"),
    "misspelt member": adding('"suply": {}', "unknown-member", "suply"),
    "member twice": adding('"FIRST": {}', "duplicate-member", "FIRST", "duplicate-member"),
    "member twice, once by an escape": adding(
        '"\\u0069d": "a", "id": "b"', "duplicate-member", "id", "duplicate-member"
    ),
    "number as text": replacing(is_value, "12", "wrong-type"),
    "number with a unit in its text": replacing(is_length, "150 ft", "wrong-type"),
    "true for a number": replacing(is_value, True, "wrong-type"),  # noqa: FBT003  # the slip itself
    "null for a number": replacing(is_value, None, "null-not-allowed"),
    "number without its unit": replacing(is_length, 30, "bare-number"),
    "list for a number": replacing(is_value, [12], "wrong-type"),
    "unit that there is not": replacing(is_length_unit, "furlong", "wrong-unit"),
    "unit of another dimension": replacing(is_length_unit, "V", "wrong-dimension"),
    "conductor that there is not": replacing(is_conductor, "11 AWG", "unknown-name"),
    "kind that there is not": replacing(is_kind, "perpetual", "unknown-name"),
    "negative length": replacing(is_distance_value, -1, "out-of-range"),
    "length beyond all bounds": replacing(is_length_value, 1e300, "out-of-range"),
    "mains for the secondary": replacing(is_secondary_value, 120, "secondary-is-mains"),
    "NaN": replacing(is_value, 0, _RANGE, raw="NaN", problem=_RANGE),
    "minus infinity": replacing(is_value, 0, _RANGE, raw="-Infinity", problem=_RANGE),
    "1e999": replacing(is_value, 0, _RANGE, raw="1e999", problem=_RANGE),
    "400 digits": replacing(is_value, 0, _RANGE, raw="9" * 400, problem=_RANGE),
    "5,000 digits": replacing(is_value, 0, _RANGE, raw="9" * 5_000, problem=_RANGE),
    "40 digits": replacing(is_length_value, 0, "out-of-range", raw="9" * 40),
}


ALONE = [one for one in calculations() if one.path != BATCH]
BREAKS_THE_BATCH = {"NaN", "minus infinity"}
"""These are not JSON, so that no part of the body around them can be trusted."""

each_slip = pytest.mark.parametrize("slip", SLIPS)
each_alone = pytest.mark.parametrize("calculation", ALONE, ids=lambda one: one.path)
each_calculation = pytest.mark.parametrize("calculation", calculations(), ids=lambda one: one.path)


def whole_problem(problem: Any) -> tuple[str, list[tuple[str, str]]]:
    return problem["code"], [(error["code"], error["pointer"]) for error in problem["errors"]]


WITHOUT_LENGTHS: Final = {
    "number with a unit in its text",
    "number without its unit",
    "unit that there is not",
    "unit of another dimension",
    "negative length",
    "length beyond all bounds",
    "40 digits",
}
NO_PLACE: Final[dict[str, set[str]]] = {
    # It is asked how far a cable reaches, and answers with the length.
    "/v1/reach": WITHOUT_LENGTHS,
    # It has no supply: it is asked with the voltage that the lamps are for.
    "/v1/drop-chart": {"mains for the secondary"},
    # Its lengths are coordinates, left or right of an origin; its supplies are a stock with taps.
    "/v1/least-cost-layout": {"negative length", "mains for the secondary"},
}
"""Slips that a calculation has no member for, and why; every other is made in each."""


@each_alone
def test_every_slip_is_made_wherever_a_member_is_there_for_it(calculation: Calculation) -> None:
    without = {name for name, slip in SLIPS.items() if slip(calculation.requests[0]) is None}
    assert without == NO_PLACE.get(calculation.path, set())


def test_a_stock_offers_no_tap_of_mains_voltage() -> None:
    mains = replacing(is_first_tap_value, 120, "out-of-range")
    slipped = {one.path: mains(one.requests[0]) for one in ALONE}
    assert slipped["/v1/least-cost-layout"] is not None
    for path, each in slipped.items():
        if each is not None:
            reply = post(path, each.body)
            assert reply.status_code == 400
            assert whole_problem(reply.json()) == (each.problem, [(each.code, each.pointer)])


@each_slip
@each_alone
def test_slip_is_refused_with_its_code_at_its_place(calculation: Calculation, slip: str) -> None:
    for request in calculation.requests:
        slipped = SLIPS[slip](request)
        if slipped is None:
            continue
        reply = post(calculation.path, slipped.body)
        assert reply.status_code == 400
        assert_sound(calculation.path, reply)
        assert whole_problem(reply.json()) == (slipped.problem, [(slipped.code, slipped.pointer)])


@each_slip
@each_alone
def test_slip_inside_a_batch_is_refused_in_its_item_alone(calculation: Calculation, slip: str) -> None:
    request = calculation.requests[0]
    slipped = SLIPS[slip](request)
    if slipped is None or slip in BREAKS_THE_BATCH:
        return
    study = calculation.path.removeprefix("/v1/")
    sound = b'{"study":"%s","request":%s}' % (study.encode(), json.dumps(request).encode())
    bad = b'{"study":"%s","request":%s}' % (study.encode(), slipped.body)
    reply = post(BATCH, b'{"items":[%s,%s,%s]}' % (sound, bad, sound))
    assert_sound(BATCH, reply)
    before, between, after = reply.json()["items"]
    assert [before["outcome"], between["outcome"], after["outcome"]] == ["answered", "refused", "answered"]
    assert whole_problem(between["problem"]) == (slipped.problem, [(slipped.code, slipped.pointer)])
    assert before == after


@pytest.mark.parametrize("slip", sorted(BREAKS_THE_BATCH))
def test_batch_that_is_not_json_is_refused_as_a_whole(slip: str) -> None:
    slipped = SLIPS[slip](ALONE[0].requests[0])
    assert slipped is not None
    study = ALONE[0].path.removeprefix("/v1/")
    reply = post(BATCH, b'{"items":[{"study":"%s","request":%s}]}' % (study.encode(), slipped.body))
    assert whole_problem(reply.json()) == (
        slipped.problem,
        [(slipped.code, f"/items/0/request{slipped.pointer}")],
    )


UNREADABLE = [
    *UNREADABLE_BODIES,
    ("10,000 objects", b'{"id":' * 10_000 + b"1" + b"}" * 10_000, "nesting-too-deep"),
    ("form fields", b"supply=12", "malformed-json"),
    ("a list", b"[]", "request-invalid"),
    ("null", b"null", "request-invalid"),
    ("a number", b"12", "request-invalid"),
    ("a text", b'"12"', "request-invalid"),
    ("an empty object", b"{}", "request-invalid"),
]


@each_calculation
@pytest.mark.parametrize(
    ("body", "code"), [case[1:] for case in UNREADABLE], ids=[case[0] for case in UNREADABLE]
)
def test_body_that_is_no_request_is_refused(calculation: Calculation, body: bytes, code: str) -> None:
    reply = post(calculation.path, body)
    assert (reply.status_code, reply.json()["code"]) == (400, code)
    assert_sound(calculation.path, reply)


@each_calculation
def test_body_over_the_limit_is_refused_by_its_length(calculation: Calculation) -> None:
    most = CLIENT.get("/v1/limits").json()["maximum_body_bytes"]
    fits = json.dumps(calculation.requests[0]).encode().ljust(most)
    assert post(calculation.path, fits).status_code == 200
    reply = post(calculation.path, fits + b" ")
    assert (reply.status_code, reply.json()["code"]) == (413, "body-too-large")
    assert_sound(calculation.path, reply)


@each_calculation
def test_body_over_the_limit_is_refused_when_it_hides_its_length(calculation: Calculation) -> None:
    most = CLIENT.get("/v1/limits").json()["maximum_body_bytes"]

    async def pieces() -> Any:
        for _ in range(most // 65_536 + 2):
            yield b" " * 65_536

    reply = CLIENT.post(calculation.path, content=pieces(), headers=JSON)
    assert (reply.status_code, reply.json()["code"]) == (413, "body-too-large")


@each_calculation
@pytest.mark.parametrize(
    "content_type",
    [None, "", "text/plain", "application/xml", "application/json; charset=latin-1", "multipart/form-data"],
)
def test_body_that_is_not_announced_as_json_is_refused(
    calculation: Calculation, content_type: str | None
) -> None:
    headers = {} if content_type is None else {"content-type": content_type}
    body = json.dumps(calculation.requests[0]).encode()
    reply = CLIENT.post(calculation.path, content=body, headers=headers)
    assert (reply.status_code, reply.json()["code"]) == (415, "unsupported-media-type")
    assert reply.headers["accept-post"] == "application/json"
    assert_sound(calculation.path, reply)


@each_calculation
def test_compressed_body_is_refused_with_the_coding_that_is_taken(calculation: Calculation) -> None:
    body = gzip.compress(json.dumps(calculation.requests[0]).encode())
    reply = CLIENT.post(calculation.path, content=body, headers={**JSON, "content-encoding": "gzip"})
    assert (reply.status_code, reply.json()["code"]) == (415, "unsupported-encoding")
    assert reply.headers["accept-encoding"] == "identity"
    assert_sound(calculation.path, reply)


@each_calculation
@pytest.mark.parametrize("accept", ["image/png", "application/xml;q=0.9", "application/json;q=0", "audio/*"])
def test_answer_in_a_form_that_is_not_offered_is_refused(calculation: Calculation, accept: str) -> None:
    body = json.dumps(calculation.requests[0]).encode()
    reply = CLIENT.post(calculation.path, content=body, headers={**JSON, "accept": accept})
    assert (reply.status_code, reply.json()["code"]) == (406, "not-acceptable")
    assert_sound(calculation.path, reply)


@each_calculation
def test_media_type_is_decided_before_the_body_is_read(calculation: Calculation) -> None:
    # A form on another site can send text/plain unasked; what it holds must not matter.
    reply = CLIENT.post(
        calculation.path, content=b"\xff", headers={"content-type": "text/plain", "accept": "text/html"}
    )
    assert reply.status_code == 415
