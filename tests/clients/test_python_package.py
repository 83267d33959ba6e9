"""The package for Python is built from the committed document, installed alone, type-checked and run."""

import json
import os
import re
import shutil
import subprocess
import sys
import zipfile
from collections.abc import Iterator
from email.parser import Parser
from pathlib import Path
from typing import Any

import pytest

from service import __version__
from tests.alone import alone_at
from tests.clients import garden, served
from tests.load.replica import ROOT

HERE = Path(__file__).parent
README = ROOT / "deploy" / "clients" / "python" / "README.md"
LOCK = ROOT / "deploy" / "requirements-clients.txt"
NO_NETWORK = ("NewConnectionError", "ConnectTimeoutError", "NameResolutionError")


def run(*command: str, folder: Path) -> str:
    ended = subprocess.run(  # noqa: S603  # our own script, and tools that the lock files name
        command, cwd=folder, capture_output=True, text=True, timeout=300, check=False
    )
    if ended.returncode and any(code in ended.stderr for code in NO_NETWORK):
        pytest.skip(f"pip could not reach its index: {ended.stderr.splitlines()[0]}")
    assert ended.returncode == 0, f"{command}\n{ended.stdout}{ended.stderr}"
    return ended.stdout


@pytest.fixture(scope="module")
def package(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("package")
    with alone_at(ROOT / ".venv-clients"):
        run("sh", "deploy/clients/build", str(folder), "python", folder=ROOT)
    return folder / f"lastlamp_client-{__version__}-py3-none-any.whl"


@pytest.fixture(scope="module")
def office(package: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of somebody else, with an environment that has the package and what it stands on."""
    folder = tmp_path_factory.mktemp("office")
    run(sys.executable, "-m", "venv", "environment", folder=folder)
    locked = re.findall(r"^[a-z0-9-]+==[^ \\]+", LOCK.read_text(encoding="utf-8"), re.MULTILINE)
    (folder / "constraints.txt").write_text("\n".join(locked), encoding="utf-8")
    install = ["-m", "pip", "install", "--quiet", "--disable-pip-version-check", "--only-binary", ":all:"]
    run(python(folder), *install, "--constraint", "constraints.txt", str(package), folder=folder)
    shutil.copy(HERE / "package" / "using.py", folder)
    programs = re.findall(
        r"^```python\n(.*?)^```", README.read_text(encoding="utf-8"), re.DOTALL | re.MULTILINE
    )
    for name, program in zip(("first", "garden"), programs, strict=True):
        (folder / f"{name}.py").write_text(program, encoding="utf-8")
    garden.lay_out(folder)
    return folder


def python(folder: Path) -> str:
    return str(folder / "environment" / "bin" / "python")


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    with served.served() as here:
        yield here


def used(office: Path, address: str, jitter: str = "0") -> Any:
    return json.loads(run(python(office), "-W", "error", "using.py", address, jitter, folder=office))


def test_the_package_has_the_version_of_the_document_and_needs_two_packages(package: Path) -> None:
    with zipfile.ZipFile(package) as archive:
        names = set(archive.namelist())
        described = archive.read(f"lastlamp_client-{__version__}.dist-info/METADATA").decode()
    metadata = Parser().parsestr(described)
    assert metadata["Version"] == __version__
    needed = [re.split(r"[^a-z]", each)[0] for each in metadata.get_all("Requires-Dist", ())]
    assert sorted(needed) == ["attrs", "httpx"]
    assert {f"lastlamp_client/{name}" for name in ("py.typed", "service.py", "connection.py")} <= names
    assert {name.split("/")[0] for name in names} == {
        "lastlamp_client",
        f"lastlamp_client-{__version__}.dist-info",
    }


def test_the_package_and_the_programs_of_its_readme_pass_a_strict_type_check(office: Path) -> None:
    checker = [sys.executable, "-m", "mypy", "--config-file=", "--strict", "--warn-unreachable"]
    checked = [*checker, "--python-executable", python(office)]
    run(*checked, "--package", "lastlamp_client", folder=office)
    run(*checked, "first.py", "garden.py", "using.py", folder=office)


def test_an_answer_is_returned_and_a_refusal_raised_with_every_place_to_change(
    office: Path, address: str
) -> None:
    printed = used(office, address)
    assert printed["answered"].startswith("Passes")
    refused = printed["refused"]
    assert (refused["code"], refused["status"]) == ("request-invalid", 400)
    assert refused["pointers"] == ["/wirring"]
    assert refused["message"].startswith("At /wirring: ")
    assert len(refused["message"].splitlines()) == 1
    assert "12 AWG" in printed["conductors"]


def test_a_busy_service_is_asked_again_after_the_time_that_it_names(office: Path, address: str) -> None:
    with served.busy(address, 503, "0", "Thu, 01 Jan 1970 00:00:00 GMT", "1") as (here, seen):
        assert used(office, here)["answered"].startswith("Passes")
    assert len(seen) == 4 + 2
    assert {each.fields["accept"] for each in seen} == {"application/json"}
    assert {each.fields.get("authorization") for each in seen} == {None, "Bearer fern"}


def test_a_service_that_stays_busy_is_asked_as_often_as_was_said_and_no_more(
    office: Path, address: str
) -> None:
    with served.busy(address, 429, *["0"] * 4) as (here, seen):
        assert used(office, here)["answered"] == {"status": 429}
    assert len(seen) == 4 + 2


def test_who_was_refused_with_others_comes_back_at_another_time(office: Path, address: str) -> None:
    with served.busy(address, 503, "0", "1") as (here, seen):
        assert used(office, here, "0.5")["answered"].startswith("Passes")
    first, second, third = (each.at for each in seen[:3])
    # Half of a second more each time, which is the least that all of it may be.
    assert (second - first >= 0.5, third - second >= 1.5) == (True, True)


def test_what_is_asked_for_longer_than_one_waits_is_told_with_the_time(office: Path, address: str) -> None:
    with served.busy(address, 503, "31", says_why=True) as (here, _):
        printed = used(office, here)
    assert (printed["answered"]["code"], printed["answered"]["retry_after"]) == ("overloaded", 31)
    assert printed["answered"]["message"] == "Busy."
    assert printed["refused"]["retry_after"] is None


@pytest.mark.parametrize(("status", "wait"), [(503, "-"), (503, "soon"), (503, "31"), (500, "0"), (404, "0")])
def test_nothing_is_sent_again_where_nobody_said_when_or_it_would_not_help(
    office: Path, address: str, status: int, wait: str
) -> None:
    with served.busy(address, status, wait) as (here, seen):
        assert used(office, here)["answered"] == {"status": status}
    assert len(seen) == 1 + 2


def test_a_package_reads_the_replies_of_a_later_version(office: Path, address: str) -> None:
    with served.served_by_a_later_version(address) as later:
        printed = used(office, later)
    assert printed["answered"].startswith("Passes")
    assert printed["refused"]["pointers"] == ["/wirring"]


def test_the_first_program_of_its_readme_prints_each_fixture(office: Path, address: str) -> None:
    summary, *fixtures = run(python(office), "first.py", address, folder=office).splitlines()
    assert summary.startswith("Passes")
    assert [line.split(":")[0] for line in fixtures] == [
        "fixture 1 at 10 m",
        "fixture 2 at 20 m",
        "fixture 3 at 30 m",
    ]


def test_the_walk_of_its_readme_sends_what_the_garden_holds_and_tells_the_same(
    office: Path, address: str
) -> None:
    with served.busy(address, 503) as (here, seen):
        printed = run(python(office), "garden.py", here, folder=office)
    garden.assert_walked(printed, seen)


def refused(*arguments: str, path: str | None = None) -> str:
    """What the script says, which makes nothing."""
    ended = subprocess.run(  # noqa: S603  # our own script by its path, with a fixed argument
        ["/bin/sh", "deploy/clients/build", *arguments],
        cwd=ROOT,
        env={**os.environ, **({} if path is None else {"PATH": path})},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert (ended.returncode, ended.stdout) == (1, "")
    assert len(ended.stderr.splitlines()) == 1
    return ended.stderr


def test_a_package_that_nobody_makes_is_refused_with_those_that_are_made(tmp_path: Path) -> None:
    folder = tmp_path / "packages"
    for names in (["fortran"], ["python", "fortran"]):
        said = refused(str(folder), *names)
        assert said == "There is no package called fortran. There are: typescript, python, element.\n"
    assert not folder.exists()


@pytest.mark.parametrize("name", ["typescript", "python", "element"])
def test_a_package_in_the_place_of_the_folder_is_a_folder_forgotten(name: str) -> None:
    assert refused(name) == f"Name the folder first: sh deploy/clients/build FOLDER {name}\n"
    assert not (ROOT / name).exists()


@pytest.mark.parametrize("name", ["typescript", "element"])
def test_without_node_nothing_is_made_and_what_is_missing_is_named(tmp_path: Path, name: str) -> None:
    tools = tmp_path / "tools"
    tools.mkdir()
    (tools / "dirname").symlink_to(str(shutil.which("dirname")))
    said = refused(str(tmp_path / "packages"), "python", name, path=str(tools))
    assert said == f"The package {name} needs node and npm, and no node is on the PATH.\n"
    (tools / "node").symlink_to("/bin/true")
    said = refused(str(tmp_path / "packages"), name, path=str(tools))
    assert said == f"The package {name} needs node and npm, and no npm is on the PATH.\n"
    assert not (tmp_path / "packages").exists()
