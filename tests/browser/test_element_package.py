"""The package of the calculator is built, and installed by a shop that bundles its page with it."""

import json
import re
import shutil
import subprocess
import tarfile
from pathlib import Path
from typing import Any

import jsonschema_rs
import pytest

from service.http import embed
from tests.load.replica import ROOT
from tests.node import clean_install, npm

HERE = Path(__file__).parent / "element"
SOURCE = ROOT / "deploy" / "clients" / "element"
README = (SOURCE / "README.md").read_text(encoding="utf-8")
SERVED = embed.FOLDER / embed.newest()
PAPER = "rgb(255, 255, 255)"


def run(*command: str, folder: Path) -> None:
    ended = subprocess.run(  # noqa: S603  # our own script, and tools that the lock file names
        command, cwd=folder, capture_output=True, text=True, timeout=300, check=False
    )
    assert ended.returncode == 0, f"{command}\n{ended.stdout}{ended.stderr}"


@pytest.fixture(scope="module")
def package(tmp_path_factory: pytest.TempPathFactory) -> Path:
    npm()
    folder = tmp_path_factory.mktemp("package")
    run("sh", "deploy/clients/build", str(folder), "element", folder=ROOT)
    return folder / f"lastlamp-element-{embed.newest()}.tgz"


@pytest.fixture(scope="module")
def shop(package: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shop with the package installed, and the notes of its README as the pages that it builds."""
    folder = tmp_path_factory.mktemp("shop") / "shop"
    shutil.copytree(HERE, folder, ignore=shutil.ignore_patterns("node_modules"))
    clean_install(folder)
    run(npm(), "install", "--ignore-scripts", "--prefer-offline", "--no-save", str(package), folder=folder)
    for language, name in (("vue", "Shop.vue"), ("tsx", "Shop.tsx")):
        [note] = re.findall(rf"^```{language}\n(.*?)^```", README, re.DOTALL | re.MULTILINE)
        (folder / name).write_text(note, encoding="utf-8")
    run("node", "build.mjs", folder=folder)
    return folder


@pytest.fixture(scope="module")
def visited(shop: Path, visit: Any) -> Any:
    return visit("element_package.mjs", str(shop))


def manifest(package: Path) -> Any:
    with tarfile.open(package) as archive:
        file = archive.extractfile("package/custom-elements.json")
        assert file is not None
        return json.loads(file.read())


def declared(package: Path) -> Any:
    [module] = manifest(package)["modules"]
    [declaration] = module["declarations"]
    return declaration


def names(rows: list[dict[str, str]]) -> set[str]:
    return {row["name"] for row in rows}


@pytest.mark.parametrize("framework", ["vue", "react"])
def test_the_note_for_a_framework_hands_over_its_stock_and_hears_what_is_chosen(
    visited: Any, framework: str
) -> None:
    seen = visited[framework]
    assert seen["summary"].startswith("Passes")
    assert seen["chosen"] == "Chosen: lv-12, T-150: good"
    assert seen["rating"] == 150


@pytest.mark.parametrize("page", ["vue", "react", "alone"])
def test_style_and_words_come_with_the_package_and_nobody_but_the_service_is_asked(
    visited: Any, page: str
) -> None:
    seen = visited[page]
    assert seen["paper"] == PAPER
    assert seen["elsewhere"] == seen["complaints"] == []
    assert [path for path in seen["asked"] if not path.startswith("/v1/")] == []


def test_it_speaks_the_language_that_it_is_given(visited: Any) -> None:
    assert visited["alone"]["summary"] == "In Ordnung."


def test_the_note_for_react_passes_a_strict_type_check(shop: Path) -> None:
    modules = ["--module", "ESNext", "--moduleResolution", "Bundler", "--target", "ES2022"]
    checker = ["npx", "--no-install", "tsc", "--strict", "--noEmit", "--jsx", "react-jsx", *modules]
    run(*checker, "Shop.tsx", folder=shop)
    wrong = (shop / "Shop.tsx").read_text(encoding="utf-8").replace("stock={stock}", "stock={7}")
    (shop / "Wrong.tsx").write_text(wrong, encoding="utf-8")
    with pytest.raises(AssertionError, match="Type 'number' is not assignable"):
        run(*checker, "Wrong.tsx", folder=shop)


def test_its_version_is_that_of_the_calculator_and_it_needs_no_package(package: Path) -> None:
    with tarfile.open(package) as archive:
        file = archive.extractfile("package/package.json")
        assert file is not None
        said = json.loads(file.read())
    assert said["version"] == embed.newest()
    assert not {name for name in said if name.lower().endswith("dependencies")}
    assert said["private"] is True


def test_the_manifest_keeps_to_its_schema(shop: Path, package: Path) -> None:
    schema = json.loads((shop / "node_modules" / "custom-elements-manifest" / "schema.json").read_bytes())
    jsonschema_rs.validator_for(schema).validate(manifest(package))


def test_the_manifest_names_every_attribute_that_the_element_watches(shop: Path, package: Path) -> None:
    script = (
        "globalThis.HTMLElement = class {}; globalThis.CSSStyleSheet = class {};"
        "globalThis.customElements = { get() {}, define() {} };"
        "const { LastLamp } = await import('lastlamp-element');"
        "console.log(JSON.stringify(LastLamp.observedAttributes));"
    )
    command = ["node", "--input-type=module", "--eval", script]
    printed = subprocess.run(command, cwd=shop, capture_output=True, text=True, timeout=60, check=True).stdout  # noqa: S603  # as written here
    assert names(declared(package)["attributes"]) == {*json.loads(printed), "name"}


def test_the_manifest_names_what_the_types_and_the_readme_have(package: Path) -> None:
    said = declared(package)
    types = (SERVED / "calculator.d.ts").read_text(encoding="utf-8")
    body = types.split("class LastLamp")[1].split("addEventListener")[0]
    fields = set(re.findall(r"^  (?:readonly )?(\w+):", body, re.MULTILINE))
    methods = set(re.findall(r"^  (\w+)\(", body, re.MULTILINE))
    assert names(said["members"]) == fields | methods
    assert names(said["events"]) == set(re.findall(r'"(last-lamp-[a-z]+)": CustomEvent', types))
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    [parts] = [row for row in readme.splitlines() if row.endswith("| parts for `::part()` |")]
    assert names(said["cssParts"]) == set(re.findall(r"`([a-z]+)`", parts))
    style = (SERVED / "calculator.css").read_text(encoding="utf-8")
    assert names(said["cssProperties"]) == set(re.findall(r"--last-lamp-[a-z-]+", style))


def test_all_but_what_it_fetches_is_the_script_that_is_served(package: Path) -> None:
    with tarfile.open(package) as archive:
        file = archive.extractfile("package/dist/calculator.js")
        assert file is not None
        packed = file.read().decode().splitlines()
    served = (SERVED / "calculator.js").read_text(encoding="utf-8").splitlines()
    assert len(set(served) - set(packed)) == 3
    assert sum(line not in set(served) for line in packed) < 15
