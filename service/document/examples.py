"""Examples that cannot be wrong: each request is sent to the application, and its reply is what is shown."""

import json
from pathlib import Path
from typing import Any, Final, NamedTuple

from litestar import Litestar

from service.document.errors import DocumentError
from service.observability.exchange import STATE_KEY, Exchange

FOLDER: Final = Path(__file__).parents[2] / "openapi" / "examples"
"""The requests that are shown lie beside the document, for people to read and send."""

REQUEST_ID: Final = "example-request"

SUCCESS: Final = 200


class Example(NamedTuple):
    """One request and, by sending it, one reply."""

    name: str
    summary: str
    status: int = SUCCESS
    file: str | None = None
    """The request's body, by the name of its file."""
    method: str | None = None
    """The method, where it is not the operation's own."""
    headers: tuple[tuple[str, str], ...] = ()
    """Header fields, in place of those that fit."""
    rows: int | None = None
    """How many items of each list are shown, where the whole reply is too long to read."""


class Executed(NamedTuple):
    """An example with what was sent and what came back, as JSON values."""

    example: Example
    request: Any
    reply: Any

    @property
    def is_request(self) -> bool:
        """Whether the request is one to imitate."""
        return self.request is not None and self.example.status == SUCCESS


async def executed(framework: Litestar, method: str, path: str, example: Example) -> Executed:
    """Send an example to the application.

    Parameters
    ----------
    framework : Litestar
        The application without its envelope, so that no log line is written.
    method, path : str
        Of the operation.
    example : Example
        What to send.

    Raises
    ------
    DocumentError
        The status is not the one that the example is there to show, or the file cannot be read.
    """
    body = b"" if example.file is None else _body(example.file)
    status, reply = await _send(framework, example.method or method, path, _headers(example), body)
    if status != example.status:
        detail = f"Example {example.name} of {method} {path} is answered {status}, not {example.status}: "
        raise DocumentError(detail + reply.decode("utf-8", "replace"))
    shown = json.loads(reply)
    return Executed(
        example,
        json.loads(body) if body else None,
        shown if example.rows is None else shortened(shown, example.rows),
    )


def shortened(reply: Any, rows: int) -> Any:  # noqa: ANN401  # any JSON
    """Cut the lists that stand directly in a reply."""
    return {name: value[:rows] if isinstance(value, list) else value for name, value in reply.items()}


def _body(file: str) -> bytes:
    try:
        return (FOLDER / file).read_bytes()
    except OSError as error:
        detail = f"The example {file} cannot be read from {FOLDER}; openapi/examples belongs beside service."
        raise DocumentError(detail) from error


def _headers(example: Example) -> tuple[tuple[str, str], ...]:
    if example.headers or example.file is None:
        return example.headers
    return (("content-type", "application/json"),)


async def _send(
    framework: Litestar, method: str, path: str, headers: tuple[tuple[str, str], ...], body: bytes
) -> tuple[int, bytes]:
    """Call the application as a server would (ASGI 3.0)."""
    scope: Any = {
        "type": "http",
        "asgi": {"version": "3.0", "spec_version": "2.3"},
        "http_version": "1.1",
        "method": method,
        "scheme": "http",
        "path": path,
        "raw_path": path.encode("ascii"),
        "root_path": "",
        "query_string": b"",
        "headers": [(name.encode("ascii"), value.encode("ascii")) for name, value in headers],
        "client": None,
        "server": ("localhost", 80),
        "state": {STATE_KEY: Exchange(REQUEST_ID)},
    }
    answers: list[Any] = []

    async def receive() -> Any:  # noqa: ANN401  # one of several message types
        return {"type": "http.request", "body": body, "more_body": False}

    async def send(message: Any) -> None:  # noqa: ANN401  # as above
        answers.append(message)

    await framework(scope, receive, send)
    return answers[0]["status"], b"".join(answer.get("body", b"") for answer in answers[1:])
