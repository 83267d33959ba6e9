"""Whatever is answered in JSON is answered in every other form as well, and holds the same numbers."""

import json
import xml.etree.ElementTree as ET
from collections import Counter
from typing import Any, Final

import schemathesis
from schemathesis.config import SchemathesisConfig

from service.app import app
from service.document import document_bytes
from tests.client import Client
from tests.contract.configuration import valid
from tests.contract.operations import each_operation
from tests.sheets.reading import HTML, PDF, SVG, Page, numbers_in, pdf_pages
from tests.sheets.test_same_as_json import is_printed, quantities

CLIENT: Final = Client(app)
ANSWERED: Final[Counter[str]] = Counter()


def printable(document: Any) -> Any:
    """The calculations that the document offers as a sheet.

    A random quote mostly names rows that there are not: `tests/studies/quote/test_sheet.py` has others.
    """
    paths = {
        path: {"post": item["post"]}
        for path, item in document["paths"].items()
        if "post" in item and PDF in item["post"]["responses"]["200"]["content"] and path != "/v1/quote"
    }
    assert len(paths) >= 5
    return {**document, "paths": paths}


DOCUMENT: Final = printable(json.loads(document_bytes(app)))
CONFIGURATION: Final = {
    **valid(DOCUMENT),
    "generation": {**valid(DOCUMENT)["generation"], "max-examples": 15},
}
jobs: Any = schemathesis.openapi.from_dict(DOCUMENT, config=SchemathesisConfig.from_dict(CONFIGURATION))
jobs.app = app


@each_operation(jobs)
def test_every_form_that_the_document_offers_is_answered(case: Any) -> None:
    content = json.dumps(case.body).encode()
    plain = CLIENT.post(case.path, content=content, headers={"Content-Type": "application/json"})
    for form in DOCUMENT["paths"][case.path]["post"]["responses"]["200"]["content"]:
        headers = {"Content-Type": "application/json", "Accept": form}
        reply = CLIENT.post(case.path, content=content, headers=headers)
        if is_no_paper(reply):
            assert plain.status_code in (200, 422)
            assert form in (HTML, PDF)
            continue
        assert reply.status_code == plain.status_code, reply.text
        if reply.status_code == 200:
            ANSWERED[form] += 1
            assert reply.headers["content-type"].partition(";")[0] == form
            if has_record(case.body):
                assert_holds(plain.json(), reply.content, form)


def is_no_paper(reply: Any) -> bool:
    """Whether a paper was asked for that the study does not have."""
    return bool(reply.status_code == 422 and reply.json()["code"] == "paper-not-offered")


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
    # This runs last; alone it has nothing to say.
    if ANSWERED:
        assert min(ANSWERED[HTML], ANSWERED[PDF]) >= 40, ANSWERED
