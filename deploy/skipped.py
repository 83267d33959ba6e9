"""Says how many tests were skipped, and why: ``python deploy/skipped.py REPORT...``, of JUnit's XML."""

import sys
import xml.etree.ElementTree as ET
from collections import Counter
from pathlib import Path


def reasons(report: str) -> Counter[str]:
    """Count the skipped tests of a report by their reason."""
    cases = ET.fromstring(report).iter("skipped")  # noqa: S314  # written by our own test run
    return Counter(case.get("message", "no reason given") for case in cases)


def lines(counted: Counter[str]) -> list[str]:
    """Write the number of skipped tests, and each reason with its own."""
    head = f"Skipped: {counted.total()}."
    return [head, *(f"  {count} × {reason}" for reason, count in counted.most_common())]


if __name__ == "__main__":
    reports = (Path(name).read_text(encoding="utf-8") for name in sys.argv[1:])
    counted = sum(map(reasons, reports), Counter[str]())
    print("\n".join(lines(counted)))
