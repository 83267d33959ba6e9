"""The commands are run as an operator runs them: as processes, against real ports and signals."""

import json
import os
import signal
import socket
import subprocess
import sys
import time
import tomllib
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

from service.circuit.job import SOLVER_FORM
from service.extras import LAYOUT_BOUND
from service.studies import STUDIES
from tests.load.replica import Replica, free_port

ROOT = Path(__file__).parents[1]
DRAIN_SECONDS = 0.5


def environment(**settings: str) -> dict[str, str]:
    return {**os.environ, **settings}


def run(*arguments: str, **settings: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(  # noqa: S603  # the module that is tested
        [sys.executable, "-m", "service", *arguments],
        cwd=ROOT,
        env=environment(**settings),
        capture_output=True,
        text=True,
        timeout=30,
        check=False,
    )


def run_onto_a_full_disk(*arguments: str) -> subprocess.CompletedProcess[str]:
    with Path("/dev/full").open("wb") as full:
        return subprocess.run(  # noqa: S603  # the module that is tested
            [sys.executable, "-m", "service", *arguments],
            cwd=ROOT,
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            timeout=60,
            check=False,
        )


class Service(Replica):
    """A service of its own in a process of its own, of which all that it wrote is read."""

    def __init__(self, **settings: str) -> None:
        super().__init__(subprocess.PIPE, **{"LASTLAMP_DRAIN_SECONDS": str(DRAIN_SECONDS), **settings})
        self.bind = f"127.0.0.1:{self.port}"

    def stop(self, number: signal.Signals = signal.SIGTERM) -> tuple[int, list[dict[str, object]], str]:
        """Send a signal; return the exit code, the log lines and what was written to standard error."""
        self.process.send_signal(number)
        out, err = self.process.communicate(timeout=15)
        return self.process.returncode, [json.loads(line) for line in out.splitlines()], err.decode()

    def say(self, *parts: bytes, pause: float = 0.0) -> bytes:
        """Send raw bytes and return everything that comes back until the service closes."""
        with socket.create_connection(("127.0.0.1", self.port), timeout=10) as connection:
            try:
                for part in parts:
                    connection.sendall(part)
                    time.sleep(pause)
            except OSError:
                pass  # refused half-way, which is what some tests are after
            return _everything(connection)


def _everything(connection: socket.socket) -> bytes:
    received = b""
    try:
        while part := connection.recv(65_536):
            received += part
    except ConnectionResetError:
        pass  # it closed on bytes that it did not want to read
    return received


def started() -> Iterator[Service]:
    """Start a service; it is stopped afterwards where the test did not."""
    running = Service(LASTLAMP_REQUEST_SECONDS="1", LASTLAMP_MAXIMUM_HEADER_BYTES="4096")
    yield running
    if running.process.poll() is None:
        running.stop(signal.SIGINT)


@pytest.fixture
def service() -> Iterator[Service]:
    """One that a test may stop."""
    yield from started()


@pytest.fixture(scope="module")
def standing() -> Iterator[Service]:
    """One for all tests that leave it as it was."""
    yield from started()


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_a_signal_ends_the_service_cleanly(service: Service, number: signal.Signals) -> None:
    code, lines, err = service.stop(number)
    assert code == 0
    assert [line["event"] for line in lines if line["event"] != "request"] == ["listening", "stopped"]
    assert next(line for line in lines if line["event"] == "listening")["solver"] == SOLVER_FORM
    assert err == ""


def test_after_sigterm_the_service_is_not_ready_and_still_answers() -> None:
    # On a machine with much other work the command that asks takes a while itself.
    service = Service(LASTLAMP_DRAIN_SECONDS="60")
    try:
        service.process.send_signal(signal.SIGTERM)
        time.sleep(DRAIN_SECONDS / 5)
        assert run("health", LASTLAMP_BIND=service.bind).returncode == 1
        with urllib.request.urlopen(f"http://{service.bind}/health/live", timeout=5) as reply:
            assert reply.status == 200
    finally:
        service.process.kill()
        service.process.communicate()


def test_every_request_leaves_a_line_on_standard_output(service: Service) -> None:
    service.say(b"GET /nowhere HTTP/1.1\r\nHost: a\r\nConnection: close\r\n\r\n")
    _, lines, _ = service.stop()
    assert [(line["route"], line["status"]) for line in lines if line["event"] == "request"][-1] == (
        "unmatched",
        404,
    )


def test_many_small_header_fields_are_counted_together(standing: Service) -> None:
    reply = standing.say(b"GET /health/live HTTP/1.1\r\nHost: a\r\n" + b"a: b\r\n" * 700 + b"\r\n")
    assert reply.startswith(b"HTTP/1.1 431 ")


def test_a_head_within_its_bound_is_answered(standing: Service) -> None:
    head = b"GET /health/live HTTP/1.1\r\nHost: a\r\nConnection: close\r\nX: " + b"a" * 3500 + b"\r\n\r\n"
    assert standing.say(head).startswith(b"HTTP/1.1 200 ")


def test_a_client_that_sends_nothing_is_let_go(standing: Service) -> None:
    assert standing.say(b"").startswith(b"HTTP/1.1 408 ")


def test_a_client_that_trickles_is_let_go(standing: Service) -> None:
    trickle = [b"GET / HTTP/1.1\r\nX: ", *[b"a"] * 20]
    started = time.monotonic()
    standing.say(*trickle, pause=0.1)
    assert time.monotonic() - started < 3


def test_a_taken_port_is_said_in_one_sentence() -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        ended = run("serve", LASTLAMP_BIND=f"127.0.0.1:{taken.getsockname()[1]}")
    assert ended.returncode == 1
    assert len(ended.stderr.splitlines()) == 1
    assert "another program listens there" in ended.stderr


def test_a_setting_that_does_not_read_ends_every_command_with_2() -> None:
    for command in ("serve", "health", "config", "openapi"):
        ended = run(command, LASTLAMP_LOG_LEVEL="loud")
        assert ended.returncode == 2
        assert ended.stderr == (
            "LASTLAMP_LOG_LEVEL is 'loud'. It must be one of debug, info, warning, error.\n"
        )


def test_health_says_so_when_nothing_answers() -> None:
    ended = run("health", LASTLAMP_BIND=f"127.0.0.1:{free_port()}")
    assert ended.returncode == 1
    assert ended.stderr.startswith("Nothing answered at ")


def test_health_asks_on_loopback_when_the_service_listens_everywhere(standing: Service) -> None:
    settings = {"LASTLAMP_BIND": f"0.0.0.0:{standing.port}", "LASTLAMP_ACCESS": "open"}
    assert run("health", **settings).returncode == 0


def test_health_loads_nothing_beyond_the_standard_library() -> None:
    code = (
        "import sys; from service.__main__ import main; main(['health']);"
        "print(sorted({'litestar', 'msgspec', 'pint', 'structlog', 'uvicorn'} & set(sys.modules)))"
    )
    ended = subprocess.run(  # noqa: S603  # the module that is tested
        [sys.executable, "-c", code],
        cwd=ROOT,
        env=environment(LASTLAMP_BIND=f"127.0.0.1:{free_port()}"),
        capture_output=True,
        text=True,
        timeout=30,
        check=True,
    )
    assert ended.stdout == "[]\n"


def test_config_prints_what_is_in_force() -> None:
    assert "LASTLAMP_DRAIN_SECONDS=7.0\n" in run("config", LASTLAMP_DRAIN_SECONDS="7").stdout


def test_config_says_how_the_solver_runs() -> None:
    told = [f"# solver: {SOLVER_FORM}", f"# layout: {LAYOUT_BOUND}"]
    assert run("config").stdout.splitlines()[-2:] == told


def test_config_masks_secrets() -> None:
    printed = run("config", LASTLAMP_ACCESS="keys", LASTLAMP_KEYS="a secret").stdout
    assert "LASTLAMP_KEYS=***\n" in printed
    assert "a secret" not in printed


def test_off_loopback_every_command_asks_who_may_ask() -> None:
    for command in ("serve", "health", "config", "openapi"):
        ended = run(command, LASTLAMP_BIND="0.0.0.0:8080")
        assert ended.returncode == 2
        assert "LASTLAMP_ACCESS=open for everybody" in ended.stderr
        assert len(ended.stderr.splitlines()) == 1


@pytest.mark.parametrize("settings", [{"LASTLAMP_KEYS": "a = secret"}, {"LASTLAMP_KEYS_FILE": "/no/file"}])
def test_keys_that_cannot_be_used_refuse_the_start_without_being_quoted(settings: dict[str, str]) -> None:
    ended = run("serve", LASTLAMP_BIND=f"127.0.0.1:{free_port()}", LASTLAMP_ACCESS="keys", **settings)
    assert ended.returncode == 2
    assert ended.stderr.startswith(f"{next(iter(settings))}: ")
    assert len(ended.stderr.splitlines()) == 1
    assert "secret" not in ended.stderr


def test_new_key_prints_the_key_apart_from_the_lines_for_the_file() -> None:
    made = [
        run("new-key", "quoting"),
        run(
            "new-key", "shop", "--origin", "https://a.example", "--study", "reach", "--study", "voltage-drop"
        ),
    ]
    assert [ended.returncode for ended in made] == [0, 0]
    keys = [ended.stderr.splitlines()[-1] for ended in made]
    assert keys[0].startswith("lastlamp_secret_")
    assert keys[1].startswith("lastlamp_browser_")
    text = "".join(ended.stdout for ended in made)
    assert not any(key in text for key in keys)
    found = tomllib.loads(text)
    assert [entry["name"] for entry in (*found["key"], *found["browser_key"])] == ["quoting", "shop"]


@pytest.mark.parametrize(
    "arguments", [["Quoting"], ["shop", "--study", "reach"], ["shop", "--origin", "https://a.example"]]
)
def test_new_key_says_what_it_cannot_make(arguments: list[str]) -> None:
    ended = run("new-key", *arguments)
    assert (ended.returncode, ended.stdout) == (64, "")
    assert len(ended.stderr.splitlines()) == 1
    assert "lastlamp_" not in ended.stderr
    assert " of ;" not in ended.stderr


def test_new_key_names_the_studies_where_one_is_not_known() -> None:
    ended = run("new-key", "shop", "--origin", "https://a.example", "--study", "voltagedrop")
    assert (ended.returncode, ended.stdout) == (64, "")
    assert ended.stderr == f"There is no study 'voltagedrop'. There are: {', '.join(STUDIES)}.\n"
    without = run("new-key", "shop", "--origin", "https://a.example")
    assert all(study in without.stderr for study in STUDIES)


def test_a_key_is_not_shown_where_its_lines_could_not_be_written() -> None:
    ended = run_onto_a_full_disk("new-key", "quoting")
    assert (ended.returncode, "lastlamp_secret_" in ended.stderr) == (70, False)


@pytest.mark.parametrize("command", ["config", "openapi", "new-key quoting"])
def test_what_cannot_be_written_is_said_in_one_sentence(command: str) -> None:
    ended = run_onto_a_full_disk(*command.split())
    # The words are those of the C library for ENOSPC.
    assert ended.returncode == 70
    assert ended.stderr == "What was asked for cannot be written: no space left on device.\n"


def test_a_key_made_by_the_command_opens_the_service_and_stands_nowhere_in_its_log(tmp_path: Path) -> None:
    made, file = run("new-key", "quoting"), tmp_path / "keys.toml"
    key = made.stderr.splitlines()[-1]
    file.write_text(made.stdout)
    running = Service(LASTLAMP_ACCESS="keys", LASTLAMP_KEYS_FILE=str(file), LASTLAMP_LOG_LEVEL="debug")
    head = b"GET %s HTTP/1.1\r\nHost: a\r\nConnection: close\r\n"
    bearer = b"Authorization: Bearer " + key.encode() + b"\r\n"
    for target in (b"/v1/units", b"//v1/units", b"http://a/v1/units", b"/%76%31/units", b"/v1/units?/health"):
        assert running.say(head % target + b"\r\n").startswith(b"HTTP/1.1 401 "), target
        assert running.say(head % target + bearer + b"\r\n").startswith(b"HTTP/1.1 200 "), target
    assert running.say(head % b"/v1/units" + bearer * 2 + b"\r\n").startswith(b"HTTP/1.1 401 ")
    file.write_text(run("new-key", "another").stdout)
    time.sleep(1.1)
    assert running.say(head % b"/v1/units" + bearer + b"\r\n").startswith(b"HTTP/1.1 401 ")
    _, lines, err = running.stop()
    assert key not in json.dumps(lines) + err
    assert [line["keys"] for line in lines if line["event"] == "keys-reloaded"] == [["another"]]
    assert {line.get("key") for line in lines if line.get("route") == "/v1/units"} == {None, "quoting"}


def test_no_command_is_an_error_with_the_usage() -> None:
    for arguments in ([], ["aks"], ["serve", "--loud"]):
        ended = run(*arguments)
        # EX_USAGE of sysexits.h: 2 would say that a job is refused.
        assert ended.returncode == 64
        assert "usage: python -m service" in ended.stderr
