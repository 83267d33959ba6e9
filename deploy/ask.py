"""Asks the service that is starting one question, and prints the answer for a person.

``python deploy/ask.py PROCESS JOB`` waits until the service in that process, its parent, is ready, posts the
job to ``/v1/voltage-drop`` and prints volts and verdict of each fixture. The standard library alone; where to
ask stands in ``LASTLAMP_BIND``.
"""

import json
import os
import pathlib
import sys
import time
import urllib.error
import urllib.request
from typing import Any

WAIT_SECONDS = 20.0
CALLED_AS = {"0.0.0.0": "127.0.0.1", "[::]": "[::1]"}  # noqa: S104  # compared with, never bound to

VERDICTS = {
    "inside": "inside its window",
    "low": "lower than advised",
    "below": "too low",
    "high": "higher than advised",
    "above": "too high",
}

Reply = dict[str, Any]

# A proxy named in the environment is for the world outside, not for this machine.
OPENER = urllib.request.build_opener(urllib.request.ProxyHandler({}))


def base_address() -> str:
    """Return the address to call, with a wildcard to listen on turned into loopback."""
    host, _, port = os.environ.get("LASTLAMP_BIND", "127.0.0.1:8080").rpartition(":")
    return f"http://{CALLED_AS.get(host, host)}:{port}"


def call(address: str, body: bytes | None = None) -> bytes:
    """Send one request and return the body of its reply."""
    headers = {"Content-Type": "application/json"} if body is not None else {}
    request = urllib.request.Request(address, body, headers)  # noqa: S310  # http, as built above
    with OPENER.open(request, timeout=10) as reply:
        content: bytes = reply.read()
        return content


def wait_until_ready(base: str, service: int) -> bool:
    """Wait for readiness; False when the service ends first, which has then said why itself."""
    give_up_at = time.monotonic() + WAIT_SECONDS
    while os.getppid() == service:
        time.sleep(0.2)
        try:
            call(f"{base}/health/ready")
        except OSError as error:
            if time.monotonic() > give_up_at:
                sys.exit(f"The service did not become ready within {WAIT_SECONDS:g} s: {error}.")
        else:
            # Another instance may have answered while this one was finding its port taken.
            return os.getppid() == service
    return False


def quantity(value: Reply) -> str:
    """Write a quantity as the reply rounds it, which is towards failing; more rounding could hide a fail."""
    return f"{value['value']:g} {value['unit']}"


def fixture_line(row: Reply) -> str:
    """Write one fixture: what it is called, what it gets, and whether that is enough."""
    name = row["name"]
    if "count" in row:
        name += f" (each of {row['count']})"
    # Codes are an open set: one that is new here is shown as it is.
    verdict = VERDICTS.get(row["verdict"], row["verdict"])
    return f"  {name:<24}{quantity(row['voltage']):>10}   {verdict}"


def supply_line(supply: Reply) -> str:
    """Write what the supply delivers."""
    line = f"  {'supply':<24}{quantity(supply['terminal']):>10}   {quantity(supply['apparent_power'])}"
    if "loading_ratio" in supply:
        line += f", loaded to {supply['loading_ratio']:.0%} of its rating"
    return line


def answer_lines(reply: Reply) -> list[str]:
    """Write the whole answer, findings and cautions included."""
    lines = [f"Answer: {reply['status'].replace('-', ' ')}"]
    # Where there is no operating point there are no volts to show, only findings.
    lines += [supply_line(reply["supply"])] if "supply" in reply else []
    lines += [fixture_line(row) for row in reply["fixtures"]]
    lines += [f"  {finding['severity']}: {finding['message']}" for finding in reply["findings"]]
    lines += [f"  caution: {caution['message']}" for caution in reply["cautions"]]
    return lines


def documentation_lines(base: str) -> list[str]:
    """List the addresses of the documentation that this build serves."""
    lines = []
    for path in ("/docs", "/openapi.json"):
        try:
            call(base + path)
        except urllib.error.HTTPError:
            continue
        lines.append(f"  {base}{path}")
    return ["Documentation:", *lines] if lines else []


def answered(base: str, job: pathlib.Path) -> list[str]:
    """Ask the job, where no key is needed for it, and write what was answered."""
    if os.environ.get("LASTLAMP_ACCESS") == "keys":
        return [f"Not asked: {job}, because the service answers with keys only."]
    reply = json.loads(call(f"{base}/v1/voltage-drop", job.read_bytes()))
    return [f"Asked: {job}", *answer_lines(reply)]


def main(service: int, job: pathlib.Path) -> None:
    """Ask, print, and leave the service to itself."""
    base = base_address()
    if not wait_until_ready(base, service):
        return
    try:
        lines = answered(base, job)
    except urllib.error.HTTPError as error:
        sys.exit(f"{job} was answered {error.code}: {error.read().decode('utf-8', 'replace')}")
    except OSError as error:
        sys.exit(f"{job} could not be sent: {error}.")
    closing = f"Serving at {base} until Ctrl-C. LASTLAMP_LOG_LEVEL=info writes a line for each request."
    print("\n".join([*lines, *documentation_lines(base), closing]), flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]), pathlib.Path(sys.argv[2]))
