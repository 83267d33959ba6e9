"""Checks of our own, beside those that Schemathesis brings: what a schema cannot say."""

import hashlib
import json
from collections.abc import Callable, Iterator
from typing import Any

from schemathesis import Case, CheckContext, Response
from schemathesis.generation import GenerationMode
from schemathesis.generation.meta import TestPhase

from tests.contract.due import fixture_lines, is_unsaid_by_the_schema, may_be_refused, must_be_refused

AnyCase = Case[Any]
Check = Callable[[CheckContext, Response, AnyCase], bool | None]


def body_of(response: Response) -> bytes:
    """The body as it went over the wire."""
    body = response.request.body
    assert body is None or isinstance(body, bytes)
    return body or b"null"


def sent(response: Response) -> Any:
    return json.loads(body_of(response))


def is_positive(case: AnyCase) -> bool:
    return case.meta is not None and case.meta.generation.mode is GenerationMode.POSITIVE


def is_answered(response: Response, case: AnyCase) -> bool:
    """Whether a calculation was answered, and in JSON: some are drawn or written as tables as well."""
    is_json = response.headers.get("content-type") == ["application/json"]
    return case.method == "POST" and response.status_code == 200 and is_json


def check_refusal_is_due(_context: CheckContext, response: Response, case: AnyCase) -> None:
    """A request that fits the schema is refused only for its size, or spans that contradict themselves."""
    if is_positive(case) and response.status_code == 400:
        assert is_unsaid_by_the_schema(case.path, case.query or {})
    if not is_positive(case) or case.method != "POST":
        return
    assert response.status_code in (200, 422), response.text
    if response.status_code == 422:
        assert may_be_refused(sent(response), response.json()["code"])
    else:
        assert not must_be_refused(sent(response))


def resolved(value: Any, pointer: str) -> Any:
    """Follow a JSON Pointer (RFC 6901, section 4)."""
    assert pointer == "" or pointer.startswith("/"), pointer
    for token in pointer.split("/")[1:]:
        name = token.replace("~1", "/").replace("~0", "~")
        value = value[int(name)] if isinstance(value, list) else value[name]
    return value


def rows(value: Any) -> Iterator[Any]:
    """Every object of a reply that has a pointer, whatever the reply calls it."""
    if isinstance(value, dict):
        if "pointer" in value:
            yield value
        for name, part in value.items():
            # A wiring that the reply offers to be posted is a request, and batches hold replies of others.
            if name not in ("wiring", "answer", "problem"):
                yield from rows(part)
    elif isinstance(value, list):
        for part in value:
            yield from rows(part)


def check_ids_are_echoed(_context: CheckContext, response: Response, case: AnyCase) -> None:
    """Each row carries the id of the place that its pointer names, and none where none was sent."""
    if not is_answered(response, case):
        return
    request, reply = sent(response), response.json()
    assert reply.get("id") == request.get("id")
    # What is divided into runs has its places in the wiring that is answered.
    request |= {"wiring": reply["wiring"]} if "zones" in request else {}
    for row in rows(reply):
        assert "id" not in row or [row["id"]] == ids_on_the_way(request, row["pointer"])[-1:], row
    for row in [row for part in ("fixtures", "lamps", "spans", "runs") for row in reply.get(part, ())]:
        if "pointer" in row:
            assert row.get("id") == resolved(request, row["pointer"]).get("id"), row


def ids_on_the_way(request: Any, pointer: str) -> list[str]:
    """The ids of a place and of all that it is a member of, its own last.

    A run's choice of circuit is pointed to with the id of the run, since it has none itself.
    """
    tokens = pointer.split("/")
    places = [resolved(request, "/".join(tokens[:end])) for end in range(1, len(tokens) + 1)]
    return [place["id"] for place in places if isinstance(place, dict) and "id" in place]


def check_outcomes_stand_in_the_order_of_the_items(
    _context: CheckContext, response: Response, case: AnyCase
) -> None:
    if not is_answered(response, case) or "items" not in sent(response):
        return
    asked = [(item["study"], item.get("id")) for item in sent(response)["items"]]
    assert [(item["study"], item.get("id")) for item in response.json()["items"]] == asked


def check_unfit_item_is_refused(_context: CheckContext, response: Response, case: AnyCase) -> None:
    """A batch that does not fit its schema is answered only where an item's request is at fault."""
    if is_positive(case) or not is_answered(response, case) or "items" not in response.json():
        return
    unfit = [not isinstance(item["request"], dict) for item in sent(response)["items"]]
    assert any(unfit)
    for item, is_unfit in zip(response.json()["items"], unfit, strict=True):
        assert not is_unfit or item["problem"]["code"] == "request-invalid"


def check_every_fixture_is_answered(_context: CheckContext, response: Response, case: AnyCase) -> None:
    """A solved job has a row for every fixture line, in the order of the request."""
    if not is_answered(response, case) or "fixtures" not in response.json():
        return
    reply = response.json()
    if reply["status"] == "solved" and reply.get("detail") != "summary":
        told = reply.get("lamps", reply["fixtures"])
        pointers = list(dict.fromkeys(row["pointer"] for row in told))
        wiring = sent(response)["wiring"]
        assert len(pointers) == len(fixture_lines(wiring))
        assert ("load" in wiring) == (pointers == ["/wiring"])


def check_reply_names_the_bytes_of_the_request(
    _context: CheckContext, response: Response, case: AnyCase
) -> None:
    if is_answered(response, case) and "items" not in sent(response):
        assert response.json()["request_sha256"] == hashlib.sha256(body_of(response)).hexdigest()


def check_repeating_gives_the_same_bytes(_context: CheckContext, response: Response, case: AnyCase) -> None:
    # The thousands of requests that meet one bound each are alike; to send all of them twice takes a while.
    if response.status_code == 200 and case.meta and case.meta.phase.name is not TestPhase.COVERAGE:
        assert without_id(case.call()) == without_id(response)


def without_id(response: Response) -> bytes:
    """The content but for the id of the request, which problems inside a batch repeat."""
    [request_id] = response.headers["x-request-id"]
    return response.content.replace(b'"request_id":"%s"' % request_id.encode(), b"")


def check_problem_points_into_the_request(_context: CheckContext, response: Response, case: AnyCase) -> None:
    """A request that does not fit is told every place to change, and each of them is there or could be."""
    if response.status_code not in (400, 422):
        return
    problem = response.json()
    if problem["code"] not in (
        "request-invalid",
        "wiring-invalid",
        "taps-joined",
        "readings-invalid",
        "quote-invalid",
        "supply-not-computable",
        "job-too-large",
    ):
        return
    assert problem["errors"]
    request = sent(response)
    for error in problem["errors"]:
        if error["pointer"].startswith("?"):
            known = {parameter.name for parameter in case.operation.query}
            assert error["pointer"][1:].partition("/")[0] in known | (case.query or {}).keys()
            continue
        above, _, _ = error["pointer"].rpartition("/")
        assert isinstance(resolved(request, above), dict | list) or error["pointer"] == ""


def check_problem_repeats_its_headers(_context: CheckContext, response: Response, _case: AnyCase) -> None:
    if response.status_code >= 400:
        problem = response.json()
        assert problem["status"] == response.status_code
        assert [problem["request_id"]] == response.headers["x-request-id"]


OWN_CHECKS: list[Check] = [
    check_refusal_is_due,
    check_ids_are_echoed,
    check_outcomes_stand_in_the_order_of_the_items,
    check_unfit_item_is_refused,
    check_every_fixture_is_answered,
    check_reply_names_the_bytes_of_the_request,
    check_repeating_gives_the_same_bytes,
    check_problem_points_into_the_request,
    check_problem_repeats_its_headers,
]
