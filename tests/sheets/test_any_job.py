"""Whatever is answered in JSON is answered in every other form as well, and holds the same numbers."""

import json
import re
import xml.etree.ElementTree as ET
from collections import Counter
from typing import Any, Final

import schemathesis
from schemathesis.config import SchemathesisConfig

from service.app import app
from service.studies.record import GEOJSON, MOST_ROWS
from tests.client import Client
from tests.contract.configuration import LARGE, drawn_slowly, valid
from tests.contract.operations import each_operation
from tests.sheets.reading import HTML, PDF, SVG, Page, numbers_in, pdf_pages
from tests.sheets.test_same_as_json import is_printed, quantities

CLIENT: Final = Client(app)
ANSWERED: Final[Counter[tuple[str, str]]] = Counter()


def printable(document: Any, *, large: bool) -> Any:
    """The calculations that the document offers as a sheet, those that are large or all others."""
    paths = {
        path: {"post": item["post"]}
        for path, item in document["paths"].items()
        if "post" in item and PDF in item["post"]["responses"]["200"]["content"] and (path in LARGE) is large
    }
    assert len(paths) >= (1 if large else 5)
    return {**document, "paths": paths}


def drawn(document: Any, configuration: dict[str, Any]) -> Any:
    """Random requests of a document."""
    found: Any = schemathesis.openapi.from_dict(document, config=SchemathesisConfig.from_dict(configuration))
    found.app = app
    return found


def few(document: Any) -> dict[str, Any]:
    """Fewer than where JSON alone is asked for."""
    configuration = valid(document)
    return {**configuration, "generation": {**configuration["generation"], "max-examples": 15}}


DOCUMENT: Final = CLIENT.get("/openapi.json").json()
JOBS: Final = printable(DOCUMENT, large=False)
QUOTES: Final = printable(DOCUMENT, large=True)
jobs: Any = drawn(JOBS, few(JOBS))
quotes: Any = drawn(QUOTES, drawn_slowly(few(QUOTES)))


@each_operation(jobs)
def test_every_form_that_the_document_offers_is_answered(case: Any) -> None:
    assert_answered(case.path, case.body)


@each_operation(quotes)
def test_every_form_of_a_quote_is_answered(case: Any) -> None:
    # Where nothing is said the customer's paper is printed, which does not tell everything.
    assert_answered(case.path, {**case.body, "sheet": {**case.body.get("sheet", {}), "for": "record"}})


def assert_answered(path: str, body: Any) -> None:
    """Every form is answered as JSON is, and holds what that says."""
    content = json.dumps(body).encode()
    plain = CLIENT.post(path, content=content, headers={"Content-Type": "application/json"})
    for form in DOCUMENT["paths"][path]["post"]["responses"]["200"]["content"]:
        headers = {"Content-Type": "application/json", "Accept": form}
        reply = CLIENT.post(path, content=content, headers=headers)
        if is_no_paper(reply):
            assert plain.status_code in (200, 422)
            assert form in (HTML, PDF)
            continue
        if is_nowhere(reply):
            assert form == GEOJSON
            continue
        if (rows := rows_too_many(reply)) is not None:
            assert form in (HTML, PDF)
            assert plain.status_code == 200
            assert rows > MOST_ROWS
            continue
        assert reply.status_code == plain.status_code, reply.text
        if reply.status_code == 200:
            ANSWERED[path, form] += 1
            assert reply.headers["content-type"].partition(";")[0] == form
            if has_record(body):
                assert_holds(plain.json(), reply.content, form)


def is_no_paper(reply: Any) -> bool:
    """Whether a paper was asked for that the study does not have."""
    return bool(reply.status_code == 422 and reply.json()["code"] == "paper-not-offered")


def is_nowhere(reply: Any) -> bool:
    """Whether a map was asked for of places without longitude and latitude."""
    return bool(reply.status_code == 422 and reply.json()["code"] == "places-without-position")


def rows_too_many(reply: Any) -> int | None:
    """The rows that a sheet would have, where that is more than are printed."""
    if reply.status_code != 422:
        return None
    told = re.match(r"The sheet has (\d+) rows", reply.json()["detail"])
    return None if told is None else int(told[1])


def has_record(body: Any) -> bool:
    """Whether the paper that says everything is among those that are asked for."""
    return "record" in body.get("sheet", {}).get("for", ["record"])


def assert_holds(answer: Any, content: bytes, form: str) -> None:
    """A sheet holds every quantity of the answer; a drawing is whole."""
    if form == SVG:
        assert ET.fromstring(content).tag.endswith("svg")  # noqa: S314  # our own drawing
    if form not in (HTML, PDF):
        return
    text = Page(content).text if form == HTML else "\n".join(pdf_pages(content))
    shown = numbers_in(text)
    assert [number for number in quantities(answer) if not is_printed(number, shown)] == []


def test_many_answers_were_compared() -> None:
    # This runs last; of what was not asked before it has nothing to say.
    for document, least in ((JOBS, 40), (QUOTES, 2)):
        answered = [sum(ANSWERED[path, form] for path in document["paths"]) for form in (HTML, PDF)]
        assert not any(answered) or min(answered) >= least, ANSWERED
