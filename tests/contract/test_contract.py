"""Every operation keeps its contract, for requests that fit it and for requests that do not."""

import re
from copy import deepcopy
from dataclasses import replace
from typing import Any, Final

import schemathesis
from schemathesis import Case, HookContext
from schemathesis.config import SchemathesisConfig
from schemathesis.generation.meta import CoveragePhaseData

from service.app import app, build
from service.settings import read_settings
from tests.client import Client
from tests.contract.checks import OWN_CHECKS, AnyCase
from tests.contract.configuration import LARGE, drawn_slowly, valid, whole
from tests.contract.laws import LAWS, TRIED
from tests.contract.operations import each_operation

_STEP: Final = re.compile(r": | -> ")
_IN_LISTS: Final = ("Array with invalid items", "Single-item array")
_NAMES: Final = 3
"""So many members above a slip say what it is one in: a spool's length, a cable's other conductor."""


class OnePlace:
    """Lets a systematic case pass where its slip is tried first, whatever the operation, and nowhere else.

    All operations read their bodies by the types of the members, through one function, so that the place adds
    nothing; a change of the types does. Random cases go anywhere.
    """

    def __init__(self) -> None:
        self._first: dict[tuple[object, ...], tuple[str, str]] = {}

    def __call__(self, _context: HookContext, case: Case) -> bool:  # type: ignore[type-arg]  # schemathesis hooks take any case
        if case.meta is None or not isinstance(case.meta.phase.data, CoveragePhaseData):
            return True
        said = case.meta.phase.data
        if said.parameter != "application/json":
            return True
        place = (case.operation.label, said.description)
        slip = (case.meta.generation.mode, *_steps(said.description)[-_NAMES - 1 :])
        return self._first.setdefault(slip, place) == place


def _steps(description: str) -> list[str]:
    """The members on the way to a slip, and the slip in words."""
    return [step for step in _STEP.split(description) if step not in _IN_LISTS]


LONG = 1_000
"""Lists that may be as long as this are too long to be built for each slip."""

CHECKS = [*OWN_CHECKS, *LAWS]
MAIN_JOB = "/v1/voltage-drop"
ANSWERED_IN_SPANS = "/v1/least-cost-layout"

# The tool opens the lifespan anew for each request, and a worker is not started for one.
ALONE = build(replace(read_settings({}), workers=0))


def read(document: Any, configuration: Any) -> Any:
    """Read a document for the application, which is called in process.

    This happens at import, because the fixtures that the tool offers for later do not work with pytest 9.
    """
    schema = schemathesis.openapi.from_dict(
        without_long_lists(document), config=SchemathesisConfig.from_dict(configuration)
    )
    schema.app = ALONE
    return schema


def without_long_lists(value: Any) -> Any:
    """A document without the bounds of lists of a thousand and more, which would be met a hundred times each.

    `tests/wire/test_bounds.py` meets and misses each of them once.
    """
    if isinstance(value, list):
        return [without_long_lists(part) for part in value]
    if not isinstance(value, dict):
        return value
    return {
        name: without_long_lists(part)
        for name, part in value.items()
        if name != "maxItems" or not isinstance(part, int) or part < LONG
    }


def answerable(document: Any) -> Any:
    """Keep calculations alone, and of wirings those forms that cannot contradict themselves.

    Random spans nearly always do. What answers in spans is left out: its replies would not fit any more.
    """
    wiring = document["components"]["schemas"]["Wiring"]
    wiring["oneOf"] = [option for option in wiring["oneOf"] if not option["$ref"].endswith("/SpansWiring")]
    del wiring["discriminator"]["mapping"]["spans"]
    assert len(wiring["oneOf"]) == len(wiring["discriminator"]["mapping"]) >= 2
    paths = {
        path: {"post": item["post"]}
        for path, item in document["paths"].items()
        if "post" in item and path != ANSWERED_IN_SPANS
    }
    return {**document, "paths": paths}


def main_job_first(document: Any) -> Any:
    """Put the operation first of which the laws are asked, so that it meets what others share with it."""
    paths = document["paths"]
    return {**document, "paths": {MAIN_JOB: paths[MAIN_JOB], **paths}}


def with_paths(document: Any, *, large: bool) -> Any:
    """The operations that are drawn slowly, or all others."""
    paths = {path: item for path, item in document["paths"].items() if (path in LARGE) == large}
    return {**document, "paths": paths}


document = Client(app).get("/openapi.json").json()
every, sound = main_job_first(document), answerable(deepcopy(document))
one_place = OnePlace()
everything = read(with_paths(every, large=False), whole(document))
everything.hook("filter_case")(one_place)
large = read(with_paths(every, large=True), drawn_slowly(whole(document)))
large.hook("filter_case")(one_place)
calculations = read(with_paths(sound, large=False), valid(document))
large_calculations = read(with_paths(sound, large=True), drawn_slowly(valid(document)))


@each_operation(everything)
def test_operation_keeps_its_contract(case: AnyCase) -> None:
    # Every check of the tool is on; nothing is left out.
    case.call_and_validate(additional_checks=CHECKS)


@each_operation(large)
def test_large_operation_keeps_its_contract(case: AnyCase) -> None:
    case.call_and_validate(additional_checks=CHECKS)


@each_operation(large_calculations)
def test_whatever_is_large_and_fits_the_schema_is_answered(case: AnyCase) -> None:
    case.call_and_validate(additional_checks=CHECKS)


@each_operation(calculations)
def test_whatever_fits_the_schema_is_answered(case: AnyCase) -> None:
    case.call_and_validate(additional_checks=CHECKS)


def test_every_law_was_asked_of_many_jobs() -> None:
    # This runs last; alone it has nothing to say.
    if sum(TRIED.values()):
        assert min(TRIED[law] for law in ("longer", "units", "order")) >= 50, TRIED
