"""What the published schemas refuse is refused at the same places, and what they take is taken."""

import copy
import os
from typing import Any, Final

import pytest
from jsonschema_rs import Draft202012Validator

from service.studies import STUDIES
from tests.intake import oracle

COUNT: Final = int(os.environ.get("ORACLE_REQUESTS", "2400"))
SEEDS: Final = range(4)

PAIRS: Final = ("e\u0301", "\U0001f4a1", "\u200d")
"""A letter with a combining accent, a character of two UTF-16 units, a joiner: 2, 1 and 1 code points."""


@pytest.mark.parametrize("seed", SEEDS)
def test_changed_examples_are_refused_at_the_same_places_as_by_the_published_schemas(seed: int) -> None:
    result = oracle.tried(COUNT // len(SEEDS), seed)
    assert result.differences == []
    assert min(result.taken, result.refused) > COUNT // len(SEEDS) // 10


def test_every_calculation_is_tried_with_every_example_of_it() -> None:
    every = oracle.studies()
    assert {each.path for each in every} == {f"/v1/{name}" for name in STUDIES}
    for study in every:
        assert study.examples
        assert any(not oracle.published_places(study, example) for example in study.examples)


@pytest.mark.parametrize("study", oracle.studies(), ids=lambda study: study.path)
def test_every_example_is_judged_alike(study: oracle.Study) -> None:
    for example in study.examples:
        assert oracle.difference(study, example) is None


def narrowed(study: oracle.Study, component: str, **keywords: Any) -> oracle.Study:
    """The same study as if the document said something else of one component."""
    document = copy.deepcopy(oracle.DOCUMENT)
    document["components"]["schemas"][component].update(keywords)
    media = document["paths"][study.path]["post"]["requestBody"]["content"]["application/json"]
    schema = {**media["schema"], "components": document["components"]}
    return study._replace(validator=Draft202012Validator(schema))


def test_a_difference_is_found() -> None:
    study = next(each for each in oracle.studies() if each.path == "/v1/voltage-drop")
    length = copy.deepcopy(oracle.DOCUMENT["components"]["schemas"]["Length"])
    length["properties"]["value"]["maximum"] = 1
    spoiled = narrowed(study, "Length", properties=length["properties"])
    found = [oracle.difference(spoiled, example) for example in study.examples]
    assert any(each and each.published and not each.ours for each in found)


def test_a_refusal_of_ours_alone_is_found() -> None:
    study = next(each for each in oracle.studies() if each.path == "/v1/voltage-drop")
    request = {**study.examples[0], "extra": 1}
    spoiled = narrowed(study, "VoltageDropRequest", additionalProperties=True)
    found = oracle.difference(spoiled, request)
    assert found is not None
    assert found.ours == ["/extra"]


@pytest.mark.parametrize("character", PAIRS)
@pytest.mark.parametrize("length", [63, 64, 65, 120, 121])
def test_lengths_of_texts_count_code_points(character: str, length: int) -> None:
    study = next(each for each in oracle.studies() if each.path == "/v1/drop-chart")
    text = (character * length)[:length]
    for member in ({"title": text}, {"sheet": {"title": text}}, {"sheet": {"lines": [text]}}):
        request = {**study.examples[0], **member}
        assert oracle.difference(study, request) is None
        most = 120 if "sheet" in member else 64
        assert bool(oracle.published_places(study, request)) is (length > most)
