"""Clients generated from the committed document pass a type checker, and then do the main job."""

import json
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.clients import served
from tests.load.replica import ROOT

DOCUMENT = ROOT / "openapi" / "openapi.json"
PATH = "/v1/voltage-drop"


def example_requests() -> dict[str, dict[str, Any]]:
    """Return every example of a request body, by path and name."""
    paths = json.loads(DOCUMENT.read_bytes())["paths"]
    return {
        path: {name: example["value"] for name, example in body.get("examples", {}).items()}
        for path, operations in paths.items()
        for operation in operations.values()
        for body in operation.get("requestBody", {}).get("content", {}).values()
    }


def jobs() -> dict[str, Any]:
    """Return the jobs to send, by name; `island` fits the schema and is refused all the same."""
    island = json.loads((ROOT / "openapi" / "examples" / "voltage_drop_island.json").read_bytes())
    return {**example_requests()[PATH], "island": island}


HERE = Path(__file__).parent
NO_NETWORK = ("ENOTFOUND", "EAI_AGAIN", "ECONNREFUSED", "ECONNRESET", "ETIMEDOUT", "ENETUNREACH")


def run(*command: str, folder: Path) -> str:
    """Run a command in a folder and return what it printed."""
    ended = subprocess.run(  # noqa: S603  # tools that the lock files name
        command, cwd=folder, capture_output=True, text=True, timeout=120, check=False
    )
    assert ended.returncode == 0, f"{command[0]}\n{ended.stdout}{ended.stderr}"
    return ended.stdout


class Program:
    """A program that stands on a generated client: it takes an address and prints what it read.

    Parameters
    ----------
    folder : Path
        Where it runs.
    command : list of str
        How it is run.
    arguments : list of str
        What follows the address.
    """

    def __init__(self, folder: Path, command: list[str], arguments: list[str]) -> None:
        self._folder = folder
        self._command = command
        self._arguments = arguments

    def ask(self, address: str) -> Any:
        return json.loads(run(*self._command, address, *self._arguments, folder=self._folder))


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    with served.served() as here:
        yield here


@pytest.fixture(scope="module")
def python_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the generated Python client and what uses it."""
    folder: Path = tmp_path_factory.mktemp("client") / "python"
    shutil.copytree(HERE / "python", folder)
    generator = [sys.executable, "-m", "openapi_python_client", "generate", "--fail-on-warning"]
    choices = ["--config", "generator.yml", "--meta", "none", "--output-path", "lastlamp_client"]
    run(*generator, "--path", str(DOCUMENT), *choices, folder=folder)
    for name, job in jobs().items():
        (folder / f"{name}.json").write_text(json.dumps(job), encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def typescript_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the generated TypeScript types and what uses them, checked and compiled."""
    if shutil.which("node") is None or shutil.which("npm") is None:
        pytest.skip("Needs node and npm, and this machine lacks one of them.")
    folder: Path = tmp_path_factory.mktemp("client") / "typescript"
    shutil.copytree(HERE / "typescript", folder, ignore=shutil.ignore_patterns("node_modules"))
    install_packages(folder)
    shutil.copy(DOCUMENT, folder / "openapi.json")
    (folder / "examples.ts").write_text(typed_examples(), encoding="utf-8")
    run("npm", "run", "--silent", "generate", folder=folder)
    run("npm", "run", "--silent", "check", folder=folder)
    return folder


def install_packages(folder: Path) -> None:
    """Install what the lock names; without a network there is nothing to check with."""
    quiet = ["--ignore-scripts", "--no-audit", "--no-fund", "--fetch-retries=1"]
    command = ["npm", "ci", "--prefer-offline", *quiet]
    ended = subprocess.run(  # noqa: S603  # the lock names what is installed
        command, cwd=folder, capture_output=True, text=True, timeout=120, check=False
    )
    if ended.returncode and any(code in ended.stderr for code in NO_NETWORK):
        pytest.skip(f"npm could not reach its registry: {ended.stderr.splitlines()[0]}")
    assert ended.returncode == 0, ended.stderr


def typed_examples() -> str:
    """Write the example requests as TypeScript literals, each checked against the body of its path."""
    examples = {**example_requests(), PATH: jobs()}
    bodies = "".join(f'  "{path}": Record<string, Body<"{path}">>;\n' for path in examples)
    return (
        'import type { paths } from "./contract.js";\n'
        'type Body<P extends keyof paths> = NonNullable<paths[P]["post"]>["requestBody"]'
        '["content"]["application/json"];\n'
        f"export const examples: {{\n{bodies}}} = {json.dumps(examples, indent=1)};\n"
    )


@pytest.fixture(params=["python", "typescript"])
def program(request: pytest.FixtureRequest) -> Program:
    folder = request.getfixturevalue(f"{request.param}_folder")
    if request.param == "python":
        return Program(folder, [sys.executable, "driver.py"], [f"{name}.json" for name in jobs()])
    return Program(folder, ["node", "out/main.js"], [])


def plain_answers(address: str) -> dict[str, Any]:
    """Ask without a client: what the programs must have read."""
    return {
        name: json.loads(served.send(address, PATH, json.dumps(job).encode())[2])
        for name, job in jobs().items()
    }


def test_the_python_client_and_its_use_pass_a_strict_type_check(python_folder: Path) -> None:
    checker = [sys.executable, "-m", "mypy", "--config-file=", "--strict", "--warn-unreachable"]
    run(*checker, "lastlamp_client", "driver.py", "refused.py", "round_trip.py", folder=python_folder)


def test_the_python_client_loses_nothing_of_the_examples_in_the_document(python_folder: Path) -> None:
    *lost, count = run(sys.executable, "round_trip.py", str(DOCUMENT), folder=python_folder).splitlines()
    assert lost == []
    assert int(count) > 20


def test_the_typescript_types_and_their_use_pass_a_strict_type_check(typescript_folder: Path) -> None:
    # The check is part of making the folder; the compiler writes nothing when it finds an error.
    assert (typescript_folder / "out" / "main.js").is_file()
    assert (typescript_folder / "out" / "refused.js").is_file()


def test_a_client_reads_what_the_service_says(program: Program, address: str) -> None:
    answers = program.ask(address)["answers"]
    assert set(answers) == {"own", *jobs()}
    for name, said in plain_answers(address).items():
        if "status" in said and isinstance(said["status"], str):
            assert answers[name]["status"] == said["status"]
            assert [row[0] for row in answers[name]["findings"]] == [row["code"] for row in said["findings"]]
            assert answers[name]["assumptions"] == [row["code"] for row in said["assumptions"]]
            lamps = [row["voltage"]["value"] for row in said["fixtures"]]
            assert answers[name].get("volts", []) == lamps


def test_a_client_tells_the_answers_apart(program: Program, address: str) -> None:
    printed = program.ask(address)
    answers = printed["answers"]
    assert answers["runs"]["status"] == "solved"
    assert 0 < answers["no-operating-point"]["could_carry"] < 1
    assert answers["island"]["code"] == "wiring-invalid"
    assert "/wiring/fixtures/0/point" in answers["island"]["pointers"]
    assert printed["labels"]["runs"] == [6, 3]
    assert "12 AWG" in printed["conductors"]


def test_a_job_written_in_the_types_of_a_client_is_answered(program: Program, address: str) -> None:
    own = program.ask(address)["answers"]["own"]
    assert own["terminal"] == 12  # no winding was given, so the voltage does not sag
    assert len(own["volts"]) == 3
    assert own["volts"] == sorted(own["volts"], reverse=True)


def test_a_client_asks_for_less_and_reads_what_is_left(program: Program, address: str) -> None:
    printed = program.ask(address)
    volts = printed["answers"]["own"]["volts"]
    assert printed["short"] == {"detail": "fixtures", "volts": volts, "fixtures": 0, "spans": 0}


def test_a_client_of_today_reads_the_replies_of_a_later_version(program: Program, address: str) -> None:
    with served.served_by_a_later_version(address) as later:
        today, grown = program.ask(address), program.ask(later)
    for name, answer in today["answers"].items():
        if "findings" in answer:
            unknown = [served.LATER_FINDING["code"], "remark", ""]
            assert grown["answers"][name]["findings"] == [unknown, *answer["findings"]]
            assert grown["answers"][name]["assumptions"] == [*answer["assumptions"], "moon-is-new"]
            assert grown["answers"][name].get("volts") == answer.get("volts")
        else:
            assert grown["answers"][name] == answer
    assert grown["conductors"] == today["conductors"]
