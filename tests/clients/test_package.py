"""The package for TypeScript is built from the committed document, installed, type-checked and run."""

import json
import re
import shutil
import subprocess
import tarfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from service import __version__
from tests.clients import garden, served
from tests.load.replica import ROOT

HERE = Path(__file__).parent
NO_NETWORK = ("ENOTFOUND", "EAI_AGAIN", "ECONNREFUSED", "ECONNRESET", "ETIMEDOUT", "ENETUNREACH")
README = ROOT / "deploy" / "clients" / "typescript" / "README.md"
TYPES = ["--strict", "--noEmitOnError", "--module", "NodeNext", "--target", "ES2022", "--types", "node"]


def run(*command: str, folder: Path) -> str:
    ended = subprocess.run(  # noqa: S603  # our own script, and tools that the lock files name
        command, cwd=folder, capture_output=True, text=True, timeout=120, check=False
    )
    if ended.returncode and any(code in ended.stderr for code in NO_NETWORK):
        pytest.skip(f"npm could not reach its registry: {ended.stderr.splitlines()[0]}")
    assert ended.returncode == 0, f"{command[0]}\n{ended.stdout}{ended.stderr}"
    return ended.stdout


@pytest.fixture(scope="module")
def package(tmp_path_factory: pytest.TempPathFactory) -> Path:
    if shutil.which("node") is None or shutil.which("npm") is None:
        pytest.skip("Needs node and npm, and this machine lacks one of them.")
    folder = tmp_path_factory.mktemp("package")
    run("sh", "deploy/clients/build", str(folder), "typescript", folder=ROOT)
    return folder / f"lastlamp-client-{__version__}.tgz"


@pytest.fixture(scope="module")
def shop(package: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A program of somebody else, with the package installed and its use compiled."""
    folder = tmp_path_factory.mktemp("shop")
    for name in ("package.json", "package-lock.json"):
        shutil.copy(HERE / "typescript" / name, folder)
    npm = ["--prefer-offline", "--ignore-scripts", "--no-audit", "--no-fund", "--silent"]
    run("npm", "ci", *npm, folder=folder)
    run("npm", "install", *npm, "--no-save", str(package), folder=folder)
    shutil.copy(HERE / "package" / "using.ts", folder)
    programs = re.findall(r"^```ts\n(.*?)^```", README.read_text(encoding="utf-8"), re.DOTALL | re.MULTILINE)
    for name, program in zip(("first", "garden"), programs, strict=True):
        (folder / f"{name}.ts").write_text(program, encoding="utf-8")
    run("npx", "--no-install", "tsc", *TYPES, "using.ts", "first.ts", "garden.ts", folder=folder)
    return folder


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    with served.served() as here:
        yield here


def used(shop: Path, address: str, jitter: str = "0") -> Any:
    return json.loads(run("node", "using.js", address, jitter, folder=shop))


def test_the_package_has_the_version_of_the_document_and_nothing_but_what_it_needs(package: Path) -> None:
    with tarfile.open(package) as archive:
        names = {name.removeprefix("package/") for name in archive.getnames()}
        manifest = json.loads(archive.extractfile("package/package.json").read())  # type: ignore[union-attr]  # it is a file
    assert names == {
        "package.json",
        "README.md",
        *(f"dist/{name}{ending}" for name in ("index", "contract") for ending in (".js", ".d.ts")),
    }
    assert (manifest["version"], "dependencies" in manifest) == (__version__, False)


def test_an_answer_is_returned_and_a_refusal_thrown_with_every_place_to_change(
    shop: Path, address: str
) -> None:
    printed = used(shop, address)
    assert printed["answered"].startswith("Passes")
    assert printed["refused"]["code"] == "request-invalid"
    assert printed["refused"]["message"].startswith("At /wirring: ")
    assert len(printed["refused"]["message"].splitlines()) == 1
    assert printed["ended"] == {"error": "over"}


def test_a_busy_service_is_asked_again_after_the_time_that_it_names(shop: Path, address: str) -> None:
    with served.busy(address, 503, "0", "Thu, 01 Jan 1970 00:00:00 GMT", "1") as (here, seen):
        assert used(shop, here)["answered"].startswith("Passes")
    assert len(seen) == 4 + 2
    assert {each.fields["accept"] for each in seen} == {"application/json"}
    assert {each.fields.get("authorization") for each in seen} == {None, "Bearer fern"}


def test_who_was_refused_with_others_comes_back_at_another_time(shop: Path, address: str) -> None:
    with served.busy(address, 503, "0", "1") as (here, seen):
        assert used(shop, here, "0.5")["answered"].startswith("Passes")
    first, second, third = (each.at for each in seen[:3])
    # Half of a second more each time, which is the least that all of it may be.
    assert (second - first >= 0.5, third - second >= 1.5) == (True, True)


def test_what_is_asked_for_longer_than_one_waits_is_told_with_the_time(shop: Path, address: str) -> None:
    with served.busy(address, 503, "31", says_why=True) as (here, _):
        printed = used(shop, here)
    assert (printed["answered"]["code"], printed["answered"]["retry_after"]) == ("overloaded", 31)
    assert printed["answered"]["message"] == "Busy."
    assert printed["refused"]["retry_after"] is None


@pytest.mark.parametrize(("status", "wait"), [(503, "-"), (503, "soon"), (503, "31"), (500, "0"), (404, "0")])
def test_nothing_is_sent_again_where_nobody_said_when_or_it_would_not_help(
    shop: Path, address: str, status: int, wait: str
) -> None:
    with served.busy(address, status, wait) as (here, seen):
        assert used(shop, here)["answered"] == {"status": status}
    assert len(seen) == 1 + 2


def test_the_first_program_of_its_readme_prints_the_answer_in_a_sentence(shop: Path, address: str) -> None:
    assert run("node", "first.js", address, folder=shop).startswith("Passes")


def test_the_walk_of_its_readme_sends_what_the_garden_holds_and_tells_the_same(
    shop: Path, address: str
) -> None:
    garden.lay_out(shop)
    with served.busy(address, 503) as (here, seen):
        printed = run("node", "garden.js", here, folder=shop)
    garden.assert_walked(printed, seen)
