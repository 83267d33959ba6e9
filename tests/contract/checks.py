"""Checks of our own, beside those that Schemathesis brings: what a schema cannot say."""

import json
from collections.abc import Callable
from typing import Any

from schemathesis import Case, CheckContext, Response
from schemathesis.generation import GenerationMode
from schemathesis.generation.meta import TestPhase

AnyCase = Case[Any]
Check = Callable[[CheckContext, Response, AnyCase], bool | None]

MOST_POINTS = 2_000
MOST_LOOPS = 100


def sent(response: Response) -> Any:
    """Read the body as it went over the wire."""
    body = response.request.body
    assert body is None or isinstance(body, bytes)
    return json.loads(body or b"null")


def is_positive(case: AnyCase) -> bool:
    return case.meta is not None and case.meta.generation.mode is GenerationMode.POSITIVE


def check_refusal_is_due(_context: CheckContext, response: Response, case: AnyCase) -> None:
    """A valid job in runs, or evenly spaced, is refused only for its size, and then it is that large."""
    if not is_positive(case) or case.method != "POST":
        return
    wiring = sent(response)["wiring"]
    if wiring["form"] == "spans":
        assert response.status_code in (200, 422), response.status_code
    elif response.status_code == 422:
        assert response.json()["code"] == "job-too-large"
        assert most_points(wiring) > MOST_POINTS or loops(wiring) > MOST_LOOPS
    else:
        assert response.status_code == 200, response.text
        assert fewest_points(wiring) <= MOST_POINTS
        assert loops(wiring) <= MOST_LOOPS


def stretches(wiring: Any) -> list[Any]:
    """Every run, branch and spur."""
    found = list(wiring.get("runs", ()))
    for stretch in found:
        found += [*stretch.get("branches", ()), *stretch.get("spurs", ())]
    return found


def fewest_points(wiring: Any) -> int:
    """Count what is certainly a point: each fixture that stands by itself."""
    return int(wiring.get("count", 0)) + sum(
        int(line["count"])
        for stretch in stretches(wiring)
        for line in stretch["fixtures"]
        if "count" in line and "spacing" in line
    )


def most_points(wiring: Any) -> int:
    """Count all that could be a point: fixtures with leads, both ends of each stretch, changes of cable."""
    lines = [line for stretch in stretches(wiring) for line in stretch["fixtures"]]
    fixtures = int(wiring.get("count", 0)) + sum(int(line.get("count", 1)) for line in lines)
    changes = sum(len(stretch.get("cable_changes", ())) for stretch in stretches(wiring))
    return 1 + 2 * fixtures + 2 * (len(stretches(wiring)) + 1) + changes


def loops(wiring: Any) -> int:
    return sum("return_leg" in stretch for stretch in stretches(wiring))


def resolved(value: Any, pointer: str) -> Any:
    """Follow a JSON Pointer (RFC 6901, section 4)."""
    assert pointer == "" or pointer.startswith("/"), pointer
    for token in pointer.split("/")[1:]:
        name = token.replace("~1", "/").replace("~0", "~")
        value = value[int(name)] if isinstance(value, list) else value[name]
    return value


def check_ids_are_echoed(_context: CheckContext, response: Response, case: AnyCase) -> None:
    """Each row carries the id of the place that its pointer names, and none where none was sent."""
    if response.status_code != 200 or case.method != "POST":
        return
    request, reply = sent(response), response.json()
    assert reply.get("id") == request.get("id")
    for row in [row for part in ("fixtures", "spans", "runs") for row in reply.get(part, ())]:
        if "pointer" in row:
            assert row.get("id") == resolved(request, row["pointer"]).get("id"), row["pointer"]


def check_every_fixture_is_answered(_context: CheckContext, response: Response, case: AnyCase) -> None:
    """A solved job has a row for every fixture line, in the order of the request."""
    if response.status_code != 200 or case.method != "POST" or response.json()["status"] != "solved":
        return
    pointers = list(dict.fromkeys(row["pointer"] for row in response.json()["fixtures"]))
    wiring = sent(response)["wiring"]
    if wiring["form"] == "even":
        assert pointers == ["/wiring"]
    else:
        lines = [line for stretch in [*stretches(wiring), wiring] for line in stretch.get("fixtures", ())]
        assert len(pointers) == len(lines)


def check_repeating_gives_the_same_bytes(_context: CheckContext, response: Response, case: AnyCase) -> None:
    # The thousands of requests that meet one bound each are alike; to send all of them twice takes a while.
    if response.status_code == 200 and case.meta and case.meta.phase.name is not TestPhase.COVERAGE:
        assert case.call().content == response.content


def check_problem_points_into_the_request(_context: CheckContext, response: Response, _case: AnyCase) -> None:
    """A body that does not fit is told every place to change, and each of them is there or could be."""
    if response.status_code not in (400, 422):
        return
    problem = response.json()
    if problem["code"] not in ("request-invalid", "wiring-invalid", "taps-joined", "job-too-large"):
        return
    assert problem["errors"]
    request = sent(response)
    for error in problem["errors"]:
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
    check_every_fixture_is_answered,
    check_repeating_gives_the_same_bytes,
    check_problem_points_into_the_request,
    check_problem_repeats_its_headers,
]
