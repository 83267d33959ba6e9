"""The programs in README.md send what the service takes, and those that can be run here are run."""

import json
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.clients import served
from tests.load.replica import ROOT

README = (ROOT / "README.md").read_text(encoding="utf-8")
PROGRAMS = README.split("## From your program\n")[1].split("\n## ")[0]
ADDRESS = "http://127.0.0.1:8080"
PATH = "/v1/voltage-drop"

RUN_BY = {"js": ["node"], "python": [sys.executable], "php": ["php"]}
SUFFIX = {"js": ".mjs", "python": ".py", "php": ".php"}
LANGUAGES = ["js", "python", "csharp", "php"]


def snippet(language: str) -> str:
    """Return the one program in a language."""
    [code] = re.findall(rf"^```{language}\n(.*?)^```", PROGRAMS, re.MULTILINE | re.DOTALL)
    return str(code)


def job_in(code: str) -> Any:
    """Read the job that a program sends: it stands there as JSON, whatever the language."""
    start = re.search(r'\{\s*"supply"', code)
    assert start is not None
    return json.JSONDecoder().raw_decode(code, start.start())[0]


def answer_to(address: str, code: str) -> Any:
    """Send the job that a program sends; return the reply."""
    return json.loads(served.send(address, PATH, json.dumps(job_in(code)).encode())[2])


def output(language: str, code: str, folder: Path) -> list[str]:
    """Run a program; return the lines that it wrote, wherever it wrote them."""
    if shutil.which(RUN_BY[language][0]) is None:
        pytest.skip(f"Needs {RUN_BY[language][0]}, which this machine lacks.")
    file = folder / f"ask{SUFFIX[language]}"
    file.write_text(code, encoding="utf-8")
    ended = subprocess.run(  # noqa: S603  # the program stands in our own document
        [*RUN_BY[language], str(file)], capture_output=True, text=True, timeout=30, check=False
    )
    return [*ended.stdout.splitlines(), *ended.stderr.splitlines()]


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    with served.served() as here:
        yield here


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_program_sends_the_job_of_the_last_curl_command(language: str) -> None:
    curl = README[README.rindex("\ncurl ") :]
    assert job_in(snippet(language)) == job_in(curl)


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_program_posts_json_to_the_path_that_is_served(language: str) -> None:
    code = snippet(language)
    assert re.findall(r"http://[^\"']+", code) == [ADDRESS + PATH]
    assert "application/json" in code
    assert re.search(r"POST|PostAsync|data=", code)


@pytest.mark.parametrize("media_type", ["application/json", "application/json; charset=utf-8"])
def test_the_job_is_accepted_as_each_program_announces_it(address: str, media_type: str) -> None:
    # .NET's StringContent names the charset of what it sends.
    body = json.dumps(job_in(snippet("csharp"))).encode()
    status, _, reply = served.send(address, PATH, body, media_type)
    assert status == 200
    assert json.loads(reply)["status"] == "solved"


@pytest.mark.parametrize(
    ("language", "reading"), [("csharp", r'GetProperty\("(\w+)"\)'), ("php", r"\['(\w+)'\]")]
)
def test_what_a_program_reads_is_in_the_replies(address: str, language: str, reading: str) -> None:
    # The other two are run on every machine, which says more.
    code = snippet(language)
    said, refused = answer_to(address, code), answer_to(address, code.replace('"m"', '"mile"'))
    rows = [said, said["fixtures"][0], said["fixtures"][0]["voltage"], said["findings"][0]]
    members = {name for row in [*rows, refused, refused["errors"][0]] for name in row}
    names = set(re.findall(reading, code))
    assert {"fixtures", "voltage", "findings", "errors", "pointer"} <= names <= members


@pytest.mark.parametrize("language", list(RUN_BY))
def test_a_program_prints_every_lamp_and_finding(address: str, language: str, tmp_path: Path) -> None:
    code = snippet(language).replace(ADDRESS, address)
    said = answer_to(address, code)
    lamps = [f"{row['name']}: {row['voltage']['value']} V" for row in said["fixtures"]]
    findings = [f"{row['severity']}: {row['message']}" for row in said["findings"]]
    assert len(lamps) == 3
    assert output(language, code, tmp_path) == lamps + findings


@pytest.mark.parametrize("language", list(RUN_BY))
def test_a_program_says_what_a_refused_request_must_change(
    address: str, language: str, tmp_path: Path
) -> None:
    code = snippet(language).replace(ADDRESS, address).replace('"1.5 mm2"', '"11 AWG"')
    problem = answer_to(address, code)
    [error] = problem["errors"]
    assert error["pointer"] == "/wiring/cable/conductor"
    assert output(language, code, tmp_path) == [
        f"{problem['code']}: {problem['detail']}",
        f"{error['pointer']}: {error['detail']}",
    ]


@pytest.mark.parametrize("language", list(RUN_BY))
def test_a_program_says_why_no_voltage_can_be_shown(address: str, language: str, tmp_path: Path) -> None:
    code = snippet(language).replace(ADDRESS, address).replace('"value": 30,', '"value": 900,')
    said = answer_to(address, code)
    assert said["status"] == "no-operating-point"
    findings = [f"{row['severity']}: {row['message']}" for row in said["findings"]]
    assert output(language, code, tmp_path) == findings
