"""One entry of the table is a whole study: a toy is added, used through every door, and taken away again."""

import sys
from collections.abc import Iterator
from datetime import date

import jsonschema_rs
import pytest
from msgspec import Struct, msgpack

from service.app import build
from service.circuit.estimate import Estimate
from service.circuit.job import JobPart
from service.document.examples import REQUEST_ID
from service.findings.finding import WARNING, FindingKind
from service.http.tasks import Task, TaskOutcome, outcome_of, taken
from service.observability.exchange import Exchange
from service.problems import ErrorKind, Mistake, ProblemKind, Refused, UnansweredError
from service.settings import KEYS, Settings
from service.sheets.sheet import Facts, Section, Sheet
from service.studies import STUDIES
from service.studies.description import Description, Retirement
from service.studies.record import HTML, JSON, Study, json_form, sheet_forms
from service.wire.reply import Finding, Parameter, Subject
from tests.access.gates import BROWSER_KEY, OTHER_BROWSER_KEY, SHOP, bearing, browser_entry
from tests.client import Client
from tests.sheets.reading import Page


class SpliceCountRequest(Struct, frozen=True, forbid_unknown_fields=True):
    """Fixtures, each of them tapped into the cable, and how many splices a box has room for."""

    fixtures: int
    room: int = 20


class SpliceCountReply(Struct, frozen=True):
    """How many joints that makes, two conductors each."""

    joints: int
    findings: list[Finding]


BOX_FULL = FindingKind("box-full", (WARNING,), "{joints} joints fill the box.", "No room is left in the box.")
NEGATIVE_ROOM = ErrorKind("negative-room", "A box has less room than none.", "A box has no room of {0}.")
BOX_IMPOSSIBLE = ProblemKind(
    "box-impossible",
    422,
    "There is no such box",
    "A box has room for some joints, or for none.",
    "Measure the box again.",
    detail="No box has room for {error.room} joints; {places} of the request say{s} so.",
)


class NoSuchBoxError(UnansweredError):
    def __init__(self, room: int) -> None:
        mistake = Mistake(NEGATIVE_ROOM.code, "/room", (str(room),))
        super().__init__(BOX_IMPOSSIBLE, "no such box", [mistake])
        self.room = room


def prepared(request: SpliceCountRequest) -> SpliceCountRequest:
    if request.room < 0:
        raise NoSuchBoxError(request.room)
    return request


def answer(_: SpliceCountRequest, job: SpliceCountRequest, __: str) -> SpliceCountReply:
    joints = 2 * job.fixtures
    full = BOX_FULL.found(JobPart("/room"), "own-calculation", parameters=(("joints", f"{joints}"),))
    parameters = [Parameter(name, str(value)) for name, value in full.parameters]
    message = full.kind.template.format(joints=joints)
    row = Finding(full.code, full.severity, Subject(full.subject.pointer), parameters, message, full.source)
    return SpliceCountReply(joints, [row] if joints >= job.room else [])


def sheet(request: SpliceCountRequest, reply: SpliceCountReply) -> Sheet:
    facts = Facts([("Fixtures", str(request.fixtures)), ("Joints", str(reply.joints))])
    return Sheet("Splice count", "Splice count", (), "a4", [Section("Result", [facts])])


SPLICE_COUNT = Study(
    "splice-count",
    SpliceCountRequest,
    prepared,
    lambda job: Estimate(job.fixtures, job.fixtures),
    answer,
    {JSON: json_form(), **sheet_forms("splice-count", sheet)},
    Description(
        "Joints to make",
        "How many joints are there to make?",
        SpliceCountReply,
        "Their count.",
        (BOX_IMPOSSIBLE,),
    ),
    kinds_in=(sys.modules[__name__],),
)
PATH = "/v1/splice-count"
ASKED = {"fixtures": 6}
REPLY = {"joints": 12, "findings": []}


@pytest.fixture(autouse=True)
def _one_line_of_the_table(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    with monkeypatch.context() as patch:
        patch.setitem(STUDIES, SPLICE_COUNT.name, SPLICE_COUNT)
        yield
    assert Client(build(Settings())).post(PATH, json=ASKED).status_code == 404


def test_a_study_of_the_table_is_answered_at_its_address() -> None:
    service = Client(build(Settings()))
    assert service.post(PATH, json=ASKED).json() == REPLY
    refused = service.post(PATH, json={"fixtures": "6", "colour": "red"})
    assert (refused.status_code, refused.json()["code"]) == (400, "request-invalid")
    assert [error["pointer"] for error in refused.json()["errors"]] == ["/fixtures", "/colour"]
    assert service.request("DELETE", PATH).headers["allow"] == "OPTIONS, POST"


def test_a_study_of_the_table_is_answered_in_a_batch() -> None:
    items = [{"study": "splice-count", "request": ASKED}, {"study": "splice-count", "request": {}}]
    first, second = Client(build(Settings())).post("/v1/batch", json={"items": items}).json()["items"]
    assert first == {"outcome": "answered", "study": "splice-count", "answer": REPLY}
    assert (second["outcome"], second["problem"]["code"]) == ("refused", "request-invalid")


def test_a_worker_answers_a_study_of_the_table() -> None:
    outcome = outcome_of(Task("splice-count", b'{"fixtures": 6}', JSON, REQUEST_ID))
    assert getattr(outcome.end, "content", None) == b'{"joints":12,"findings":[]}'


def test_a_study_of_the_table_stands_in_the_document_with_its_schemas() -> None:
    document = Client(build(Settings())).get("/openapi.json").json()
    operation = document["paths"][PATH]["post"]
    assert (operation["operationId"], operation["summary"]) == ("splice_count", "Joints to make")
    assert operation["description"] == "How many joints are there to make?"
    assert list(operation["responses"]["200"]["content"]) == [JSON, HTML, "application/pdf"]
    schemas = document["components"]["schemas"]
    assert schemas["SpliceCountRequest"]["additionalProperties"] is False
    assert schemas["SpliceCountReply"]["required"] == ["joints", "findings"]
    named = {"$ref": "#/components/schemas/BatchItem", "components": document["components"]}
    asks = jsonschema_rs.Draft202012Validator(named)
    assert asks.is_valid({"study": "splice-count", "request": ASKED})
    assert not asks.is_valid({"study": "splice-counts", "request": ASKED})


def test_a_study_of_the_table_has_its_page_and_its_schema() -> None:
    service = Client(build(Settings()))
    page = service.get("/docs/splice-count")
    assert (page.status_code, SPLICE_COUNT.description.question in page.text) == (200, True)
    assert service.get("/schemas/splice-count.json").status_code == 200


def test_a_page_needs_a_key_that_was_given_the_study() -> None:
    keys = browser_entry("fernhill-shop", BROWSER_KEY, SHOP, "splice-count") + browser_entry(
        "mill-lane-shop", OTHER_BROWSER_KEY, SHOP, "reach"
    )
    service = Client(build(Settings(access=KEYS, keys=keys)))
    assert service.post(PATH, json=ASKED).status_code == 401
    given = service.post(PATH, json=ASKED, headers=bearing(BROWSER_KEY, Origin=SHOP))
    assert (given.status_code, given.json()) == (200, REPLY)
    other = service.post(PATH, json=ASKED, headers=bearing(OTHER_BROWSER_KEY, Origin=SHOP))
    assert (other.status_code, other.json()["code"]) == (403, "study-not-allowed")


def test_the_work_of_a_study_of_the_table_is_metered() -> None:
    service = Client(build(Settings(work_per_minute=2_000_000)))
    assert service.post(PATH, json=ASKED).headers["ratelimit-policy"] == '"work";q=2000000;w=60'
    too_much = Client(build(Settings())).post(PATH, json={"fixtures": 10**9})
    assert (too_much.status_code, too_much.json()["code"]) == (422, "work-over-limit")


def test_a_study_of_the_table_is_printed() -> None:
    page = Client(build(Settings())).post(PATH, json=ASKED, headers={"accept": HTML})
    assert page.headers["content-type"].startswith(HTML)
    assert page.headers["content-disposition"] == 'inline; filename="splice-count.html"'
    assert Page(page.content).text.split()[-5:] == ["Result", "Fixtures", "6", "Joints", "12"]


def test_a_finding_of_a_study_of_the_table_is_told_counted_and_listed() -> None:
    service = Client(build(Settings()))
    [found] = service.post(PATH, json={"fixtures": 10}).json()["findings"]
    assert (found["code"], found["severity"], found["message"]) == (
        "box-full",
        "warning",
        "20 joints fill the box.",
    )
    outcome = outcome_of(Task("splice-count", b'{"fixtures": 10}', JSON, REQUEST_ID))
    assert outcome.findings == [("box-full", "warning")]
    listed = service.get("/v1/findings").json()["findings"]
    assert listed[-1]["code"] == "box-full"


def test_replies_of_a_study_that_is_to_go_say_since_when_and_until_when(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    untouched = Client(build(Settings())).post(PATH, json=ASKED).headers
    assert not {"deprecation", "sunset", "link"} & set(untouched)
    going = Retirement(date(2023, 6, 30), date(2024, 11, 6), "reach")
    described = SPLICE_COUNT.description._replace(retirement=going)
    with monkeypatch.context() as patch:
        patch.setitem(STUDIES, SPLICE_COUNT.name, SPLICE_COUNT._replace(description=described))
        service = Client(build(Settings(allowed_origins=(SHOP,))))
        for job, status in ((ASKED, 200), ({"fixtures": "6"}, 400)):
            reply = service.post(PATH, json=job, headers={"Origin": SHOP})
            assert reply.status_code == status
            # RFC 9745, section 2.1, and RFC 8594, section 3: seconds since 1970, and a date as HTTP has it.
            assert reply.headers["deprecation"] == "@1688083200"
            assert reply.headers["sunset"] == "Wed, 06 Nov 2024 00:00:00 GMT"
            page, successor = reply.headers["link"].split(", ")
            assert page == '</docs/splice-count>; rel="deprecation"; type="text/html"'
            assert successor == '</v1/reach>; rel="successor-version"'
            exposed = reply.headers["access-control-expose-headers"].split(", ")
            assert {"Deprecation", "Sunset", "Link"} <= set(exposed)
        operation = service.get("/openapi.json").json()["paths"][PATH]["post"]
        assert operation["deprecated"] is True
        assert operation["description"].endswith(
            "Deprecated since 2023-06-30: ask `reach` instead. It is answered until 2024-11-06."
        )


def test_a_study_is_answered_for_a_year_after_it_was_marked() -> None:
    with pytest.raises(ValueError, match="days=365"):
        Retirement(date(2027, 1, 1), date(2027, 12, 31), "reach")


def test_a_refusal_of_a_study_of_the_table_comes_through_every_door_and_is_listed() -> None:
    service = Client(build(Settings()))
    impossible = {"fixtures": 6, "room": -1}
    reply = service.post(PATH, json=impossible)
    problem = reply.json()
    assert (reply.status_code, problem["code"], problem["type"]) == (
        422,
        "box-impossible",
        "/problems/box-impossible",
    )
    assert problem["detail"] == "No box has room for -1 joints; One place of the request says so."
    [error] = problem["errors"]
    assert error == {"code": "negative-room", "pointer": "/room", "detail": "A box has no room of -1."}

    items = [{"study": "splice-count", "request": impossible}]
    [item] = service.post("/v1/batch", json={"items": items}).json()["items"]
    assert item["problem"] == problem | {"request_id": item["problem"]["request_id"]}
    outcome = outcome_of(Task("splice-count", b'{"fixtures": 6, "room": -1}', JSON, REQUEST_ID))
    crossed = msgpack.decode(msgpack.encode(outcome), type=TaskOutcome)
    with pytest.raises(Refused) as refused:
        taken(crossed, Exchange(REQUEST_ID))
    assert (refused.value.status, refused.value.detail) == (422, problem["detail"])

    catalogue = service.get("/v1/problems").json()
    assert catalogue["problems"][-1]["code"] == "box-impossible"
    assert catalogue["errors"][-1]["code"] == "negative-room"
    document = service.get("/openapi.json").json()
    assert "`box-impossible`" in str(document["paths"][PATH]["post"]["responses"]["422"])
