"""The gate itself: the committed document against the last release, and the command that people run."""

import json
from pathlib import Path
from typing import Any

import pytest

from tests.gate.__main__ import main
from tests.gate.accepted import ACCEPTED
from tests.gate.example import DOCUMENT, REQUEST, changed
from tests.gate.operations import breaks
from tests.gate.places import whole
from tests.gate.released import COMMITTED, RELEASED, last_released, read


def test_the_committed_document_breaks_no_client_of_the_last_release() -> None:
    released = last_released()
    if released is None:
        pytest.skip("Nothing is released yet: openapi/released has no document to compare with.")
    old, new = read(released), read(COMMITTED)
    if int(new["info"]["version"].split(".")[0]) > int(old["info"]["version"].split(".")[0]):
        pytest.skip(
            f"{new['info']['version']} is a new major version, which may break clients of {released.stem}."
        )
    assert [str(each) for each in breaks(old, new) if str(each) not in ACCEPTED] == []


def test_no_break_is_accepted_that_is_not_there() -> None:
    released = last_released()
    found = [] if released is None else breaks(read(released), read(COMMITTED))
    assert sorted(ACCEPTED.keys() - set(map(str, found))) == []


def test_every_accepted_break_has_its_reason() -> None:
    assert all(len(reason.split()) > 5 for reason in ACCEPTED.values())


def test_each_released_document_is_of_the_version_in_its_name() -> None:
    for path in RELEASED.glob("*.json"):
        assert read(path)["info"]["version"] == path.stem


def test_the_gate_finds_a_break_made_in_the_committed_document() -> None:
    old, new = read(COMMITTED), read(COMMITTED)
    new["components"]["schemas"]["LengthUnit"]["enum"].remove("yd")
    assert [each.pointer for each in breaks(old, new)] == ["/components/schemas/LengthUnit/enum"]


def test_the_gate_reaches_every_component_of_the_committed_document() -> None:
    document = read(COMMITTED)
    for name, component in document["components"]["schemas"].items():
        old = read(COMMITTED)
        old["components"]["schemas"][name] = {**component, "not": {}}
        assert any(
            each.pointer.endswith((name, "/not")) for each in [*breaks(old, document), *breaks(document, old)]
        ), name


def test_the_newest_release_is_the_last_by_number_and_not_by_spelling(tmp_path: Path) -> None:
    assert last_released(tmp_path) is None
    for version in ("0.9.0", "0.10.0"):
        (tmp_path / f"{version}.json").write_text("{}", encoding="utf-8")
    assert last_released(tmp_path) == tmp_path / "0.10.0.json"


def written(path: Path, document: Any) -> str:
    path.write_text(json.dumps(document), encoding="utf-8")
    return str(path)


def test_the_command_prints_a_sentence_for_each_break(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    new = changed((f"{REQUEST} required", ["length", "name"]), (f"{REQUEST} properties count minimum", 2))
    code = main([written(tmp_path / "old.json", DOCUMENT), written(tmp_path / "new.json", new)])
    assert code == 1
    assert capsys.readouterr().out.splitlines() == [
        (
            "/components/schemas/Wire/properties/count/minimum: "
            "A request was held to minimum 1, and is now held to 2."
        ),
        "/components/schemas/Wire: A request must now have the member name.",
    ]


def test_the_command_says_when_nothing_breaks(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    same = written(tmp_path / "same.json", DOCUMENT)
    assert main([same, same]) == 0
    assert capsys.readouterr().out == f"Nothing in {same} breaks a client of {same}.\n"


@pytest.mark.parametrize("text", ["", "[]", '{"paths": {"/x": {"get": {"$ref": "elsewhere.json"}}}}'])
def test_the_command_says_what_it_cannot_compare(
    text: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "old.json").write_text(text, encoding="utf-8")
    assert main([str(tmp_path / "old.json"), str(tmp_path / "old.json")]) == 2
    assert "cannot be compared" in capsys.readouterr().err


def test_the_command_says_how_it_is_used(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["one"]) == 2
    assert "python -m tests.gate OLD NEW" in capsys.readouterr().err


def test_a_reference_out_of_the_document_is_refused() -> None:
    with pytest.raises(ValueError, match="not within the document"):
        whole({"a": {"$ref": "other.json#/a"}}).under("a")
