"""A program with a language model starts the tools and talks to them with the package's own client."""

import asyncio
import json
import os
import signal
import subprocess
import sys
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any

import pytest
from mcp import ClientSession, StdioServerParameters, types
from mcp.client.stdio import stdio_client

from service import __version__
from service.command.asking import answer_to
from service.document.request_schemas import request_schema
from service.studies import STUDIES

ROOT = Path(__file__).parents[2]
EXAMPLES = ROOT / "openapi" / "examples"
LIMIT = 1_048_576
ENVIRONMENT = {"PATH": "/usr/bin:/bin", "PYTHONPATH": str(ROOT), "PYTHONWARNINGS": "error"}
JOBS = [
    (name, example.file)
    for name, study in STUDIES.items()
    for example in study.description.examples
    if example.file is not None
]


def talked(
    say: Callable[[ClientSession], Awaitable[Any]], *studies: str, errors: Path, **settings: str
) -> Any:
    """Start the tools, let something be said to them, and end them."""
    arguments = ["-m", "service", "mcp", *studies]
    program = StdioServerParameters(command=sys.executable, args=arguments, env={**ENVIRONMENT, **settings})

    async def conversation() -> Any:
        with errors.open("w", encoding="utf-8") as log:
            async with (
                stdio_client(program, errlog=log) as (incoming, outgoing),
                ClientSession(incoming, outgoing) as session,
            ):
                return await say(session)

    return asyncio.run(conversation())


@pytest.fixture(scope="module")
def heard(tmp_path_factory: pytest.TempPathFactory) -> Any:
    """One conversation in which every tool is asked every example, and some things that no tool can do."""

    async def say(session: ClientSession) -> Any:
        hello = await session.initialize()
        tools = (await session.list_tools()).tools
        said = {
            (name, file): await session.call_tool(name, json.loads((EXAMPLES / file).read_bytes()))
            for name, file in JOBS
        }
        wrong = {"supply": 12, "extra": None}
        others = [await session.call_tool("voltage-drop", wrong), await session.call_tool("batch", {})]
        return hello, tools, said, others, await session.call_tool("reach")

    errors = tmp_path_factory.mktemp("tools") / "errors"
    return talked(say, errors=errors), errors


def texts(result: types.CallToolResult) -> list[str]:
    return [part.text for part in result.content if isinstance(part, types.TextContent)]


def test_each_study_is_a_tool_with_the_schema_of_its_request(heard: Any) -> None:
    (hello, tools, *_), _ = heard
    assert (hello.serverInfo.name, hello.serverInfo.version) == ("lastlamp", __version__)
    assert "local code and a licensed\nelectrician decide" in hello.instructions
    assert [tool.name for tool in tools] == list(STUDIES)
    for tool in tools:
        assert tool.inputSchema == request_schema(tool.name)
        assert tool.description.startswith(STUDIES[tool.name].description.question)
        assert tool.annotations.readOnlyHint


@pytest.mark.parametrize(("study", "file"), JOBS)
def test_an_answer_is_its_summary_and_the_reply_that_the_command_gives(
    heard: Any, study: str, file: str
) -> None:
    (_, _, said, *_), _ = heard
    result = said[study, file]
    answer = answer_to(study, (EXAMPLES / file).read_bytes(), "application/json", LIMIT)
    expected = {**json.loads(answer.content), "request_sha256": "", "request_id": ""}
    assert {**result.structuredContent, "request_sha256": "", "request_id": ""} == expected
    assert result.isError != answer.is_answer
    if answer.is_answer:
        *summary, whole = texts(result)
        assert json.loads(whole) == result.structuredContent
        assert summary == ([expected["summary"]["text"]] if "summary" in expected else [])
    else:
        assert texts(result)[0].startswith(expected["detail"])


def test_a_refused_job_is_an_error_with_every_place_to_change(heard: Any) -> None:
    (*_, (refused, stranger), empty), _ = heard
    assert refused.isError
    assert refused.structuredContent["code"] == "request-invalid"
    [text] = texts(refused)
    assert {line.split(":")[0] for line in text.splitlines()[1:]} == {"/supply", "/wiring", "/extra"}
    assert stranger.isError
    assert texts(stranger)[0].startswith("There is no tool 'batch'. There are: voltage-drop, ")
    assert empty.isError


def test_nothing_is_said_beside_the_messages(heard: Any) -> None:
    _, errors = heard
    assert errors.read_text(encoding="utf-8") == ""


def test_only_the_studies_that_are_named_are_offered_and_a_larger_job_is_refused(tmp_path: Path) -> None:
    job = json.loads((EXAMPLES / "voltage_drop.json").read_bytes())

    async def say(session: ClientSession) -> Any:
        await session.initialize()
        tools = (await session.list_tools()).tools
        return (
            tools,
            await session.call_tool("voltage-drop", {**job, "id": "x" * 2_000}),
        )

    tools, large = talked(
        say, "reach", "voltage-drop", errors=tmp_path / "errors", LASTLAMP_MAXIMUM_BODY_BYTES="1024"
    )
    assert [tool.name for tool in tools] == ["reach", "voltage-drop"]
    assert large.structuredContent["code"] == "body-too-large"


def started(
    *arguments: str, code: str = "", said: str = "", **settings: str
) -> subprocess.CompletedProcess[str]:
    program = ["-c", code] if code else ["-m", "service", "mcp", *arguments]
    return subprocess.run(  # noqa: S603  # our own module
        [sys.executable, *program],
        cwd=ROOT,
        input=said,
        env={**ENVIRONMENT, **settings},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )


def test_it_ends_well_when_its_input_ends() -> None:
    ended = started()
    assert (ended.returncode, ended.stdout, ended.stderr) == (0, "", "")


HELLO = {
    "jsonrpc": "2.0",
    "id": 1,
    "method": "initialize",
    "params": {
        "protocolVersion": "2025-06-18",
        "capabilities": {},
        "clientInfo": {"name": "t", "version": "1"},
    },
}


def test_what_is_no_message_is_passed_over_and_whoever_leaves_early_breaks_nothing() -> None:
    job = {"name": "voltage-drop", "arguments": json.loads((EXAMPLES / "voltage_drop.json").read_bytes())}
    asked = {"jsonrpc": "2.0", "id": 2, "method": "tools/call", "params": job}
    lines = [json.dumps(HELLO), "garbage", json.dumps(asked), *["garbage"] * 5]
    ended = started(said="\n".join(lines))
    assert (ended.returncode, "Traceback" in ended.stderr) == (0, False)
    assert json.loads(ended.stdout.splitlines()[0])["id"] == 1


def test_nobody_who_reads_is_no_fault_of_the_program() -> None:
    program = [sys.executable, "-m", "service", "mcp", "reach"]
    with subprocess.Popen(  # noqa: S603  # our own module
        program, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=ENVIRONMENT
    ) as running:
        assert running.stdout is not None
        running.stdout.close()
        _, errors = running.communicate(json.dumps(HELLO).encode() + b"\n", timeout=20)
    assert (running.returncode, errors) == (0, b"")


def test_without_its_package_one_sentence_says_how_to_install_it() -> None:
    code = "import sys; sys.modules['mcp'] = None;from service.__main__ import main; sys.exit(main(['mcp']))"
    ended = started(code=code)
    assert (ended.returncode, ended.stdout) == (69, "")
    assert ended.stderr.startswith("The extra mcp is not installed: ")
    assert len(ended.stderr.splitlines()) == 1


@pytest.mark.parametrize(
    ("arguments", "settings", "said"),
    [
        (["fence"], {}, "There is no study 'fence'. There are: "),
        ([], {"LASTLAMP_LOG_LEVEL": "loud"}, "LASTLAMP_LOG_LEVEL is 'loud'."),
        (["--fast"], {}, "usage: "),
    ],
)
def test_what_cannot_be_used_ends_with_64(arguments: list[str], settings: dict[str, str], said: str) -> None:
    ended = started(*arguments, **settings)
    assert (ended.returncode, ended.stdout) == (64, "")
    assert ended.stderr.startswith(said)


def test_it_lets_itself_be_interrupted() -> None:
    program = [sys.executable, "-m", "service", "mcp", "reach"]
    with subprocess.Popen(  # noqa: S603  # our own module
        program,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env={**os.environ, **ENVIRONMENT},
    ) as running:
        assert running.stdin is not None
        assert running.stdout is not None
        running.stdin.write(json.dumps(HELLO).encode() + b"\n")
        running.stdin.flush()
        assert json.loads(running.stdout.readline())["id"] == 1
        running.send_signal(signal.SIGINT)
        assert running.wait(timeout=10) == -signal.SIGINT
        assert running.stderr is not None
        assert running.stderr.read() == b""
