"""Two linters that are not ours read the committed document, and notice the house rules broken."""

import json
import os
import subprocess
from pathlib import Path
from typing import Any

import pytest

from tests.lint.document import (
    COMMITTED,
    document,
    showing_nothing,
    with_number,
    with_plain_refusal,
    without,
)
from tests.lint.house_rules import WORDS
from tests.node import installed

FOLDER = Path(__file__).parent
RULES = COMMITTED.parent / "lint"
# The linter would otherwise report its use to its makers and look for newer versions.
QUIET = {"REDOCLY_TELEMETRY": "off", "REDOCLY_SUPPRESS_UPDATE_NOTICE": "true"}


def run(*command: str | Path) -> Any:
    done = subprocess.run(  # noqa: S603  # a linter of the lock, on files of ours
        [*map(str, command)],
        cwd=FOLDER,
        env={**os.environ, **QUIET},
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    assert done.stdout.strip(), done.stderr
    return json.JSONDecoder().raw_decode(done.stdout.lstrip())[0]


def spectral(*paths: Path) -> list[Any]:
    command = installed(FOLDER) / "spectral"
    return list(
        run(command, "lint", *paths, "--ruleset", RULES / "spectral.yaml", "--format", "json", "--quiet")
    )


def redocly(path: Path) -> set[str]:
    command = installed(FOLDER) / "redocly"
    found = run(command, "lint", path, "--config", RULES / "redocly.yaml", "--format", "json")
    return {
        f"{item['ruleId']}: {item['message']} {item['location'][0].get('pointer')}"
        for item in found["problems"]
    }


def test_spectral_finds_nothing() -> None:
    assert spectral(COMMITTED) == []


def test_redocly_finds_nothing() -> None:
    assert redocly(COMMITTED) == set()


SOUND = "sound"
SPOILED = {
    "bare": (with_number("loss", "number"), "number-is-a-quantity-or-says-what-it-is"),
    "counted": (with_number("cable_length", "integer"), "number-is-a-quantity-or-says-what-it-is"),
    "plain": (with_plain_refusal(), "refusal-is-a-problem"),
    "untitled": (without("summary"), "operation-has-a-summary"),
    "untagged": (without("tags"), "operation-has-one-tag"),
    "unnamed": (without("operationId"), "operation-has-a-name"),
    "silent": (showing_nothing(), "operation-shows-an-example"),
}


@pytest.fixture(scope="module")
def noticed(tmp_path_factory: pytest.TempPathFactory) -> set[tuple[str, str]]:
    """Lint all spoiled documents at once, since starting the linter takes longer than linting."""
    folder = tmp_path_factory.mktemp("spoiled")
    written = {SOUND: document(), **{name: spoiled for name, (spoiled, _) in SPOILED.items()}}
    for name, each in written.items():
        (folder / f"{name}.json").write_text(json.dumps(each), encoding="utf-8")
    found = spectral(*sorted(folder.glob("*.json")))
    return {(Path(item["source"]).stem, item["code"]) for item in found}


def test_spectral_finds_nothing_in_what_is_not_spoiled(noticed: set[tuple[str, str]]) -> None:
    assert SOUND not in {name for name, _ in noticed}


@pytest.mark.parametrize("name", SPOILED)
def test_spectral_notices_a_house_rule_broken(name: str, noticed: set[tuple[str, str]]) -> None:
    assert (name, SPOILED[name][1]) in noticed


def test_redocly_notices_a_refusal_that_is_no_problem(tmp_path: Path) -> None:
    path = tmp_path / "openapi.json"
    path.write_text(json.dumps(with_plain_refusal()), encoding="utf-8")
    assert any(line.startswith("operation-4xx-problem-details-rfc7807:") for line in redocly(path))


def test_both_kinds_of_rules_let_the_same_numbers_pass() -> None:
    assert f"words: [{', '.join(sorted(WORDS))}]" in (RULES / "spectral.yaml").read_text(encoding="utf-8")
