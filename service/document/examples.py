"""Examples that cannot be wrong: each request is sent to the application, and its reply is what is shown."""

import asyncio
import json
from pathlib import Path
from typing import Any, Final, NamedTuple

from litestar import Litestar

from service.document.schemas import DocumentError
from service.observability.exchange import STATE_KEY, Exchange
from service.studies.description import SUCCESS, Example

FOLDER: Final = Path(__file__).parents[2] / "openapi" / "examples"
"""The requests that are shown lie beside the document, for people to read and send."""


REQUEST_ID: Final = "example-request"


class Executed(NamedTuple):
    """An example with what was sent and what came back: JSON values, or a text in another form."""

    example: Example
    request: Any
    reply: Any
    media_type: str

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
    scope = _scope(example.method or method, path, example)
    status, media_type, reply = await _send(framework, scope, body)
    if status != example.status:
        detail = f"Example {example.name} of {method} {path} is answered {status}, not {example.status}: "
        raise DocumentError(detail + reply.decode("utf-8", "replace"))
    shown: Any = json.loads(reply) if media_type.endswith("json") else reply.decode("utf-8")
    if example.shown:
        shown = {**shown, **example.shown}
    return Executed(
        example,
        json.loads(body) if body else None,
        shown if example.rows is None else shortened(shown, example.rows),
        media_type,
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


def _scope(method: str, path: str, example: Example) -> Any:  # noqa: ANN401  # what a server hands over
    """One request as a server would hand it over (ASGI 3.0)."""
    headers = _headers(example)
    return {
        "type": "http",
        "asgi": {"version": "3.0", "spec_version": "2.3"},
        "http_version": "1.1",
        "method": method,
        "scheme": "http",
        "path": path,
        "raw_path": path.encode("ascii"),
        "root_path": "",
        "query_string": example.query.encode("ascii"),
        "headers": [(name.encode("ascii"), value.encode("ascii")) for name, value in headers],
        "client": None,
        "server": ("localhost", 80),
        "state": {STATE_KEY: Exchange(REQUEST_ID)},
    }


async def _send(framework: Litestar, scope: Any, body: bytes) -> tuple[int, str, bytes]:  # noqa: ANN401  # ASGI passes mappings of any shape
    """Call the application as a server would; the status, the media type and the body."""
    answers: list[Any] = []
    parts = iter([{"type": "http.request", "body": body, "more_body": False}])

    async def receive() -> Any:  # noqa: ANN401  # one of several message types
        for part in parts:
            return part
        # As a server does while its client waits.
        return await asyncio.get_running_loop().create_future()

    async def send(message: Any) -> None:  # noqa: ANN401  # ASGI passes mappings of any shape
        answers.append(message)

    await framework(scope, receive, send)
    media_type = dict(answers[0]["headers"]).get(b"content-type", b"").decode("ascii").partition(";")[0]
    return answers[0]["status"], media_type, b"".join(answer.get("body", b"") for answer in answers[1:])
