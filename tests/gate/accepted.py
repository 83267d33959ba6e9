"""Breaks since the last release that were accepted, each with its reason, from ``accepted.json``.

A test holds that each of them is found, so that nothing may be accepted in advance or kept after a release.
"""

import json
from pathlib import Path
from typing import Final

ACCEPTED: Final[dict[str, str]] = {
    sentence: group["reason"]
    for group in json.loads(Path(__file__).with_name("accepted.json").read_bytes())
    for sentence in group["breaks"]
}
"""The reason for each break, by its sentence with its pointer."""
