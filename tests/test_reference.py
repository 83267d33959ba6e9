"""The reference in Markdown says what the document says, all of it and nothing else."""

import json
import re
from pathlib import Path
from typing import Any

import pytest

from deploy.reference import DOCUMENT, main, reference
from tests.document.reading import operations

COMMITTED = DOCUMENT.parent / "REFERENCE.md"
RENEW = "python deploy/reference.py > openapi/REFERENCE.md"


@pytest.fixture(scope="module")
def document() -> Any:
    return json.loads(DOCUMENT.read_bytes())


@pytest.fixture(scope="module")
def text(document: Any) -> str:
    return reference(document)


def part(text: str, title: str) -> str:
    """The lines from a heading to the next of its rank."""
    rank = title[: title.index(" ") + 1]
    return text.partition(f"\n{title}\n")[2].partition(f"\n{rank}")[0]


def test_the_committed_reference_is_the_one_written_from_the_committed_document(
    capfdbinary: pytest.CaptureFixture[bytes],
) -> None:
    assert main([]) == 0
    same = COMMITTED.is_file() and COMMITTED.read_bytes() == capfdbinary.readouterr().out
    assert same, f"The document changed. Renew the reference with: {RENEW}"


def test_every_operation_stands_with_its_address_and_every_status(document: Any, text: str) -> None:
    for path, item in document["paths"].items():
        for method, said in item.items():
            written = part(text, f"### {said['summary']}")
            assert f"`{method.upper()} {path}`" in written
            for status in said["responses"]:
                assert f"\n- `{status}` " in written


def test_every_member_of_every_type_stands_in_its_table(document: Any, text: str) -> None:
    for name, schema in document["components"]["schemas"].items():
        written = part(text.partition(f'<a id="type-{name}"></a>')[2], f"### {name}")
        for member in schema.get("properties", {}):
            needed = "required" if member in schema.get("required", ()) else ""
            assert f"| `{member}` | {needed} | " in written, (name, member)
        for tag in schema.get("discriminator", {}).get("mapping", {}):
            assert f"- `{tag}`: " in written


def test_a_quantity_is_shown_with_its_bounds_and_units(text: str) -> None:
    assert (
        "| `length` | required | [Length](#type-Length), 0 to 100000 in `m`, or as much in `cm`, `mm`" in text
    )
    assert "\nBounds of the quantity: 0 to 100000 in `m`; 0 to 10000000 in `cm`; " in text


def test_every_problem_of_an_operation_is_named(document: Any, text: str) -> None:
    [said] = [each.operation for each in operations(document) if each.label == "POST /v1/voltage-drop"]
    codes = re.findall(r"`([a-z-]+)`: ", "".join(each["description"] for each in said["responses"].values()))
    assert {"request-invalid", "wiring-invalid", "body-too-large"} <= set(codes)
    for code in codes:
        assert f"`{code}`: " in part(text, f"### {said['summary']}")


def test_examples_are_json_and_those_of_the_document(document: Any, text: str) -> None:
    shown = [
        json.loads(block) for block in re.findall(r"^```json\n(.*?)^```$", text, re.MULTILINE | re.DOTALL)
    ]
    bodies = [
        body
        for _, _, said in operations(document)
        for body in (said.get("requestBody", {}), *said["responses"].values())
    ]
    known = [
        example["value"]
        for body in bodies
        for media in body.get("content", {}).values()
        for example in media.get("examples", {}).values()
    ]
    assert len(shown) > len(document["paths"])
    assert all(example in known for example in shown)


def test_every_link_leads_to_an_anchor(text: str) -> None:
    wanted = set(re.findall(r"\]\(#([^)]+)\)", text))
    anchors = {*re.findall(r'<a id="([^"]+)">', text), "patterns"}
    assert wanted <= anchors


def test_no_line_ends_in_a_space_and_no_two_empty_lines_meet(text: str) -> None:
    assert not re.search(r"[ \t]$|\n\n\n", text, re.MULTILINE)
    assert text.endswith("`\n")


def test_the_reference_follows_the_document(document: Any, tmp_path: Path, text: str) -> None:
    changed = json.loads(json.dumps(document))
    changed["components"]["schemas"]["MainsVoltage"]["properties"]["value"]["maximum"] = 7
    assert "[MainsVoltage](#type-MainsVoltage), 1 to 7 in " in reference(changed)
    assert reference(document) == text
    other = tmp_path / "other.json"
    other.write_text(json.dumps(document), encoding="utf-8")
    assert reference(json.loads(other.read_bytes())) == text
