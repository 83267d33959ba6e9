"""The studies as tools of a language model: the Model Context Protocol on standard input and output."""

import json
import os
import sys
from collections.abc import Sequence
from functools import partial
from typing import Any, Final, TextIO

import anyio
from mcp import types
from mcp.server.lowlevel import Server
from mcp.server.stdio import stdio_server

from service import __version__
from service.command.asking import CommandAnswer, answer_to
from service.document.request_schemas import request_schema
from service.studies import STUDIES
from service.studies.record import JSON

INSTRUCTIONS: Final = """\
Low-voltage outdoor lighting at 12 to 24 V: what each lamp gets, what the transformer carries, which cable.
The real circuit is solved. Lengths are one way along the route. A quantity is an object with `value` and
`unit`; nothing is guessed.
An answer is its summary in a sentence, and the whole reply as JSON; `detail` (`summary` or `fixtures`) makes
it shorter. A refusal lists every place to change, each with its JSON Pointer. Parts of a reply, such as
`wiring`, go into the next question as they are.
Pass on the `cautions` of a reply: this is a calculation, not an approval; local code and a licensed
electrician decide."""


HINTS: Final = types.ToolAnnotations(readOnlyHint=True, idempotentHint=True, openWorldHint=False)
"""The same question has the same answer, and nothing is kept."""


def serve_tools(studies: Sequence[str], most_bytes: int) -> None:
    """Serve until standard input ends.

    Parameters
    ----------
    studies : sequence of str
        Those that are offered.
    most_bytes : int
        The largest job that is read. [byte]
    """
    # What anybody prints goes beside, so that nothing but messages is ever on standard output.
    messages = os.fdopen(os.dup(sys.stdout.fileno()), "w", encoding="utf-8")
    os.dup2(sys.stderr.fileno(), sys.stdout.fileno())
    try:
        with messages:
            anyio.run(_serve, server_of(studies, most_bytes), messages)
    except* (anyio.ClosedResourceError, anyio.BrokenResourceError, BrokenPipeError):
        pass  # whoever asked left before everything was said


async def _serve(server: Server[Any, Any], messages: TextIO) -> None:
    async with stdio_server(stdout=anyio.wrap_file(messages)) as (incoming, outgoing):
        await server.run(incoming, outgoing, server.create_initialization_options())


def server_of(studies: Sequence[str], most_bytes: int) -> Server[Any, Any]:
    """Make the server of some studies, whatever it is connected to.

    Parameters
    ----------
    studies : sequence of str
        Those that are offered.
    most_bytes : int
        The largest job that is read. [byte]
    """
    server: Server[Any, Any] = Server("lastlamp", __version__, INSTRUCTIONS)
    tools = [_tool(name) for name in studies]
    # One at a time: the solver holds the interpreter, and what keeps a conversation alive must pass between.
    turn = anyio.CapacityLimiter(1)

    async def list_tools(request: types.ListToolsRequest) -> types.ServerResult:
        del request
        return types.ServerResult(types.ListToolsResult(tools=tools))

    async def call_tool(request: types.CallToolRequest) -> types.ServerResult:
        name, arguments = request.params.name, request.params.arguments or {}
        if name not in studies:
            return types.ServerResult(_failed(f"There is no tool {name!r}. There are: {', '.join(studies)}."))
        # Not checked against the schema before: the service itself lists every mistake at once.
        body = json.dumps(arguments).encode()
        asked = partial(answer_to, name, body, JSON, most_bytes)
        return types.ServerResult(_told(await anyio.to_thread.run_sync(asked, limiter=turn)))

    server.request_handlers[types.ListToolsRequest] = list_tools
    server.request_handlers[types.CallToolRequest] = call_tool
    return server


def _tool(study: str) -> types.Tool:
    said = STUDIES[study].description
    named = f" Also called: {', '.join(said.trade_names)}." if said.trade_names else ""
    return types.Tool(
        name=study,
        title=said.summary,
        description=said.question + named,
        inputSchema=request_schema(study),
        annotations=HINTS,
    )


def _told(answer: CommandAnswer) -> types.CallToolResult:
    for fault in answer.faults:
        print(json.dumps(fault), file=sys.stderr)  # noqa: T201  # standard error is the log of such a server
    said = json.loads(answer.content)
    if not answer.is_answer:
        places = [f"{error['pointer']}: {error['detail']}" for error in said["errors"]]
        return _failed("\n".join([said["detail"], *places]), said)
    summary = [said["summary"]["text"]] if "summary" in said else []
    # Not every program shows its model what is structured, so the reply stands there as text as well.
    whole = json.dumps(said, ensure_ascii=False, separators=(",", ":"))
    return types.CallToolResult(content=[_text(each) for each in (*summary, whole)], structuredContent=said)


def _failed(text: str, problem: dict[str, Any] | None = None) -> types.CallToolResult:
    return types.CallToolResult(content=[_text(text)], structuredContent=problem, isError=True)


def _text(text: str) -> types.TextContent:
    return types.TextContent(type="text", text=text)
