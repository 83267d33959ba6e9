"""What is deployed beside the service: no more than it imports, each licence told, all of it listed."""

import json
import os
import re
import subprocess
import sys
from importlib import resources
from importlib.metadata import distribution, packages_distributions
from typing import Any

import jsonschema_rs
import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from tests.deploy.files import ROOT

DEPLOY = ROOT / "deploy"
LOCKS = ("requirements.txt", "requirements-otel.txt")


def locked(lock: str) -> set[str]:
    """The packages that a lock installs on this Python and system."""
    lines = re.findall(
        r"^([a-z0-9][^\\\n]*==[^\\\n]*)", (DEPLOY / lock).read_text(encoding="utf-8"), re.MULTILINE
    )
    wanted = [Requirement(line) for line in lines]
    return {canonicalize_name(one.name) for one in wanted if one.marker is None or one.marker.evaluate()}


def left_out() -> dict[str, str]:
    lines = (DEPLOY / "left-out.txt").read_text(encoding="utf-8").splitlines()
    return dict(re.split(r"\s+# ", line, maxsplit=1) for line in lines if line[0] != "#")


def asked_by(name: str) -> set[str]:
    """What a package asks for on this Python, its extras apart."""
    asked = [Requirement(line) for line in distribution(name).requires or []]
    return {
        canonicalize_name(one.name)
        for one in asked
        if one.marker is None or one.marker.evaluate({"extra": ""})
    }


def run(*arguments: str, **environment: str) -> str:
    command = [sys.executable, "-W", "error", *arguments]
    settings = {**os.environ, "PYTHONPATH": str(ROOT), **environment}
    done = subprocess.run(command, cwd=ROOT, env=settings, capture_output=True, check=False, timeout=300)  # noqa: S603  # this interpreter
    assert done.returncode == 0, done.stderr.decode()
    return done.stdout.decode()


def bill(lock: str = LOCKS[0]) -> Any:
    return json.loads(run("deploy/carried.py", "bom", f"deploy/{lock}"))


@pytest.mark.parametrize("lock", LOCKS)
def test_what_a_deployed_package_asks_for_is_there_or_left_out_by_name(lock: str) -> None:
    names = locked(lock)
    assert names
    for name in names:
        assert asked_by(name) <= names | left_out().keys(), name


def test_nothing_is_named_as_left_out_that_nobody_asks_for() -> None:
    names, told = locked(LOCKS[0]), left_out()
    assert not names & told.keys()
    for name, reason in told.items():
        askers = {asker for asker in names | told.keys() if name in asked_by(asker)}
        assert set(re.findall(r"[a-z0-9-]+", reason.partition(":")[0])) <= askers, name


def test_every_route_answers_alike_without_what_is_left_out() -> None:
    modules = [
        module
        for module, packages in packages_distributions().items()
        if left_out().keys() & {canonicalize_name(package) for package in packages}
    ]
    assert len(modules) >= len(left_out())
    with_all = run("tests/deploy/walk.py", LASTLAMP_LOG_LEVEL="error").splitlines()
    assert run("tests/deploy/walk.py", *modules, LASTLAMP_LOG_LEVEL="error").splitlines() == with_all
    statuses = [line.split()[-2] for line in with_all]
    assert statuses.count("200") > 100
    assert not [line for line, status in zip(with_all, statuses, strict=True) if status[0] == "5"]


def test_the_walk_would_notice_a_package_that_is_needed() -> None:
    command = [sys.executable, "tests/deploy/walk.py", "multipart"]
    settings = {**os.environ, "PYTHONPATH": str(ROOT)}
    done = subprocess.run(command, cwd=ROOT, env=settings, capture_output=True, check=False, timeout=60)  # noqa: S603  # our own script
    assert b"ModuleNotFoundError: multipart" in done.stderr


def test_the_licences_are_those_of_what_is_installed() -> None:
    written = (DEPLOY / "NOTICES").read_text(encoding="utf-8")
    assert run("deploy/carried.py", "notices", "deploy/requirements.txt") == written


@pytest.mark.parametrize("lock", LOCKS)
def test_every_package_that_is_deployed_comes_with_a_licence_and_its_text(lock: str) -> None:
    parts = run("deploy/carried.py", "notices", f"deploy/{lock}").split(f"{'=' * 100}\n")
    told = {parts[i].strip(): parts[i + 1] for i in range(1, len(parts), 2)}
    assert {canonicalize_name(title.partition(":")[0]) for title in told if "cut" not in title} == locked(
        lock
    )
    for title, text in told.items():
        assert re.fullmatch(r"[^:]+: .*[A-Za-z].*", title), title
        assert "--- " in text, title


@pytest.mark.parametrize("lock", LOCKS)
def test_the_bill_of_materials_keeps_to_its_schema(lock: str) -> None:
    # CycloneDX 1.6 (ECMA-424), the schemas as cyclonedx-python-lib carries them.
    folder = resources.files("cyclonedx.schema") / "_res"

    def schema(name: str) -> Any:
        return json.loads((folder / f"{name}.SNAPSHOT.schema.json").read_text(encoding="utf-8"))

    others = {name: schema(name) for name in ("spdx", "jsf-0.82")}
    registry = jsonschema_rs.Registry(
        [
            (f"http://cyclonedx.org/schema/{name}.SNAPSHOT.schema.json", other)
            for name, other in others.items()
        ]
    )
    validator = jsonschema_rs.Draft7Validator(schema("bom-1.6"), registry=registry)
    written = bill(lock)
    assert [error.message for error in validator.iter_errors(written)] == []
    written["components"][0]["licenses"] = [{"license": {"id": "no such licence"}}]
    assert not validator.is_valid(written)


@pytest.mark.parametrize("lock", LOCKS)
def test_the_bill_of_materials_lists_what_is_installed_in_its_version(lock: str) -> None:
    listed = [one for one in bill(lock)["components"] if one.get("purl", "").startswith("pkg:pypi/")]
    assert {one["name"]: one["version"] for one in listed} == {
        name: distribution(name).version for name in locked(lock)
    }


def test_the_bill_of_materials_is_the_same_for_the_same_packages() -> None:
    one, other = (
        run("deploy/carried.py", "bom", "deploy/requirements.txt", PYTHONHASHSEED=seed) for seed in "12"
    )
    assert one == other


def test_no_licence_is_granted_in_the_name_of_an_owner() -> None:
    assert "No licence has been chosen" in (ROOT / "README.md").read_text(encoding="utf-8")
    assert not list(ROOT.glob("LICEN[CS]E*"))
    assert "license" not in (ROOT / "pyproject.toml").read_text(encoding="utf-8").lower()
