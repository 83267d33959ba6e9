"""Going on from an earlier answer: its layout is judged again and its bound proven, neither is believed."""

from __future__ import annotations

from collections.abc import Callable
from copy import deepcopy
from decimal import Decimal
from random import Random
from typing import Any

import pytest
from msgspec import convert, to_builtins

from service.circuit.work import OPERATIONS_OF_WORK, begin_request, spent
from service.intake.pointer import MOST_ERRORS
from service.problems import UnansweredError
from service.studies.least_cost_layout import study, translate
from service.studies.least_cost_layout.bound import Bounding
from service.studies.least_cost_layout.certifying import (
    CaseProof,
    Most,
    ProvenAgain,
    ProvenBranch,
    certified,
    proof_of_case,
    proven_again,
)
from service.studies.least_cost_layout.refining import Case, refined
from service.studies.least_cost_layout.relaxing import NOTHING_PASSES
from service.studies.least_cost_layout.request import LeastCostLayoutRequest
from service.studies.least_cost_layout.resuming import certificate_of
from service.studies.least_cost_layout.translate import LayoutTask
from tests import jobs
from tests.client import Client
from tests.jobs import Json
from tests.studies.least_cost_layout.requests import fed_by, garden, scarce

PATH = "/v1/least-cost-layout"

EFFORT = 6_000


def answered(client: Client, request: Json) -> Json:
    reply = jobs.answer(client, {"certify": True, **request}, PATH)
    assert reply["status"] == "laid-out", reply["summary"]["text"]
    return reply


def total(reply: Json) -> Decimal:
    return Decimal(reply["costs"]["total"])


def bound(reply: Json) -> Decimal:
    return Decimal(reply["bound"]["amount"])


@pytest.fixture
def without_engine(monkeypatch: pytest.MonkeyPatch) -> None:
    """As where the packages of the extra are not installed."""
    for module in (study, translate):
        monkeypatch.setattr(module, "available", lambda: False)


@pytest.mark.parametrize("seed", range(1, 7))
@pytest.mark.parametrize("effort", [1_000, EFFORT, 3 * EFFORT])
def test_no_layout_that_goes_on_is_dearer_and_no_bound_is_lower(
    client: Client, seed: int, effort: int
) -> None:
    request = garden((5, 8, 12)[seed % 3], seed, mounts=1 + seed % 2, effort=EFFORT)
    first = answered(client, request)
    assert first["certified_bound"] == first["bound"]["amount"]
    second = answered(client, {**request, "effort": effort, "previous": first["certificate"]})
    assert total(second) <= total(first)
    assert bound(second) >= bound(first)
    assert second["certified_bound"] == second["bound"]["amount"]
    told = {"outcome": "passes", "bound": first["bound"]["amount"], "total": first["costs"]["total"]}
    assert second["previous"] == told


@pytest.mark.usefixtures("without_engine")
def test_a_bound_is_proven_again_without_the_engine(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    request = garden(8, 2, trench=3.0, effort=EFFORT)
    with monkeypatch.context() as patch:
        for module in (study, translate):
            patch.setattr(module, "available", lambda: True)
        first = answered(client, request)
    alone = answered(client, request)
    second = answered(client, {**request, "previous": first["certificate"]})
    assert (alone["method"], first["method"], second["method"]) == ("closed-form", "relaxation", "relaxation")
    assert bound(alone) < bound(first) == bound(second)
    assert first["certified_bound"] == second["certified_bound"] == second["bound"]["amount"]


def test_branches_prove_together_what_they_proved(client: Client) -> None:
    request = garden(10, 2, mounts=3, trench=2.5, side=6.0, effort=30_000)
    first = answered(client, request)
    assert any(len(case["branches"]) > 1 for case in first["certificate"]["cases"])
    second = answered(client, {**request, "previous": first["certificate"]})
    assert second["previous"]["bound"] == first["bound"]["amount"]


def test_without_certify_a_certificate_has_the_layout_alone(client: Client) -> None:
    request = garden(6, 1, effort=EFFORT)
    first = answered(client, {**request, "certify": False})
    assert first["certificate"]["supplies"]
    assert (first["certificate"]["cases"], first["certificate"]["rows"]) == ([], [])
    assert "certified_bound" not in first
    second = answered(client, {**request, "previous": first["certificate"]})
    assert second["previous"]["outcome"] == "passes"
    assert total(second) <= total(first)


def without_a_branch(certificate: Json) -> None:
    for case in certificate["cases"]:
        case["branches"] = case["branches"][1:]


def scaled(factor: int) -> Callable[[Json], None]:
    def change(certificate: Json) -> None:
        for case in certificate["cases"]:
            for branch in case["branches"]:
                branch["multipliers"][1::2] = [factor * each for each in branch["multipliers"][1::2]]

    return change


def shuffled(certificate: Json) -> None:
    Random(3).shuffle(certificate["rows"])  # repeatable, not secret


def all_empty(certificate: Json) -> None:
    for case in certificate["cases"]:
        for branch in case["branches"]:
            branch["empty"] = True


def enters_nothing(certificate: Json) -> None:
    """A place without a fixture need not be reached: no row says that it must."""
    dark = len(certificate["rows"])
    certificate["rows"] += [f"entered {place}," for place in range(1, 12)]
    for case in certificate["cases"]:
        for branch in case["branches"]:
            branch["multipliers"] += [each for row in range(11) for each in (dark + row, 2**33)]


def made_up_rows(certificate: Json) -> None:
    certificate["rows"] = [f"{name} 1" for name in certificate["rows"][::2]] + [
        "tangent 0 0 nan" for _ in certificate["rows"][1::2]
    ]


@pytest.mark.parametrize(
    "change",
    [without_a_branch, scaled(-1), scaled(2), scaled(0), shuffled, all_empty, enters_nothing, made_up_rows],
    ids=["a branch less", "negative", "twice", "nothing", "shuffled", "empty", "dark", "made up"],
)
@pytest.mark.usefixtures("without_engine")
def test_what_is_changed_proves_less_and_never_more(
    client: Client, monkeypatch: pytest.MonkeyPatch, change: Callable[[Json], None]
) -> None:
    request = garden(6, 4, trench=3.0, effort=EFFORT)
    with monkeypatch.context() as patch:
        for module in (study, translate):
            patch.setattr(module, "available", lambda: True)
        first = answered(client, request)
    certificate = deepcopy(first["certificate"])
    change(certificate)
    alone = answered(client, request)
    second = answered(client, {**request, "previous": certificate})
    assert bound(alone) <= bound(second) <= bound(first) <= total(second) <= total(first)


def test_a_bound_at_other_prices_is_one_of_these(client: Client) -> None:
    request = garden(6, 4, trench=3.0, effort=EFFORT)
    first = answered(client, request)
    cheaper = deepcopy(request)
    for route in cheaper["routes"]:
        route["trench"]["amount"] = "0.10"
    alone = answered(client, cheaper)
    second = answered(client, {**cheaper, "previous": first["certificate"]})
    assert total(second) <= total(alone) < bound(first)
    assert bound(second) <= total(alone)
    assert Decimal(second["previous"]["total"]) < total(first)


def test_a_layout_that_does_not_pass_any_more_is_only_a_start(client: Client) -> None:
    request = garden(8, 3, effort=EFFORT)
    first = answered(client, request)
    stricter = {**request, "limits": {"maximum_drop_percent": 4}}
    second = answered(client, {**stricter, "previous": first["certificate"]})
    assert second["previous"]["outcome"] == "breaks-limits"
    assert total(second) > total(first)
    alone = answered(client, {**request, "gauges": "per-run", "branching": "chain"})
    chained = answered(
        client, {**request, "gauges": "per-run", "branching": "chain", "previous": first["certificate"]}
    )
    assert chained["previous"]["outcome"] == "breaks-limits"
    assert total(chained) <= Decimal("1.05") * total(alone)


def put(at: list[Any], value: object) -> Callable[[Json], None]:
    def change(certificate: Json) -> None:
        own: Any = certificate
        for step in at[:-1]:
            own = own[step]
        own[at[-1]] = value

    return change


SPAN = ["supplies", 0, "runs", 0, "spans", 0]


@pytest.mark.parametrize(
    ("change", "code", "pointer"),
    [
        (put(["supplies", 0, "transformer"], 9), "previous-unknown", "/previous/supplies/0/transformer"),
        (
            put(["supplies", 0, "mounting_point"], 2),
            "previous-unknown",
            "/previous/supplies/0/mounting_point",
        ),
        (
            put(["supplies", 0, "runs", 0, "tap_place"], 5),
            "previous-unknown",
            "/previous/supplies/0/runs/0/tap_place",
        ),
        (put([*SPAN, "routes"], [99]), "previous-unknown", "/previous/supplies/0/runs/0/spans/0/routes/0"),
        (put([*SPAN, "stock"], 7), "previous-unknown", "/previous/supplies/0/runs/0/spans/0/stock"),
        (put([*SPAN, "after"], 1), "previous-apart", "/previous/supplies/0/runs/0/spans/0/after"),
        (put([*SPAN, "routes"], [3, 0]), "previous-apart", "/previous/supplies/0/runs/0/spans/0/routes"),
        (
            put([*SPAN, "length"], jobs.metres(0.01)),
            "previous-apart",
            "/previous/supplies/0/runs/0/spans/0/length",
        ),
        (put([*SPAN, "fixtures"], []), "previous-apart", "/previous/supplies"),
        (
            put(["cases", 0, "mounting_points"], [2]),
            "previous-unknown",
            "/previous/cases/0/mounting_points/0",
        ),
        (
            put(["cases", 0, "branches", 0, "multipliers"], [0]),
            "previous-apart",
            "/previous/cases/0/branches/0/multipliers",
        ),
        (
            put(["cases", 0, "branches", 0, "dug"], [99]),
            "previous-unknown",
            "/previous/cases/0/branches/0/dug/0",
        ),
    ],
)
def test_what_the_site_does_not_have_is_refused(
    client: Client, change: Callable[[Json], None], code: str, pointer: str
) -> None:
    request = garden(5, 5, trench=3.0, effort=EFFORT)
    certificate = answered(client, request)["certificate"]
    change(certificate)
    reply = client.post(PATH, json={**request, "previous": certificate})
    assert (reply.status_code, reply.json()["type"].rpartition("/")[2]) == (422, "previous-invalid")
    assert (code, pointer) in [(each["code"], each["pointer"]) for each in reply.json()["errors"]]


def test_which_fixture_is_on_no_run_or_on_two_is_told(client: Client) -> None:
    request = garden(5, 5, trench=3.0, effort=EFFORT)
    certificate = answered(client, request)["certificate"]
    spans = certificate["supplies"][0]["runs"][0]["spans"]
    [lost] = spans[0]["fixtures"]
    spans[0]["fixtures"] = []
    [twice] = spans[1]["fixtures"]
    spans[1]["fixtures"] = [twice, twice]
    reply = client.post(PATH, json={**request, "previous": certificate})
    told = " ".join(each["detail"] for each in reply.json()["errors"])
    assert f"Fixture number {lost}, counted from 0, is on no run." in told
    assert f"Fixture number {twice}, counted from 0, stands 2 times on the runs." in told


def test_no_run_has_more_spans_than_fixtures_and_partings_can_need(client: Client) -> None:
    request = garden(5, 5, trench=3.0, effort=EFFORT)
    certificate = answered(client, request)["certificate"]
    [run] = certificate["supplies"][0]["runs"]
    idle = {**run["spans"][0], "after": 1, "routes": [run["spans"][0]["routes"][-1]] * 2, "fixtures": []}
    run["spans"] += [idle] * (10 - len(run["spans"]))
    assert client.post(PATH, json={**request, "previous": certificate}).status_code == 200
    run["spans"] += [idle]
    reply = client.post(PATH, json={**request, "previous": certificate})
    assert reply.status_code == 422
    [error] = reply.json()["errors"]
    assert (error["code"], error["pointer"]) == ("previous-apart", "/previous/supplies/0/runs/0")


def test_of_megabytes_of_mistakes_no_more_are_kept_than_are_told() -> None:
    branch = {"dug": [149] * 100, "undug": [], "empty": False, "multipliers": []}
    case = {"mounting_points": [0], "branches": [branch] * 20}
    request = SITE | {"previous": {"supplies": [], "rows": [], "cases": [case]}}
    with pytest.raises(UnansweredError) as refused:
        LayoutTask(convert(request, LeastCostLayoutRequest))
    assert len(refused.value.mistakes) == MOST_ERRORS + 1


def charged_for(branches: list[ProvenBranch]) -> int:
    """Work that is charged for proofs by some branches."""
    site = LayoutTask(convert(SITE, LeastCostLayoutRequest)).job.site
    begin_request()
    proven_again(site, [CaseProof(Case((0,), None), tuple(branches))], 80_000)
    return spent()


def test_rows_that_only_a_certificate_names_are_charged_one_by_one() -> None:
    def tangents(number: int) -> list[ProvenBranch]:
        named = tuple((("tangent", 0, 0, 1.0 + at / 1024), 1 << 20) for at in range(number))
        return [ProvenBranch(frozenset(), frozenset(), nothing=False, multipliers=named)]

    few, many = charged_for(tangents(100)), charged_for(tangents(4_100))
    # Making a row takes more than ten microseconds.
    assert many - few >= 4_000


def test_cuts_are_charged_by_the_routes_that_may_enter_them() -> None:
    site = LayoutTask(convert(SITE, LeastCostLayoutRequest)).job.site
    lit, places = site.lamps[0].place, range(len(site.positions))

    def cuts(number: int) -> list[ProvenBranch]:
        named = tuple(
            (("entered", tuple(sorted({lit, *(place for place in places if at >> place & 1)}))), 1 << 20)
            for at in range(number)
        )
        return [ProvenBranch(frozenset(), frozenset(), nothing=False, multipliers=named)]

    made = len({name for name, _ in cuts(256)[0].multipliers})
    # Both ways of each route are looked at, a microsecond or so each.
    assert charged_for(cuts(256)) - charged_for(cuts(1)) >= made * len(site.routes) // 15


def test_branches_are_charged_by_the_routes_that_they_are_held_against_each_other_by() -> None:
    def branches(number: int, routes: int) -> list[ProvenBranch]:
        dug = frozenset(range(routes))
        half = [ProvenBranch(dug, frozenset(), nothing=False, multipliers=())] * number
        return half + [ProvenBranch(dug - {at}, frozenset({at}), nothing=False, multipliers=()) for at in dug]

    few, many = charged_for(branches(50, 8)), charged_for(branches(500, 8))
    held = sum(450 * left for left in range(1, 9))
    assert many - few >= held // OPERATIONS_OF_WORK


@pytest.mark.parametrize(
    ("most", "kept"),
    [
        (Most(60_000, 100, 500), 3),
        (Most(60_000, 2, 500), 2),
        (Most(60_000, 100, 1), 0),
        (Most(3, 100, 500), 1),
    ],
    ids=["all", "cases", "branches", "multipliers"],
)
def test_no_certificate_is_answered_that_would_be_refused(most: Most, kept: int) -> None:
    site = LayoutTask(convert(SITE, LeastCostLayoutRequest)).job.site
    bounding = Bounding(site)
    closed = dict(zip(bounding.parts, bounding.terms, strict=True))
    weakest = sorted(bounding.parts, key=lambda part: (closed[part].amount, bounding.parts.index(part)))
    row = (("rating",), 1)
    branches = tuple(
        ProvenBranch(*sides, nothing=True, multipliers=(row,))
        for sides in ((frozenset({0}), frozenset[int]()), (frozenset[int](), frozenset({0})))
    )
    proven = [
        ProvenAgain(CaseProof(Case(part.mounts, part.mix), branches), NOTHING_PASSES) for part in weakest[:3]
    ]
    found = certified(bounding, closed, proven, study.ABOVE_ALL, most)
    assert len(found.proofs) == kept


def test_the_same_certificate_twice(client: Client) -> None:
    request = garden(7, 3, mounts=2, effort=EFFORT)
    one, other = (answered(client, request) for _ in range(2))
    assert one["certificate"] == other["certificate"]


@pytest.mark.parametrize("seed", [1, 3])
@pytest.mark.usefixtures("without_engine")
def test_that_no_layout_has_a_box_too_small_is_proven_again(
    client: Client, monkeypatch: pytest.MonkeyPatch, seed: int
) -> None:
    request = scarce(6, seed, 250) | {"effort": EFFORT}
    request["transformers"].append(fed_by(300, "236.00"))
    with monkeypatch.context() as patch:
        for module in (study, translate):
            patch.setattr(module, "available", lambda: True)
        first = answered(client, request)
    cases = first["certificate"]["cases"]
    empty = [case for case in cases if all(branch["empty"] for branch in case["branches"])]
    assert [case["transformers"] for case in empty] == [[0]]
    alone = answered(client, request)
    second = answered(client, {**request, "previous": first["certificate"]})
    assert bound(alone) < bound(first) == bound(second)
    assert first["certified_bound"] == second["certified_bound"] == second["bound"]["amount"]
    # With one multiplier less the proof is gone, and nothing is taken on trust.
    weaker = deepcopy(first["certificate"])
    for case in weaker["cases"]:
        for branch in case["branches"]:
            if branch["empty"]:
                branch["multipliers"] = branch["multipliers"][2:]
    assert bound(answered(client, {**request, "previous": weaker})) < bound(first)


def test_an_earlier_proof_that_nothing_is_left_is_one_that_none_passes(
    client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    request = scarce(6, 1, 250)
    task = LayoutTask(convert(request, LeastCostLayoutRequest))
    found = refined(Bounding(task.job.site), 30_000, study.ABOVE_ALL)
    proofs = [proof_of_case(*each) for each in found.relaxed.items()]
    certificate = to_builtins(certificate_of(task.question, None, proofs))
    for module in (study, translate):
        monkeypatch.setattr(module, "available", lambda: False)
    assert jobs.answer(client, request, PATH)["status"] == "none-found"
    again = jobs.answer(client, {**request, "previous": certificate}, PATH)
    assert (again["status"], again["method"]) == ("none-passes", "relaxation")
    for case in certificate["cases"]:
        case["branches"][0]["multipliers"] = case["branches"][0]["multipliers"][2:]
    assert jobs.answer(client, {**request, "previous": certificate}, PATH)["status"] == "none-found"


SITE = garden(6, 4, trench=3.0, effort=1_000)


def with_points(value: Any) -> Any:
    """A message whose whole numbers have a point."""
    if isinstance(value, dict):
        return {name: with_points(each) for name, each in value.items()}
    if isinstance(value, list):
        return [with_points(each) for each in value]
    return float(value) if type(value) is int else value


def test_whole_numbers_may_have_a_point(client: Client) -> None:
    first = answered(client, SITE)
    plain = answered(client, SITE | {"previous": first["certificate"]})
    pointed = answered(client, SITE | {"previous": with_points(first["certificate"])})
    for reply in (plain, pointed):
        del reply["request_sha256"]
    assert pointed == plain


@pytest.mark.parametrize(
    ("member", "item", "most"), [("rows", "rating", 60_000), ("multipliers", 0, 120_000)], ids=str
)
def test_a_certificate_is_as_long_as_the_document_says(
    client: Client, member: str, item: object, most: int
) -> None:
    branch = {"dug": [], "undug": [], "empty": False, "multipliers": []}
    certificate: Json = {
        "supplies": [],
        "rows": ["rating"],
        "cases": [{"mounting_points": [0], "branches": [branch]}],
    }
    holder = certificate if member == "rows" else branch
    for length, status in ((most, 200), (most + 2, 400)):
        holder[member] = [item] * length
        reply = client.post("/v1/least-cost-layout", json=SITE | {"previous": certificate})
        assert reply.status_code == status, reply.text


def test_a_case_of_a_certificate_without_a_transformer_is_refused(client: Client) -> None:
    case = {"mounting_points": [0], "branches": [], "transformers": []}
    previous = {"supplies": [], "rows": [], "cases": [case]}
    reply = client.post("/v1/least-cost-layout", json=SITE | {"previous": previous})
    assert reply.status_code == 400
    assert [each["pointer"] for each in reply.json()["errors"]] == ["/previous/cases/0/transformers"]
