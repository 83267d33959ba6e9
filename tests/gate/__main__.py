"""Tells what in a document breaks the clients of an older one.

``python -m tests.gate OLD NEW`` compares two files; without them, the last release and the committed
document, where breaks that were accepted are not told. Prints one sentence for each break. Exit code 0: none;
1: some; 2: the files cannot be compared.
"""

import sys
from pathlib import Path

from tests.gate.accepted import ACCEPTED
from tests.gate.operations import breaks
from tests.gate.released import COMMITTED, last_released, read


def main(arguments: list[str]) -> int:
    """Compare, print, and return the exit code."""
    if len(arguments) not in (0, 2):
        sys.stderr.write(f"{__doc__}\n")
        return 2
    old, new = (Path(arguments[0]), Path(arguments[1])) if arguments else (last_released(), COMMITTED)
    if old is None:
        sys.stdout.write("Nothing is released yet, so nothing can break.\n")
        return 0
    try:
        known = () if arguments else ACCEPTED
        found = [each for each in breaks(read(old), read(new)) if str(each) not in known]
    except (OSError, ValueError, KeyError, TypeError, AttributeError) as error:
        sys.stderr.write(f"{old} and {new} cannot be compared: {error!r}\n")
        return 2
    lines = [str(each) for each in found] or [f"Nothing in {new} breaks a client of {old}."]
    sys.stdout.write("\n".join(lines) + "\n")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
