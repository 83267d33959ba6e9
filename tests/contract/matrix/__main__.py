"""Tries the full product of the matrix and prints what came of it.

python -m tests.contract.matrix [path ...]
"""

import os
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from itertools import islice
from multiprocessing import get_context

from tests.contract.matrix.studies import posted_paths
from tests.contract.matrix.trying import MOST_SHOWN, whole


def main(paths: list[str]) -> int:
    """Print a line for each status of each study, and the first faults; 1 where there is one."""
    # The process to come reads it when it imports the application: no line of log for each request.
    os.environ["LASTLAMP_LOG_LEVEL"] = "error"
    faults = 0
    with ProcessPoolExecutor(1, get_context("spawn")) as pool:
        for path in paths or posted_paths():
            started = time.monotonic()
            found = pool.submit(whole, path).result()
            seconds = time.monotonic() - started
            faults += len(found.faults)
            print(f"{path}: {found.statuses.total()} requests, {len(found.faults)} faults, {seconds:.0f} s")
            for (status, media_type, code), count in sorted(found.statuses.items()):
                print(f"  {status} {media_type} {code}: {count}")
            for fault in islice(found.faults, MOST_SHOWN):
                print(f"  fault: {fault}")
            sys.stdout.flush()
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
