"""The largest honest requests that the published limits allow: how long each answer takes, and what stays.

``python -m tests.bench.limits [--json]`` prints two Markdown tables, and with ``charges`` a third one alone:
what each request was charged and what was counted, beside the time that it took. Everything runs in this
process, one request after another, so that the times are those of one core; let nothing else run. Each time
is the better of two, which leaves out what a busy machine adds; one that is far too long is not taken again.
"""

import json
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from time import perf_counter, process_time
from typing import Any, Final, NamedTuple

from msgspec import json as json_of

os.environ.setdefault("LASTLAMP_LOG_LEVEL", "error")

from service.app import app
from service.circuit.work import WorkOverLimitError, begin_request, done, spent
from service.physics.form import FORM
from service.studies import STUDIES
from tests.bench.largest import LARGEST
from tests.bench.mixed import mixed, resident_kb
from tests.client import Client
from tests.jobs import reply_to

CLIENT: Final = Client(app)
JSON: Final = {"content-type": "application/json"}
REFERENCE: Final = Path(__file__).parents[2] / "openapi" / "examples" / "voltage_drop.json"
REFERENCES: Final = 100
ROUNDS: Final = 2
FAR_TOO_LONG_S: Final = 10.0
WARM_UP, REQUESTS = 500, 2_000
MOST_GROWTH_KB: Final = 5_000


class Timed(NamedTuple):
    """How one request was answered, the size of its body [kB], and the time that it took. [s]"""

    outcome: str
    body_kb: float
    seconds: float


class Charged(NamedTuple):
    """What one request was charged, what was counted, and its time on the processor. [s]"""

    work: int
    counted: int
    seconds: float


def body_of(build: Callable[[], Any]) -> bytes:
    """The body of a request; what making it computes is not a part of the request."""
    begin_request()
    return json.dumps(build(), separators=(",", ":")).encode()


def timed(path: str, body: bytes) -> Timed:
    """Send one request and keep the better time."""
    times: list[float] = []
    while len(times) < ROUNDS and max(times, default=0.0) < FAR_TOO_LONG_S:
        start = perf_counter()
        reply = CLIENT.post(path, content=body, headers=JSON)
        times.append(perf_counter() - start)
    said = reply.json()
    return Timed(f"{reply.status_code} {outcome_of(said)}", len(body) / 1024, min(times))


def outcome_of(said: Any) -> str:
    """What a reply says: of a batch, each outcome once."""
    if "items" in said:
        found = {outcome_of(item.get("problem", item.get("answer"))) for item in said["items"]}
        return ", ".join(sorted(found))
    said_by = next((name for name in ("code", "status", "verdict") if name in said), None)
    return "answered" if said_by is None else str(said[said_by])


def times(most_seconds: float) -> Iterator[dict[str, Any]]:
    """Each time beside the published one, and beside that of the reference."""
    beside_s = reference_s()
    for name, (path, build) in LARGEST.items():
        outcome, body_kb, seconds = timed(path, body_of(build))
        yield {
            "request": name,
            "form": FORM,
            "outcome": outcome,
            "body_kb": body_kb,
            "seconds": seconds,
            "references": seconds / beside_s,
            "within": seconds <= most_seconds,
        }


def line(row: dict[str, Any]) -> str:
    """One line of the table."""
    within, references = "yes" if row["within"] else "NO", f"{row['references']:.0f}"
    figures = f"{row['body_kb']:.0f} | {row['seconds']:.3f} | {references} | {within}"
    return f"| {row['request']} | {row['outcome']} | {figures} |"


def print_times(most_seconds: float) -> None:
    """Print each time beside the published one."""
    print(f"The solver runs {FORM}; the reference is `{REFERENCE.name}`.\n")
    print("| request | outcome | body, kB | answer, s | references | within |")
    print("|:--------|:--------|---------:|----------:|-----------:|:-------|")
    longest = 0.0
    for row in times(most_seconds):
        longest = max(longest, row["seconds"])
        print(line(row), flush=True)
    print(f"\nLongest {longest:.2f} s; published are {most_seconds:g} s.")


def memory() -> tuple[int, int]:
    """Resident memory after many requests, and after many more. [kB]"""
    calls = mixed(CLIENT.get("/openapi.json").json())
    for _ in range(WARM_UP):
        next(calls).send(CLIENT)
    before = resident_kb()
    for _ in range(REQUESTS):
        next(calls).send(CLIENT)
    return before, resident_kb()


def print_memory() -> None:
    """Print the memory before and after many requests."""
    before, after = memory()
    print("| after | resident, kB |")
    print("|:------|-------------:|")
    print(f"| {WARM_UP} requests | {before} |")
    print(f"| {REQUESTS} more | {after} |")
    print(f"\nGrown by {after - before} kB; {MOST_GROWTH_KB} kB would be too much.\n")


def reference_s() -> float:
    """The voltage drop of the document's example, decoded, answered and written. [s]"""
    body = REFERENCE.read_bytes()
    return min(processed("voltage-drop", body).seconds for _ in range(REFERENCES))


def processed(study: str, body: bytes) -> Charged:
    """Answer one request; what it was charged, what was counted, and its time on the processor."""
    begin_request()
    start = process_time()
    with suppress(WorkOverLimitError):
        json_of.encode(reply_to(STUDIES[study], body))
    return Charged(spent(), done(), process_time() - start)


def print_charges() -> None:
    """Print what each request was charged and what was counted beside its time, all in the same unit."""
    reference = reference_s()
    print(f"The reference, `{REFERENCE.name}`, takes {1e3 * reference:.2f} ms.\n")
    print("| request | charged | counted | time, 10 µs | references | charged / counted | time / charged |")
    print("|:--------|--------:|--------:|------------:|-----------:|------------------:|---------------:|")
    for name, (path, build) in LARGEST.items():
        study = path.removeprefix("/v1/")
        # A batch is charged as its items, and a chart by its cells.
        if study not in STUDIES or study == "drop-chart":
            continue
        body = body_of(build)
        work, counted, seconds = min(
            (processed(study, body) for _ in range(ROUNDS)), key=lambda one: one.seconds
        )
        ratios = f"{work / max(1, counted):.2f} | {1e5 * seconds / max(1, work):.2f}"
        row = f"{work} | {counted} | {1e5 * seconds:.0f} | {seconds / reference:.0f} | {ratios}"
        print(f"| {name} | {row} |", flush=True)


def main(arguments: list[str]) -> None:
    """Print both tables; memory first, since room that a large request leaves would hide what others keep."""
    if arguments == ["charges"]:
        print_charges()
        return
    most_seconds = CLIENT.get("/v1/limits").json()["answer_time_seconds"]
    if arguments == ["--json"]:
        before, after = memory()
        print(json.dumps({"rows": list(times(most_seconds)), "resident_kb": [before, after]}))
        return
    print_memory()
    print_times(most_seconds)


if __name__ == "__main__":
    main(sys.argv[1:])
