"""Sends many bodies and prints what came of them.

    python -m tests.fuzz --bodies 20000 --seed 1 [--processes 2]

`--start` resumes a run, or repeats one body of it with `--bodies 1`; `--keep` names a folder for the bodies
whose replies were not as described.
"""

import argparse
import os
import sys
from collections import Counter
from concurrent.futures import ProcessPoolExecutor, as_completed
from multiprocessing import get_context
from pathlib import Path

from tests.fuzz.running import Figures, nothing, run

CHUNK = 500
SHOWN = 10


def main(arguments: list[str]) -> int:
    """Run and print; 1 where a reply was not as described."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz")
    parser.add_argument("--bodies", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--start", type=int, default=0)
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--keep", type=Path)
    given = parser.parse_args(arguments)
    end = given.start + given.bodies
    chunks = [range(first, min(first + CHUNK, end)) for first in range(given.start, end, CHUNK)]
    found = gathered(given.seed, chunks, given.processes)
    print_figures(found, given.seed)
    if given.keep:
        keep(found, given.keep)
    return 1 if found.faults else 0


def gathered(seed: int, chunks: list[range], processes: int) -> Figures:
    """Run all chunks; an interrupt leaves what is done by then."""
    found, bodies = nothing(), sum(map(len, chunks))
    # The processes to come read it when they import the application: no line of log for each request.
    os.environ["LASTLAMP_LOG_LEVEL"] = "error"
    pool = ProcessPoolExecutor(processes, get_context("spawn"))
    try:
        for done in as_completed([pool.submit(run, seed, chunk) for chunk in chunks]):
            found += done.result()
            say_progress(found, bodies)
    except KeyboardInterrupt:
        print("Interrupted; these are the figures so far.", file=sys.stderr)
    finally:
        pool.shutdown(cancel_futures=True)
    return found


def say_progress(found: Figures, bodies: int) -> None:
    print(f"{found.statuses.total()} of {bodies}, {len(found.faults)} faults", file=sys.stderr, flush=True)


def print_figures(found: Figures, seed: int) -> None:
    """Print a table: bodies, statuses and time of each study, and faults by kind."""
    by_study = Counter[str]()
    for (study, _, _), count in found.statuses.items():
        by_study[study] += count
    total, seconds = found.statuses.total(), found.microseconds.total() / 1e6
    print(f"seed {seed}: {total} bodies, {total / max(seconds, 1e-9):.0f} a second in one process")
    slow = Counter(path for _, _, path in found.slow)
    print("| study | bodies | ms each | over 1 s | replies |")
    print("|---|---|---|---|---|")
    for study, count in sorted(by_study.items()):
        path = study.partition(" ")[2]
        same_path = sum(number for one, number in by_study.items() if one.endswith(f" {path}"))
        replies = sorted(
            (status, code, n) for (one, status, code), n in found.statuses.items() if one == study
        )
        listed = ", ".join(f"{status} {code} {n}" for status, code, n in replies)
        each_ms = found.microseconds[path] / 1_000 / same_path
        print(f"| {study} | {count} | {each_ms:.1f} | {slow[path]} | {listed} |")
    for took, number, path in sorted(found.slow, reverse=True)[:SHOWN]:
        print(f"slow: number {number}, {path}, {took} s")
    print(f"faults: {len(found.faults)}")
    for kind, count in Counter(fault.kind for fault in found.faults).most_common():
        first = next(fault for fault in found.faults if fault.kind == kind)
        print(f"- {count} × {kind}; first number {first.number}, {len(first.body.content)} bytes")


def keep(found: Figures, folder: Path) -> None:
    """Write each body whose reply was not as described, named by its number and study."""
    folder.mkdir(parents=True, exist_ok=True)
    for fault in found.faults:
        name = f"{fault.number}-{fault.body.path.rpartition('/')[2]}.{fault.body.method}"
        (folder / name).write_bytes(fault.body.content)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
