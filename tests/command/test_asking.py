"""`ask` answers as the service does: the same bytes, the same refusals, and a code for programs."""

import json
import re
import subprocess
import sys
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from service.app import build
from service.command.asking import answer_to
from service.settings import Settings
from service.studies import STUDIES
from tests.client import Client

ROOT = Path(__file__).parents[2]
EXAMPLES = ROOT / "openapi" / "examples"
PASSES, FAILS = EXAMPLES / "voltage_drop.json", EXAMPLES / "voltage_drop_no_operating_point.json"
REFUSED = EXAMPLES / "voltage_drop_island.json"
LEAST_BODY = 1_024
FORMS = [
    (name, example.file, media_type)
    for name, study in STUDIES.items()
    for example in study.description.examples
    if example.file is not None
    for media_type in study.forms
]


@pytest.fixture(scope="module")
def client() -> Client:
    return Client(build(Settings(maximum_body_bytes=LEAST_BODY * 64)))


def run(*arguments: str, job: bytes = b"", folder: Path = ROOT, **settings: str) -> Any:
    return subprocess.run(  # noqa: S603  # our own module
        [sys.executable, "-m", "service", "ask", *arguments],
        cwd=folder,
        input=job,
        env={"PATH": "/usr/bin:/bin", "PYTHONPATH": str(ROOT), **settings},
        capture_output=True,
        timeout=60,
        check=False,
    )


def without_id(content: bytes) -> Any:
    problem = json.loads(content)
    return {**problem, "request_id": None}


@cache
def is_failed(study: str, body: bytes) -> bool:
    """Whether the answer in JSON says that a job fails."""
    answer = json.loads(answer_to(study, body, "application/json", LEAST_BODY * 64).content)
    return bool(answer.get("summary", {}).get("verdict") == "fails")


@pytest.mark.parametrize(("study", "file", "media_type"), FORMS)
def test_every_example_in_every_form_is_what_the_service_sends(
    client: Client, study: str, file: str, media_type: str
) -> None:
    body = (EXAMPLES / file).read_bytes()
    sent = client.post(
        f"/v1/{study}", content=body, headers={"Content-Type": "application/json", "Accept": media_type}
    )
    answer = answer_to(study, body, media_type, LEAST_BODY * 64)
    assert answer.is_answer == (sent.status_code == 200)
    if answer.is_answer:
        assert answer.content == sent.content
        assert answer.exit_code == is_failed(study, body)
    else:
        assert without_id(answer.content) == without_id(sent.content)
        assert answer.exit_code == 2


@pytest.mark.parametrize(
    ("body", "code"),
    [
        (b"", "empty-body"),
        (b"[", "malformed-json"),
        (b"\xff", "not-utf-8"),
        (b"\xef\xbb\xbf{}", "byte-order-mark"),
        (b'{"supply": 12, "extra": null}', "request-invalid"),
        (b" " * (LEAST_BODY * 64 + 1), "body-too-large"),
        (REFUSED.read_bytes(), "wiring-invalid"),
    ],
)
def test_what_the_service_refuses_is_refused_alike(client: Client, body: bytes, code: str) -> None:
    sent = client.post("/v1/voltage-drop", content=body, headers={"Content-Type": "application/json"})
    answer = answer_to("voltage-drop", body, "application/json", LEAST_BODY * 64)
    assert without_id(answer.content) == without_id(sent.content)
    assert (json.loads(answer.content)["code"], answer.exit_code) == (code, 2)


def test_an_error_that_nobody_foresaw_is_a_fault_and_shows_where(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setitem(STUDIES, "reach", STUDIES["reach"]._replace(answer=broken))
    answer = answer_to("reach", (EXAMPLES / "reach.json").read_bytes(), "application/json", LEAST_BODY * 64)
    assert (answer.exit_code, json.loads(answer.content)["code"]) == (70, "internal-error")
    assert "ZeroDivisionError" in json.dumps(list(answer.faults))


@pytest.mark.parametrize(("job", "code"), [(PASSES, 0), (FAILS, 1), (REFUSED, 2)])
def test_the_exit_code_says_whether_the_job_passes(job: Path, code: int) -> None:
    ended = run("voltage-drop", str(job))
    assert ended.returncode == code
    # A file for the answer never holds a problem.
    assert bool(ended.stdout) == (code != 2)
    assert bool(ended.stderr) == (code == 2)


def test_a_dash_reads_standard_input_and_a_form_is_written_as_bytes() -> None:
    ended = run("voltage-drop", "-", "--pdf", job=PASSES.read_bytes())
    assert (ended.returncode, ended.stdout[:5], ended.stderr) == (0, b"%PDF-", b"")


def test_standard_input_that_is_closed_is_an_empty_job_and_no_fault() -> None:
    command = f"'{sys.executable}' -m service ask reach - <&-"
    ended = subprocess.run(["/bin/sh", "-c", command], cwd=ROOT, capture_output=True, timeout=60, check=False)  # noqa: S603  # our own module
    assert (ended.returncode, json.loads(ended.stderr)["code"]) == (2, "empty-body")


def test_where_a_study_has_not_a_form_those_that_it_has_are_named() -> None:
    ended = run("reach", str(EXAMPLES / "reach.json"), "--csv")
    assert (ended.returncode, ended.stdout) == (64, b"")
    assert (
        ended.stderr == b"The study reach has no form --csv. It has: --html, --pdf; JSON without an option.\n"
    )


@pytest.mark.parametrize(
    "arguments",
    [
        [],
        ["voltage-drop"],
        ["voltage-drop", "no-such-file.json"],
        ["voltage-drop", "."],
        ["voltage-drop", str(PASSES), "--loud"],
        ["voltage-drop", str(PASSES), "--pdf", "--html"],
        ["voltage_drop", str(PASSES)],
        ["batch", str(PASSES)],
    ],
)
def test_arguments_that_cannot_be_used_end_with_64_and_without_an_answer(arguments: list[str]) -> None:
    ended = run(*arguments)
    assert (ended.returncode, ended.stdout) == (64, b"")
    assert ended.stderr
    assert b"Traceback" not in ended.stderr


def test_a_setting_that_does_not_read_ends_with_64_because_2_is_a_refusal() -> None:
    assert run("voltage-drop", str(PASSES), LASTLAMP_LOG_LEVEL="loud").returncode == 64


def test_an_answer_that_cannot_be_written_is_a_fault_and_no_verdict() -> None:
    with Path("/dev/full").open("wb") as full:
        ended = subprocess.run(  # noqa: S603  # our own module
            [sys.executable, "-m", "service", "ask", "voltage-drop", str(PASSES)],
            cwd=ROOT,
            stdout=full,
            stderr=subprocess.PIPE,
            timeout=60,
            check=False,
        )
    assert ended.returncode == 70
    assert ended.stderr == b"What was asked for cannot be written: no space left on device.\n"


def test_the_commands_of_the_readme_do_what_it_says(tmp_path: Path) -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    (tmp_path / "openapi").symlink_to(ROOT / "openapi")
    commands = re.findall(r"^\.venv/bin/lastlamp .*$", readme, re.MULTILINE)
    assert {command.split()[1] for command in commands} == {"ask", "mcp", "new-key"}
    for command in commands:
        # What serves on standard input ends with it, at once.
        here = command.replace(".venv/bin/lastlamp", f"PYTHONPATH='{ROOT}' '{sys.executable}' -m service", 1)
        subprocess.run(  # noqa: S603  # our own document
            ["/bin/sh", "-euc", here],
            cwd=tmp_path,
            input=b"",
            check=True,
            capture_output=True,
            timeout=60,
        )
    assert (tmp_path / "garden.pdf").read_bytes().startswith(b"%PDF-")
    keys = (tmp_path / "keys.toml").read_text(encoding="utf-8")
    assert keys.count("sha256 = ") == 2
