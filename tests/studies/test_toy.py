"""One entry of the table is a whole study: a toy is added, used through every door, and taken away again."""

from collections.abc import Iterator

import jsonschema_rs
import pytest
from msgspec import Struct

from service.app import build
from service.circuit.estimate import Estimate
from service.document.examples import REQUEST_ID
from service.http.tasks import Task, outcome_of
from service.settings import KEYS, Settings
from service.sheets.sheet import Facts, Section, Sheet
from service.studies import STUDIES
from service.studies.description import Description
from service.studies.record import HTML, JSON, Study, json_form, sheet_forms
from tests.access.gates import BROWSER_KEY, OTHER_BROWSER_KEY, SHOP, bearing, browser_entry
from tests.client import Client
from tests.sheets.reading import Page


class SpliceCountRequest(Struct, frozen=True, forbid_unknown_fields=True):
    """Fixtures, each of them tapped into the cable."""

    fixtures: int


class SpliceCountReply(Struct, frozen=True):
    """How many joints that makes, two conductors each."""

    joints: int


def sheet(request: SpliceCountRequest, reply: SpliceCountReply) -> Sheet:
    facts = Facts([("Fixtures", str(request.fixtures)), ("Joints", str(reply.joints))])
    return Sheet("Splice count", "Splice count", (), "a4", [Section("Result", [facts])])


SPLICE_COUNT = Study(
    "splice-count",
    SpliceCountRequest,
    lambda message: message.fixtures,
    lambda fixtures: Estimate(fixtures, fixtures),
    lambda _, fixtures, __: SpliceCountReply(2 * fixtures),
    {JSON: json_form(), **sheet_forms("splice-count", sheet)},
    Description("Joints to make", "How many joints are there to make?", SpliceCountReply, "Their count."),
)
PATH = "/v1/splice-count"
ASKED = {"fixtures": 6}


@pytest.fixture(autouse=True)
def _one_line_of_the_table(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    with monkeypatch.context() as patch:
        patch.setitem(STUDIES, SPLICE_COUNT.name, SPLICE_COUNT)
        yield
    assert Client(build(Settings())).post(PATH, json=ASKED).status_code == 404


def test_a_study_of_the_table_is_answered_at_its_address() -> None:
    service = Client(build(Settings()))
    assert service.post(PATH, json=ASKED).json() == {"joints": 12}
    refused = service.post(PATH, json={"fixtures": "6", "colour": "red"})
    assert (refused.status_code, refused.json()["code"]) == (400, "request-invalid")
    assert [error["pointer"] for error in refused.json()["errors"]] == ["/fixtures", "/colour"]
    assert service.request("DELETE", PATH).headers["allow"] == "OPTIONS, POST"


def test_a_study_of_the_table_is_answered_in_a_batch() -> None:
    items = [{"study": "splice-count", "request": ASKED}, {"study": "splice-count", "request": {}}]
    first, second = Client(build(Settings())).post("/v1/batch", json={"items": items}).json()["items"]
    assert first == {"outcome": "answered", "study": "splice-count", "answer": {"joints": 12}}
    assert (second["outcome"], second["problem"]["code"]) == ("refused", "request-invalid")


def test_a_worker_answers_a_study_of_the_table() -> None:
    outcome = outcome_of(Task("splice-count", b'{"fixtures": 6}', JSON, REQUEST_ID))
    assert getattr(outcome.end, "content", None) == b'{"joints":12}'


def test_a_study_of_the_table_stands_in_the_document_with_its_schemas() -> None:
    document = Client(build(Settings())).get("/openapi.json").json()
    operation = document["paths"][PATH]["post"]
    assert (operation["operationId"], operation["summary"]) == ("splice_count", "Joints to make")
    assert operation["description"] == "How many joints are there to make?"
    assert list(operation["responses"]["200"]["content"]) == [JSON, HTML, "application/pdf"]
    schemas = document["components"]["schemas"]
    assert schemas["SpliceCountRequest"]["additionalProperties"] is False
    assert schemas["SpliceCountReply"]["required"] == ["joints"]
    named = {"$ref": "#/components/schemas/BatchItem", "components": document["components"]}
    asks = jsonschema_rs.Draft202012Validator(named)
    assert asks.is_valid({"study": "splice-count", "request": ASKED})
    assert not asks.is_valid({"study": "splice-counts", "request": ASKED})


def test_a_page_needs_a_key_that_was_given_the_study() -> None:
    keys = browser_entry("fernhill-shop", BROWSER_KEY, SHOP, "splice-count") + browser_entry(
        "mill-lane-shop", OTHER_BROWSER_KEY, SHOP, "reach"
    )
    service = Client(build(Settings(access=KEYS, keys=keys)))
    assert service.post(PATH, json=ASKED).status_code == 401
    given = service.post(PATH, json=ASKED, headers=bearing(BROWSER_KEY, Origin=SHOP))
    assert (given.status_code, given.json()) == (200, {"joints": 12})
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
