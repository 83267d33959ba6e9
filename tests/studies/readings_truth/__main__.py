"""Prints how the readings check does against the truth.

``python -m tests.studies.readings_truth [JOBS [FIRST]]``: so many jobs from the seed of the mix, from number
FIRST on; without arguments those of the test. Ends with every job that was judged wrongly.
"""

import os
import sys
from concurrent.futures import ProcessPoolExecutor

os.environ["LASTLAMP_LOG_LEVEL"] = "error"

from service.app import app
from tests.client import Client
from tests.studies.readings_truth.harness import Judged, judge
from tests.studies.readings_truth.mix import MIX
from tests.studies.readings_truth.table import misses, table


def judged(number: int) -> Judged:
    """Judge one job, in whatever process."""
    return judge(Client(app), number)


def main(arguments: list[str]) -> None:
    """Judge, and print."""
    count = int(arguments[0]) if arguments else MIX["jobs"]["count"]
    first = int(arguments[1]) if len(arguments) > 1 else 0
    with ProcessPoolExecutor(2) as pool:
        jobs = list(pool.map(judged, range(first, first + count), chunksize=10))
    sys.stdout.write("\n".join([*table(jobs), "", *misses(jobs)]) + "\n")


if __name__ == "__main__":
    main(sys.argv[1:])
