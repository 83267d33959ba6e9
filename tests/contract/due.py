"""Whether a request that fits the schema may be refused at all, and then why."""

import json
from typing import Any, Final

from service.app import app
from service.studies.quote.request import MOST_LENGTHS, PERCENT_DECIMALS
from service.studies.run_division.composing import LONGEST_M
from service.studies.run_division.request import MOST_LAMPS
from service.units import inside
from tests.client import Client

LIMITS: Final = Client(app).get("/v1/limits").json()

MOST_FIXTURES: Final = 500
"""Fixtures along one run for which a largest load is looked for."""

STRIP_POINTS: Final = 32

STATE_WORK: Final = 25


LAYOUT_REFUSED: Final = ("site-invalid", "wiring-invalid", "places-without-position")
"""Names of places, and the types of fixtures, are texts that the schema does not tie together; as a map only
what has an origin can be had."""


def may_be_refused(request: Any, code: str) -> bool:
    """Whether a request that fits the schema may be refused with this code."""
    if "alternatives" in request:
        return may_be_unquoted(request, code)
    return may_be_unanswered(request, code)


def may_be_unanswered(request: Any, code: str) -> bool:
    """Whether a request with one supply may be refused with this code."""
    if "mounting_points" in request or "zones" in request:
        return is_site_or_zones_refused(request, code)
    if code in ("wiring-invalid", "taps-joined"):
        return in_spans(request) or "open" in request or leaves_something_open(request.get("wiring", {}))
    if code == "readings-invalid":
        return bool(request.get("readings") or "readings_csv" in request)
    if code == "job-too-large" and "question" in request:
        return asks_for_too_many(request["question"])
    if code == "job-too-large":
        return is_over(most_points(request["wiring"]), request)
    return code == "work-over-limit" and most_work(request) > int(LIMITS["maximum_work"])


MOST_QUOTED: Final = 1_000
"""Points of all parts up to which a quote certainly is within the work of one request."""


def quoted_parts(request: Any) -> list[Any]:
    return [part for alternative in request["alternatives"] for part in alternative["parts"]]


def may_be_unquoted(request: Any, code: str) -> bool:
    """Whether a quote that fits the schema may be refused with this code."""
    parts = quoted_parts(request)
    points = sum(most_points(part["wiring"]) for part in parts)
    is_large = points > int(LIMITS["maximum_points"])
    return {
        "quote-invalid": may_contradict_itself(request),
        "job-too-large": is_large or any(is_over(0, part) or in_spans(part) for part in parts),
        "work-over-limit": points > MOST_QUOTED,
    }.get(code, False)


def may_contradict_itself(request: Any) -> bool:
    """Whether a quote names anything at all that may not be there, or says anything that may not be."""
    taxes = [tax["code"] for tax in request["money"]["taxes"]]
    rows = [row for name in request["catalogue"] for row in request["catalogue"][name]]
    named = [*rows, *request.get("labour", ())]
    ids = [row["id"] for row in named] + [each["id"] for each in request["alternatives"]]
    pointing = {"ground", "places", "crossings"} & request.keys()
    money = {"uplift", "adjustments"} & request["money"].keys()
    fine = any(round(tax["percent"], PERCENT_DECIMALS) != tax["percent"] for tax in request["money"]["taxes"])
    wirings = [part["wiring"] for part in quoted_parts(request)]
    return bool(
        len(set(taxes)) < len(taxes)
        or any(row["tax"] not in taxes for row in named)
        or len(set(ids)) < len(ids)
        or pointing
        or money
        or fine
        or request["money"]["currency"] not in {"EUR", "USD", "GBP"}
        or any({"gtin", "base", "quantity"} & row.keys() for row in named)
        or any("base_quantity" in row.get("price", {}) for row in rows)
        or any(row.get("per") == "length" for row in named)
        or any(wiring["form"] == "totals" or leaves_something_open(wiring) for wiring in wirings)
        or any(in_spans(part) for part in quoted_parts(request))
        or '"item":' in json.dumps(request)
        or '"lamp":' in json.dumps(request)
        or "issued_on" in request.get("terms", {})
        or sum(map(most_points, wirings)) > MOST_LENGTHS
    )


def certainly_contradicts_itself(request: Any) -> bool:
    """Whether a quote names a tax that it does not list, or has two rows of one id."""
    taxes = [tax["code"] for tax in request["money"]["taxes"]]
    rows = [row for name in request["catalogue"] for row in request["catalogue"][name]]
    ids = [row["id"] for row in rows]
    return len(set(ids)) < len(ids) or any(row["tax"] not in taxes for row in rows)


def is_site_or_zones_refused(request: Any, code: str) -> bool:
    """Whether a request without a wiring of its own may be refused with this code."""
    if "mounting_points" in request:
        return code in LAYOUT_REFUSED or (code == "previous-invalid" and "previous" in request)
    shared = "fixture_types" in request or any("load" not in line for line in zone_lines(request))
    shared = shared or any(map(is_long, request["zones"]))
    return {"wiring-invalid": shared, "job-too-large": has_too_many_lamps(request)}.get(code, False)


def is_unsaid_by_the_schema(path: str, query: Any) -> bool:
    """Whether an address breaks a rule that OpenAPI has no words for: exactly one of two parameters."""
    return path == "/v1/drop-chart" and ("feet" in query) == ("metres" in query)


def must_be_refused(request: Any) -> bool:
    """Whether a request is certainly too large, so that an answer would be a limit not kept."""
    if "question" in request:
        return asks_for_too_many(request["question"])
    if "zones" in request:
        return has_too_many_lamps(request)
    if "alternatives" in request:
        return certainly_contradicts_itself(request)
    if "wiring" not in request or in_spans(request):
        return False
    return is_over(fewest_points(request["wiring"]), request)


def leaves_something_open(wiring: Any) -> bool:
    """Whether a cable or a load is left to what the wiring states for all, which may not state it."""
    if any("load" not in line or "type" in line for line in fixture_lines(wiring)):
        return True
    return any("cable" not in each for each in [*stretches(wiring), *wiring.get("spans", ())]) or bool(
        wiring.get("fixture_types")
    )


def is_over(points: int, request: Any) -> bool:
    """Whether so many points, or the loops of a request, are more than is published."""
    most_points, most_loops = int(LIMITS["maximum_points"]), int(LIMITS["maximum_loops"])
    return points > most_points or loops(request["wiring"]) > most_loops


def in_spans(request: Any) -> bool:
    return bool(request.get("wiring", {}).get("form") == "spans")


def asks_for_too_many(question: Any) -> bool:
    """Whether a largest load is asked for along more fixtures than one run is tried with."""
    layout = question["layout"] if question["kind"] == "largest-load" else {}
    if layout.get("kind") != "spacing":
        return False
    first, spacing = layout.get("first_at", layout["spacing"]), layout["spacing"]
    length_m, first_m, spacing_m = (inside(**part) for part in (question["length"], first, spacing))
    return bool(spacing_m > 0 and length_m - first_m >= MOST_FIXTURES * spacing_m)


def stretches(wiring: Any) -> list[Any]:
    """Every run, branch and spur."""
    found = list(wiring.get("runs", ()))
    for stretch in found:
        found += [*stretch.get("branches", ()), *stretch.get("spurs", ())]
    return found


def fixture_lines(wiring: Any) -> list[Any]:
    """Every line of fixtures, wherever the form of the wiring has them."""
    own = [wiring] if "load" in wiring else []
    return own + [line for stretch in [*stretches(wiring), wiring] for line in stretch.get("fixtures", ())]


def fixture_loads(wiring: Any) -> list[Any]:
    """The load of every line, its own or that of its type."""
    types = {each["id"]: each["load"] for each in wiring.get("fixture_types", ())}
    return [line["load"] if "load" in line else types[line["type"]] for line in fixture_lines(wiring)]


def zone_lines(request: Any) -> list[Any]:
    """Every line of fixtures of the zones that are to be divided."""
    return [line for zone in request["zones"] for line in zone["fixtures"]]


def is_long(zone: Any) -> bool:
    """Whether cables of a zone may be longer than any that is calculated."""
    lengths = [zone["distance"], zone.get("arrives_at", zone["distance"])]
    lengths += [line[name] for line in zone["fixtures"] for name in ("at", "spacing") if name in line]
    count = max(int(line.get("count", 1)) for line in zone["fixtures"])
    return sum(inside(**length) for length in lengths) * count > LONGEST_M / 2


def has_too_many_lamps(request: Any) -> bool:
    """Whether zones have more fixtures than are divided; without spacing those of a line are one."""
    lines = zone_lines(request)
    return sum(int(line.get("count", 1)) if "spacing" in line else 1 for line in lines) > MOST_LAMPS


def fewest_points(wiring: Any) -> int:
    """Count what is certainly a point: each fixture that stands by itself."""
    lines = [line for line in fixture_lines(wiring) if "spacing" in line or line is wiring]
    return sum(int(line.get("count", 1)) for line in lines)


def most_points(wiring: Any) -> int:
    """Count all that could be a point: fixtures with leads, both ends of each stretch, changes of cable."""
    changes: int = sum(len(stretch.get("cable_changes", ())) for stretch in stretches(wiring))
    ends = 2 * (len(stretches(wiring)) + len(wiring.get("spans", ())) + 1)
    return 1 + sum(map(most_of, fixture_lines(wiring))) + ends + changes


def most_of(line: Any) -> int:
    """Count all points that one line of fixtures could need; a strip may be many of them."""
    is_strip = line.get("load", {"kind": "strip"})["kind"] == "strip"
    return int(line.get("count", 1)) * (2 + (STRIP_POINTS if is_strip else 0))


def loops(wiring: Any) -> int:
    return sum("return_leg" in stretch for stretch in stretches(wiring))


def most_work(request: Any) -> int:
    """Work of every state with every choice: four corners and the stated one, each run or fixture alone."""
    points = most_points(request["wiring"])
    states = 5 * (2 + points)
    return (points + STATE_WORK) * states * most_choices(request)


def most_choices(request: Any) -> int:
    """Ways to fill the open places of a wiring; one where nothing is to be chosen."""
    candidates = len(request.get("stock", ())) or 8
    places = 1 if request.get("scope", "one") == "one" else min(most_points(request["wiring"]), 30)
    taps = len(request.get("supply", {}).get("taps", ())) + 1
    feeders = min(len(stretches(request["wiring"])) + 1, 30)
    choices: int = candidates**places * taps**feeders
    return choices
