"""What a wiring states once for many: one cable for all, and types of fixtures."""

from copy import deepcopy
from typing import Any

import pytest

from service.studies import STUDIES
from service.studies.record import AnyStudy
from service.wire.job import JobRequest
from tests import jobs
from tests.client import Client
from tests.jobs import Json

STEP: Json = {"id": "step", "name": "step light", "load": jobs.watts(2), "window": jobs.window(9, 15)}
PATH: Json = {
    "id": "path", "load": jobs.volt_amperes(4, 5), "input": "ac",
    "lead": {"length": jobs.metres(2), "cable": jobs.awg(16)},
}  # fmt: skip


def short() -> Json:
    """A run with a branch and a spur of it, and a second run of another cable."""
    spur = {"at": jobs.metres(2), "fixtures": [{"at": jobs.metres(1), "type": "path", "name": "d"}]}
    branch = {
        "at": jobs.metres(6),
        "fixtures": [{"at": jobs.metres(3), "type": "step", "name": "c", "window": jobs.window(10, 14)}],
        "spurs": [spur],
    }
    first = {
        "fixtures": [
            {"at": jobs.metres(5), "type": "step", "name": "a"},
            {"at": jobs.metres(9), "type": "path", "name": "b", "count": 3, "spacing": jobs.metres(2)},
        ],
        "branches": [branch],
    }
    second = {"cable": jobs.awg(10), "fixtures": [{"at": jobs.metres(7), "load": jobs.watts(5), "name": "e"}]}
    wiring = {"form": "runs", "runs": [first, second], "cable": jobs.awg(12), "fixture_types": [STEP, PATH]}
    return {"supply": jobs.transformer(winding=jobs.winding(150, 5)), "wiring": wiring}


def long() -> Json:
    """The same, with everything where it is."""
    request = short()
    types = {each["id"]: each for each in request["wiring"].pop("fixture_types")}
    cable = request["wiring"].pop("cable")
    first, second = request["wiring"]["runs"]
    (branch,) = first["branches"]
    for line in (first, branch, *branch["spurs"], second):
        line.setdefault("cable", cable)
        for fixture in line["fixtures"]:
            kind = types.get(fixture.pop("type", ""), {})
            for name in ("load", "window", "lead", "input"):
                if name in kind:
                    fixture.setdefault(name, kind[name])
    return request


def graph() -> Json:
    """Two spans, one of its own cable, and a fixture of a type at each point."""
    spans = [
        {"from": "supply", "to": "gate", "length": jobs.metres(10)},
        {"from": "gate", "to": "pond", "length": jobs.metres(8), "cable": jobs.awg(14)},
    ]
    fixtures = [{"point": "gate", "type": "step"}, {"point": "pond", "type": "path", "load": jobs.watts(9)}]
    wiring = {"form": "spans", "spans": spans, "fixtures": fixtures, "cable": jobs.awg(12),
              "fixture_types": [STEP, PATH]}  # fmt: skip
    return {"supply": jobs.transformer(), "wiring": wiring}


OTHERWISE = {"request_sha256", "wiring"}
"""Members that may differ: what names the bytes of the request, and the wiring, which keeps its types."""

READING: Json = {
    "subject": {"kind": "terminal"},
    "quantity": {"kind": "voltage", "value": jobs.volts(12.4)},
    "state": {"on": "all-on"},
}


WITH_WIRING = [study for study in STUDIES.values() if issubclass(study.request, JobRequest)]


@pytest.mark.parametrize("study", WITH_WIRING, ids=lambda study: study.name)
def test_what_is_stated_once_is_as_if_it_were_stated_everywhere(client: Client, study: AnyStudy) -> None:
    more = {"readings": [READING]} if "readings" in study.request.__struct_fields__ else {}
    once = jobs.answer(client, short() | more, f"/v1/{study.name}")
    everywhere = jobs.answer(client, long() | more, f"/v1/{study.name}")
    assert once.keys() == everywhere.keys()
    for name in once.keys() - OTHERWISE:
        assert once[name] == everywhere[name], name


def test_a_fixture_without_a_name_is_called_by_its_type(client: Client) -> None:
    request = short()
    for fixture in request["wiring"]["runs"][0]["fixtures"]:
        del fixture["name"]
    rows = jobs.solved(client, request)["fixtures"]
    assert [row["name"] for row in rows[:4]] == [
        "step light at 5 m of run 1", "path 1 at 9 m of run 1", "path 2 at 11 m of run 1",
        "path 3 at 13 m of run 1",
    ]  # fmt: skip


def test_spans_take_the_common_cable_and_points_a_type(client: Client) -> None:
    written_out = graph()
    del written_out["wiring"]["fixture_types"], written_out["wiring"]["cable"]
    written_out["wiring"]["spans"][0]["cable"] = jobs.awg(12)
    step, pond = written_out["wiring"]["fixtures"]
    del step["type"], pond["type"]
    step |= {"load": STEP["load"], "window": STEP["window"]}
    pond |= {"lead": PATH["lead"], "input": "ac"}
    assert jobs.voltages(jobs.solved(client, graph())) == jobs.voltages(jobs.solved(client, written_out))


def test_what_a_choice_answers_is_posted_as_it_is(client: Client) -> None:
    reply = jobs.answer(client, short(), "/v1/gauge-recommendation")
    assert "cable" not in reply["wiring"]
    assert reply["wiring"]["fixture_types"] == [STEP, PATH]
    again = {"supply": short()["supply"], "wiring": reply["wiring"], "conditions": reply["judged_conditions"]}
    assert jobs.answer(client, again)["status"] == "solved"


OWN: Json = {
    "load": jobs.watts(7), "window": jobs.window(6, 18), "input": "ac",
    "lead": {"length": jobs.metres(1), "cable": jobs.awg(18)},
}  # fmt: skip
TYPED: Json = {
    "id": "odd", "load": jobs.watts(9), "window": jobs.window(11, 13), "input": "dc",
    "lead": {"length": jobs.metres(4), "cable": jobs.awg(14)},
}  # fmt: skip


@pytest.mark.parametrize("member", OWN)
def test_what_a_fixture_states_itself_goes_before_its_type_and_what_it_leaves_out_is_of_its_type(
    client: Client, member: str
) -> None:
    """One member is the fixture's own, and the other three come from its type."""
    fixture = {"at": jobs.metres(5), "name": "one"}
    typed = {**fixture, "type": "odd"}
    replies = []
    for line in (typed | {member: OWN[member]}, fixture | TYPED | {member: OWN[member]}, typed):
        line.pop("id", None)
        wiring = {
            "form": "runs",
            "cable": jobs.awg(12),
            "fixture_types": [TYPED],
            "runs": [{"fixtures": [line]}],
        }
        replies.append(jobs.solved(client, {"supply": jobs.transformer(), "wiring": wiring}))
    once, stated, of_type = ({k: v for k, v in reply.items() if k not in OTHERWISE} for reply in replies)
    assert once == stated
    assert once != of_type


def leaves_open() -> dict[str, Json]:
    """A wiring that states neither a common cable nor types and leaves one place open, by where that is."""
    found = {}
    for place in ("run", "branch", "spur", "span"):
        for member in ("cable", "load"):
            request = graph() if place == "span" else long()
            wiring = request["wiring"]
            if place == "span":
                del wiring["cable"], wiring["fixture_types"]
                for span in wiring["spans"]:
                    span["cable"] = jobs.awg(12)
                for fixture in wiring["fixtures"]:
                    del fixture["type"]
                    fixture["load"] = jobs.watts(4)
                line, fixtures = wiring["spans"][1], wiring["fixtures"]
            else:
                first = wiring["runs"][0]
                branch = first["branches"][0]
                line = {"run": first, "branch": branch, "spur": branch["spurs"][0]}[place]
                fixtures = line["fixtures"]
            del (line if member == "cable" else fixtures[-1])[member]
            found[f"{member} of a {place}"] = request
    return found


OPEN = leaves_open()


@pytest.mark.parametrize("place", OPEN)
def test_one_place_left_open_is_refused_where_nothing_is_shared(client: Client, place: str) -> None:
    (error,) = refused(client, OPEN[place])
    assert error["code"] == f"{place.partition(' ')[0]}-missing"


def test_a_type_is_unknown_where_no_types_are_listed(client: Client) -> None:
    request = long()
    request["wiring"]["runs"][0]["fixtures"][0]["type"] = "step"
    (error,) = refused(client, request)
    assert (error["code"], error["pointer"]) == ("unknown-type", "/wiring/runs/0/fixtures/0/type")


@pytest.mark.parametrize("own", ["cable", "fixture_types"])
def test_what_is_shared_alone_fills_in_alone(client: Client, own: str) -> None:
    """A common cable without types, and types without a common cable."""
    shared, request = short(), long()
    wiring = request["wiring"]
    wiring[own] = shared["wiring"][own]
    if own == "cable":
        del wiring["runs"][0]["cable"]
    else:
        fixture = wiring["runs"][0]["fixtures"][0]
        del fixture["load"], fixture["window"]
        fixture["type"] = "step"
    assert jobs.voltages(jobs.solved(client, request)) == jobs.voltages(jobs.solved(client, long()))


def refused(client: Client, request: Json) -> list[Any]:
    """What is listed of a wiring that is refused."""
    response = client.post("/v1/voltage-drop", json=request)
    assert response.status_code == 422, response.text
    assert response.json()["code"] == "wiring-invalid"
    return list(response.json()["errors"])


def test_every_place_without_a_cable_or_a_load_is_listed(client: Client) -> None:
    request = short()
    del request["wiring"]["cable"], request["wiring"]["fixture_types"]
    del request["wiring"]["runs"][1]["fixtures"][0]["load"]
    errors = refused(client, request)
    run, branch = "/wiring/runs/0", "/wiring/runs/0/branches/0"
    assert {(each["code"], each["pointer"]) for each in errors} == {
        ("cable-missing", run), ("cable-missing", branch), ("cable-missing", f"{branch}/spurs/0"),
        ("unknown-type", f"{run}/fixtures/0/type"), ("unknown-type", f"{run}/fixtures/1/type"),
        ("unknown-type", f"{branch}/fixtures/0/type"), ("unknown-type", f"{branch}/spurs/0/fixtures/0/type"),
        ("load-missing", "/wiring/runs/1/fixtures/0"),
    }  # fmt: skip
    assert all("Send" in each["detail"] or "Name one" in each["detail"] for each in errors)


def test_a_mistyped_type_is_answered_with_the_one_that_was_meant(client: Client) -> None:
    request = short()
    request["wiring"]["runs"][0]["fixtures"][0]["type"] = "stpe"
    (error,) = refused(client, request)
    assert error["code"] == "unknown-type"
    assert 'Did you mean "step"?' in error["detail"]
    assert error["allowed"] == ["step", "path"]


def test_two_types_of_one_id_are_refused(client: Client) -> None:
    request = short()
    request["wiring"]["fixture_types"].append(deepcopy(STEP))
    (error,) = refused(client, request)
    assert (error["code"], error["pointer"]) == ("duplicate-type", "/wiring/fixture_types/2/id")


def test_two_types_of_one_id_are_refused_though_nothing_names_them(client: Client) -> None:
    request = long()
    request["wiring"]["fixture_types"] = [deepcopy(STEP), deepcopy(STEP)]
    (error,) = refused(client, request)
    assert (error["code"], error["pointer"]) == ("duplicate-type", "/wiring/fixture_types/1/id")


@pytest.mark.parametrize("form", ["runs", "spans"])
def test_a_wiring_in_a_reply_has_its_cables_where_they_are_and_nowhere_else(
    client: Client, form: str
) -> None:
    """A common cable that nothing takes is left out as well: who reads the reply need not look for it."""
    request = long() if form == "runs" else graph()
    lines = request["wiring"][form]
    for line in lines:
        line["cable"] = jobs.awg(10)
    request["wiring"]["cable"] = jobs.awg(16)
    reply = jobs.answer(client, request, "/v1/gauge-recommendation")
    assert "cable" not in reply["wiring"]
    assert [line["cable"]["kind"] for line in reply["wiring"][form]] == ["listed"] * len(lines)


def test_an_item_of_a_batch_that_leaves_something_open_spoils_no_other(client: Client) -> None:
    broken = short()
    del broken["wiring"]["cable"]
    items = [{"study": "voltage-drop", "request": request} for request in (broken, short())]
    outcomes = jobs.answer(client, {"items": items}, "/v1/batch")["items"]
    assert [each["outcome"] for each in outcomes] == ["refused", "answered"]


@pytest.mark.parametrize("media_type", ["text/html", "application/pdf"])
def test_a_sheet_tells_type_and_cable_of_every_place(client: Client, media_type: str) -> None:
    request = short()
    del request["wiring"]["runs"][0]["fixtures"][0]["name"]
    response = client.post("/v1/voltage-drop", json=request, headers={"Accept": media_type})
    assert response.status_code == 200
    if media_type == "text/html":
        assert response.text.count("12 AWG") >= 3
        assert "step light" in response.text
