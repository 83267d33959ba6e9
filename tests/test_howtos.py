"""What openapi/HOWTO.md tells a shop, a quoting program and an operations desk is typed and run."""

import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest

from tests.alone import alone_at
from tests.clients.served import served
from tests.load.replica import ROOT, free_port
from tests.node import a_browser, installed, printed_by

TEXT = (ROOT / "openapi" / "HOWTO.md").read_text(encoding="utf-8")
NO_NETWORK = ("NewConnectionError", "ConnectTimeoutError", "NameResolutionError", "for want of a network")
BROWSER = ROOT / "tests" / "browser"
FILE = re.compile(r"(?:# |<!-- )(\S+\.\w+)")


def script_of(title: str) -> str:
    """Write what is to be typed in one section, files among it, as one script."""
    section = TEXT.split(f"## {title}\n")[1].split("\n## ")[0]
    parts = []
    for language, block in re.findall(r"^```(\w+)\n(.*?)^```", section, re.DOTALL | re.MULTILINE):
        if language == "sh":
            parts.append(block)
        else:
            named = FILE.match(block)
            assert named is not None, block
            parts.append(f"cat > {named[1]} <<'THE END'\n{block}THE END\n")
    return "".join(parts)


@pytest.fixture(scope="module")
def project(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of this project as it is once `deploy/start` has run."""
    folder = tmp_path_factory.mktemp("lastlamp")
    for name in ("service", "deploy", "openapi"):
        (folder / name).symlink_to(ROOT / name)
    if (ROOT / ".venv-clients").is_dir():
        (folder / ".venv-clients").symlink_to(ROOT / ".venv-clients")
    theirs, ours = Path(sys.prefix), folder / ".venv"
    (ours / "bin").mkdir(parents=True)
    shutil.copy(theirs / "pyvenv.cfg", ours)
    (ours / "lib").symlink_to(theirs / "lib")
    (ours / "bin" / "python").symlink_to(sys.executable)
    command = ". deploy/environment.sh; add_command .venv"
    subprocess.run(["/bin/sh", "-euc", command], cwd=folder, check=True)  # noqa: S603  # a shell with commands of our own document
    return folder


@contextmanager
def typed(title: str, project: Path, folder: Path, **ports: int) -> Iterator[str]:
    """Type what a section says, with free ports; yield what was printed, and end what was started."""
    text = script_of(title)
    for number, free in ports.items():
        assert number[1:] in text
        text = text.replace(number[1:], str(free))
    # What is started in the background ends with the script, which waits to be told.
    whole = f"trap 'kill $(jobs -p) 2>/dev/null' EXIT\n{text}\necho DONE\nread -r _ || true\n"
    with subprocess.Popen(  # noqa: S603  # words of our own document
        ["/bin/bash", "-euc", whole],
        cwd=folder,
        env={**os.environ, "LAMP": str(project), **binding(ports)},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    ) as shell:
        assert shell.stdout is not None
        assert shell.stdin is not None
        printed = ""
        for line in shell.stdout:
            if line == "DONE\n":
                break
            printed += line
        else:
            if any(code in printed for code in NO_NETWORK):
                pytest.skip("pip could not reach its index.")
            pytest.fail(printed)
        try:
            yield printed
        finally:
            shell.stdin.close()
            shell.wait(timeout=20)


def binding(ports: dict[str, int]) -> dict[str, str]:
    """Where the service listens, which the document leaves as it comes."""
    return {"LASTLAMP_BIND": f"127.0.0.1:{ports['_8080']}"}


def test_a_shop_shows_the_calculator_and_hears_what_is_chosen(project: Path, tmp_path: Path) -> None:
    browser = a_browser()
    installed(BROWSER)
    shop = free_port()
    with typed("A supplier's shop", project, tmp_path, _8080=free_port(), _8000=shop):
        seen = printed_by(BROWSER / "howto_shop.mjs", browser, f"http://127.0.0.1:{shop}/")
    assert seen["summary"].startswith("Passes")
    assert re.fullmatch(r"lv-12: [\d.]+ ft, T-150", seen["cart"])
    assert seen["complaints"] == []


def test_a_quoting_program_prints_what_to_buy_and_leaves_an_offer(project: Path, tmp_path: Path) -> None:
    title = "A quoting program"
    with (
        alone_at(ROOT / ".venv-clients"),
        served() as address,
        typed(title, project, tmp_path, _8080=urlsplit(address).port or 0) as printed,
    ):
        *_, summary, first = printed.strip().splitlines()
    assert summary.startswith("Passes. ")
    assert re.fullmatch(r"DB14: [\d.]+ ft, [\d.]+ USD", first)
    assert (tmp_path / "offer.pdf").read_bytes().startswith(b"%PDF-")


def test_an_operations_desk_sees_who_asked_what_and_exchanges_a_key(project: Path, tmp_path: Path) -> None:
    with typed("An operations desk", project, tmp_path, _8080=free_port(), _9464=free_port()) as printed:
        assert printed.endswith("ended with 0\n")

    def read(name: str) -> Any:
        return json.loads((tmp_path / name).read_bytes())

    assert read("refused.json")["code"] == "key-missing"
    assert read("answer.json")["summary"]["verdict"] == "passes"
    assert 'lastlamp_requests_total{method="POST",route="/v1/voltage-drop",status="200"} 1.0' in printed
    [line] = [json.loads(row) for row in printed.splitlines() if '"first-look"' in row]
    assert (line["route"], line["key"], line["status"]) == ("/v1/voltage-drop", "quoting", 200)
    [reloaded] = [json.loads(row) for row in printed.splitlines() if "keys-reloaded" in row]
    assert reloaded["keys"] == ["quoting", "quoting-next"]
    assert "LASTLAMP_KEYS_FILE=keys.toml\n" in (tmp_path / "settings.txt").read_text(encoding="utf-8")
