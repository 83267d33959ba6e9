"""The service as a program meets it: a process of its own behind a port, as it is and as it may become."""

import json
import threading
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any, NamedTuple

from tests.load.replica import Replica

LATER_GROUP = {
    "code": "invented-later",
    "severity": "grave",
    "count": 1,
    "message": "This kind of finding is newer than the client.",
    "pointers": ["/supply"],
}


LATER_FINDING = {
    "code": "lamp-looks-lonely",
    "severity": "remark",
    "subject": {"pointer": "", "colour": "amber"},
    "parameters": [{"name": "distance", "value": "far"}],
    "message": "A finding that no client of today has heard of.",
    "source": "invented",
    "measured": {"value": 3, "unit": "lm"},
    "remedy": {"code": "add-a-friend"},
}
LATER_NOTE = {"code": "moon-is-new", "message": "An assumption that no client of today has heard of."}


@contextmanager
def served() -> Iterator[str]:
    """Start the service on a free port; yield its address."""
    replica = Replica(LASTLAMP_DRAIN_SECONDS="0")
    try:
        yield f"http://127.0.0.1:{replica.port}"
    finally:
        replica.end()


@contextmanager
def served_by_a_later_version(address: str) -> Iterator[str]:
    """Stand before a service and add to its replies what the contract lets it add; yield the address."""
    handler = type("Handler", (_LaterVersion,), {"address": address})
    with ThreadingHTTPServer(("127.0.0.1", 0), handler) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_port}"
        server.shutdown()


class Received(NamedTuple):
    """What came to a service."""

    path: str
    fields: dict[str, str]
    """By their names in lower case."""
    body: bytes
    at: float
    """By `time.monotonic`. [s]"""


@contextmanager
def busy(
    address: str, status: int, *refusals: str, says_why: bool = False
) -> Iterator[tuple[str, list[Received]]]:
    """Stand before a service and be busy for some requests, each with its Retry-After; none for "-".

    The service itself `says_why`, with a problem; a proxy has a page.
    """
    members = {"type": "/problems/overloaded", "title": "Busy", "status": status, "code": "overloaded"}
    problem = json.dumps({**members, "detail": "Busy.", "request_id": "1", "errors": []}).encode()
    waiting, received = list(refusals), list[Received]()

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["Content-Length"]))
            fields = {name.lower(): value for name, value in self.headers.items()}
            received.append(Received(self.path, fields, body, time.monotonic()))
            if waiting:
                wait = waiting.pop(0)
                reply, media_type, code = b"<p>Busy.</p>", "text/html", status
                if says_why:
                    reply, media_type = problem, "application/problem+json"
            else:
                wait = "-"
                code, media_type, reply = send(address, self.path, body)
            self.send_response(code)
            self.send_header("Content-Type", media_type)
            self.send_header("Content-Length", str(len(reply)))
            if wait != "-":
                self.send_header("Retry-After", wait)
            self.end_headers()
            self.wfile.write(reply)

        def log_message(self, *_: object) -> None:
            """Keep quiet."""

    with ThreadingHTTPServer(("127.0.0.1", 0), Handler) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_port}", received
        server.shutdown()


def send(
    address: str, path: str, body: bytes | None = None, media_type: str = "application/json"
) -> tuple[int, str, bytes]:
    """Send one request as plain HTTP; return the status, the media type and the body of the reply."""
    fields = {} if body is None else {"Content-Type": media_type}
    request = urllib.request.Request(address + path, body, fields)  # noqa: S310  # our own service
    try:
        with urllib.request.urlopen(request, timeout=10) as reply:  # noqa: S310  # our own service
            return reply.status, reply.headers["Content-Type"], reply.read()
    except urllib.error.HTTPError as refusal:
        with refusal:
            return refusal.code, refusal.headers["Content-Type"], refusal.read()


def grown(reply: Any) -> Any:
    """Add a member to every object of a reply, and a row to the lists whose codes are open."""
    if isinstance(reply, list):
        return [grown(row) for row in reply]
    if not isinstance(reply, dict):
        return reply
    members = {name: grown(value) for name, value in reply.items()}
    if "findings" in members:
        members["findings"].insert(0, LATER_GROUP if "text" in members else LATER_FINDING)
    if "assumptions" in members:
        members["assumptions"].append(LATER_NOTE)
    return {"later_member": {"kind": "invented"}, **members}


class _LaterVersion(BaseHTTPRequestHandler):
    address: str
    protocol_version = "HTTP/1.1"

    def do_GET(self) -> None:
        self._answer(None)

    def do_POST(self) -> None:
        self._answer(self.rfile.read(int(self.headers["Content-Length"])))

    def _answer(self, body: bytes | None) -> None:
        status, media_type, reply = send(self.address, self.path, body)
        later = json.dumps(grown(json.loads(reply))).encode()
        self.send_response(status)
        self.send_header("Content-Type", media_type)
        self.send_header("Content-Length", str(len(later)))
        self.send_header("X-Request-ID", "later")
        self.end_headers()
        self.wfile.write(later)

    def log_message(self, *_: object) -> None:
        """Keep quiet: what is asked is no news in a test."""
