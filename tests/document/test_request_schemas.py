"""The schema of a request by itself, read by two validators that are not ours."""

import json
import subprocess
from pathlib import Path
from typing import Any

import jsonschema_rs
import pytest

from service.app import app
from service.studies import STUDIES
from tests.client import Client
from tests.deploy.files import ROOT, tool

EXAMPLES = ROOT / "openapi" / "examples"
UNFIT = EXAMPLES / "voltage_drop_unfit.json"
"""It shows what a refusal looks like, and is spoiled in every way that a schema sees."""
NAMES = [*STUDIES, "batch"]
SENT = [
    (name, EXAMPLES / example.file)
    for name, study in STUDIES.items()
    for example in study.description.examples
    if example.file is not None and EXAMPLES / example.file != UNFIT
] + [("batch", EXAMPLES / "batch.json")]
client = Client(app)


def schema(name: str) -> Any:
    reply = client.get(f"/schemas/{name}.json")
    assert reply.status_code == 200
    return reply.json()


def nodes(tree: Any) -> Any:
    yield tree
    for each in tree.values() if isinstance(tree, dict) else tree if isinstance(tree, list) else ():
        yield from nodes(each)


@pytest.mark.parametrize("name", NAMES)
def test_a_schema_is_of_draft_2020_12_and_refers_to_nothing_outside(name: str) -> None:
    found = schema(name)
    assert found["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert found["$id"] == f"/schemas/{name}.json"
    assert jsonschema_rs.meta.is_valid(found)
    targets = {node["$ref"] for node in nodes(found) if isinstance(node, dict) and "$ref" in node}
    assert targets == {f"#/$defs/{each}" for each in found["$defs"]}
    assert "#/components" not in json.dumps(found)


@pytest.mark.parametrize("name", NAMES)
def test_every_list_of_names_in_a_schema_has_a_name(name: str) -> None:
    found = schema(name)
    unnamed = [node for node in nodes(found) if isinstance(node, dict) and isinstance(node.get("enum"), list)]
    assert all(node in found["$defs"].values() for node in unnamed)


@pytest.mark.parametrize(("name", "file"), SENT, ids=lambda each: getattr(each, "stem", each))
def test_every_example_fits_the_schema_of_its_study(name: str, file: Path) -> None:
    validator = jsonschema_rs.Draft202012Validator(schema(name))
    job = json.loads(file.read_bytes())
    assert [error.message for error in validator.iter_errors(job)] == []
    for spoiled in ({**job, "unheard_of": 1}, {each: job[each] for each in list(job)[1:]} | {"id": 7}):
        assert not validator.is_valid(spoiled)


def test_a_quantity_has_the_bounds_of_its_unit_there_too() -> None:
    validator = jsonschema_rs.Draft202012Validator(schema("voltage-drop"))
    job = json.loads((EXAMPLES / "voltage_drop_even.json").read_bytes())
    for length, fits in (({"value": 50, "unit": "m"}, True), ({"value": 5e9, "unit": "m"}, False)):
        assert validator.is_valid({**job, "wiring": {**job["wiring"], "length": length}}) == fits


def test_another_validator_reads_a_schema_as_a_build_would_check_a_job(tmp_path: Path) -> None:
    file = tmp_path / "voltage-drop.json"
    file.write_text(json.dumps(schema("voltage-drop")), encoding="utf-8")
    jobs = [path for name, path in SENT if name == "voltage-drop"]
    for instances, code in ((jobs, 0), ([UNFIT], 1)):
        command = [tool("check-jsonschema"), "--schemafile", str(file), *map(str, instances)]
        ended = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)  # noqa: S603  # a tool of the tests
        assert ended.returncode == code, ended.stdout + ended.stderr


def test_a_schema_can_be_kept_and_is_there_under_no_other_name() -> None:
    reply = client.get("/schemas/reach.json")
    again = client.get("/schemas/reach.json", headers={"If-None-Match": reply.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")
    for name in ("reach", "no.json", "get_drop_chart.json", ".json", "..%2freach.json"):
        refused = client.get(f"/schemas/{name}")
        assert (refused.status_code, refused.headers["content-type"]) == (404, "application/problem+json")
