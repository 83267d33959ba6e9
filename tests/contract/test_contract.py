"""Every operation keeps its contract, for requests that fit it and for requests that do not."""

import json
from dataclasses import replace
from typing import Any

import schemathesis
from schemathesis.config import SchemathesisConfig

from service.app import app, build
from service.document import document_bytes
from service.settings import read_settings
from tests.contract.checks import OWN_CHECKS, AnyCase
from tests.contract.configuration import valid, whole
from tests.contract.laws import LAWS, TRIED
from tests.contract.sparing import OnePlace

CHECKS = [*OWN_CHECKS, *LAWS]
MAIN_JOB = "/v1/voltage-drop"

# The tool opens the lifespan anew for each request, and a worker is not started for one.
ALONE = build(replace(read_settings({}), workers=0))


def read(document: Any, configuration: Any) -> Any:
    """Read a document for the application, which is called in process.

    This happens at import, because the fixtures that the tool offers for later do not work with pytest 9.
    """
    schema = schemathesis.openapi.from_dict(document, config=SchemathesisConfig.from_dict(configuration))
    schema.app = ALONE
    return schema


def answerable(document: Any) -> Any:
    """Keep calculations alone, and of wirings those forms that cannot contradict themselves.

    Random spans nearly always do.
    """
    wiring = document["components"]["schemas"]["Wiring"]
    wiring["oneOf"] = [option for option in wiring["oneOf"] if not option["$ref"].endswith("/SpansWiring")]
    del wiring["discriminator"]["mapping"]["spans"]
    assert len(wiring["oneOf"]) == len(wiring["discriminator"]["mapping"]) >= 2
    paths = {path: {"post": item["post"]} for path, item in document["paths"].items() if "post" in item}
    return {**document, "paths": paths}


def main_job_first(document: Any) -> Any:
    """Put the operation first of which the laws are asked, so that it meets what others share with it."""
    paths = document["paths"]
    return {**document, "paths": {MAIN_JOB: paths[MAIN_JOB], **paths}}


document = json.loads(document_bytes(app))
everything = read(main_job_first(document), whole(document))
everything.hook("filter_case")(OnePlace())
calculations = read(answerable(json.loads(document_bytes(app))), valid(document))


@everything.parametrize()  # type: ignore[untyped-decorator]  # the tool has no types here
def test_operation_keeps_its_contract(case: AnyCase) -> None:
    # Every check of the tool is on; nothing is left out.
    case.call_and_validate(additional_checks=CHECKS)


@calculations.parametrize()  # type: ignore[untyped-decorator]  # as above
def test_whatever_fits_the_schema_is_answered(case: AnyCase) -> None:
    case.call_and_validate(additional_checks=CHECKS)


def test_every_law_was_asked_of_many_jobs() -> None:
    # This runs last; alone it has nothing to say.
    if sum(TRIED.values()):
        assert min(TRIED[law] for law in ("longer", "units", "order")) >= 50, TRIED
