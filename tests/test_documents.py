"""README.md and DEVELOPERS.md are run, not believed."""

import json
import re
import shlex
from pathlib import Path
from typing import Any, cast

import pytest
from litestar import Litestar

from service.settings import Settings, effective
from tests.client import Client

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def blocks(text: str, language: str) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```", text, re.MULTILINE | re.DOTALL)


def assert_within(shown: Any, whole: Any) -> None:
    """Everything shown stands in the whole, nothing is shown that is not there."""
    if isinstance(shown, dict):
        for name, value in shown.items():
            assert_within(value, whole[name])
    elif isinstance(shown, list):
        assert len(shown) == len(whole)
        for one, other in zip(shown, whole, strict=True):
            assert_within(one, other)
    else:
        assert shown == whole


COMMANDS = [block for block in blocks(README, "sh") if block.startswith("curl")]


@pytest.mark.parametrize(
    ("command", "shown", "form"), list(zip(COMMANDS, blocks(README, "json"), ("runs", "even"), strict=True))
)
def test_each_reply_in_the_readme_is_the_reply_to_its_request(
    client: Client, command: str, shown: str, form: str
) -> None:
    words = shlex.split(command)
    body = words[words.index("-d") + 1]
    path = next(word for word in words if word.startswith("http")).removeprefix("http://127.0.0.1:8080")
    reply = client.post(path, content=body.encode(), headers={"Content-Type": "application/json"})
    assert reply.status_code == 200
    assert_within(json.loads(shown), reply.json())
    assert json.loads(body)["wiring"]["form"] == form


def test_the_settings_in_the_readme_are_the_settings() -> None:
    rows = re.findall(r"^\| `(LASTLAMP_[A-Z_]+)` \| (\S+) \|", README, re.MULTILINE)
    # Where nothing is set by itself the table has a dash.
    assert rows == [(name, value or "–") for name, value in effective(Settings())]


def test_both_commands_of_the_readme_exist() -> None:
    commands = [block.strip() for block in blocks(README, "sh") if block.startswith("sh ")]
    assert commands == ["sh deploy/start", "sh deploy/test"]
    assert all((ROOT / command.split()[1]).is_file() for command in commands)


def test_the_paths_in_the_readme_are_those_served() -> None:
    from service.app import app  # noqa: PLC0415  # tests of the lower rooms must not load the framework

    named = set(re.findall(r"`(?:GET|POST)? ?(/(?:v1|health)[a-z0-9/-]*)`", README))
    framework = cast("Litestar", app.application)
    served = {route.path for route in framework.routes if route.path.startswith(("/v1", "/health"))}
    assert named == served


@pytest.mark.parametrize("code", blocks(DEVELOPERS, "python"))
def test_the_code_in_the_developers_guide_runs(code: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    exec(compile(code, "DEVELOPERS.md", "exec"), {})  # noqa: S102  # it is our own document


def test_every_room_stands_in_the_developers_guide() -> None:
    rooms = {path.stem for path in (ROOT / "service").iterdir() if path.suffix in {"", ".py"}}
    named = set(re.findall(r"`([a-z_]+)`", DEVELOPERS.split("## The walk")[0]))
    assert rooms - named - {"__init__", "__main__", "__pycache__", "server", "settings"} == set()
