"""The garden of the examples as the programs of the packages walk through it."""

import json
import re
import shutil
from collections.abc import Sequence
from pathlib import Path

from tests.clients.served import Received
from tests.walk.walking import FOLDER

BROUGHT = ("sketch.json", "stock.json", "7-readings.json", "8-after-the-repair.json")
"""What a person brings: the sketch, the stock, and what the meter read."""

QUOTE = "5-quote.json"


def lay_out(folder: Path) -> None:
    """Copy what a person brings into the folder of a program."""
    for name in BROUGHT:
        shutil.copy(FOLDER / name, folder)


def assert_walked(printed: str, received: Sequence[Received]) -> None:
    """Compare what a program sent and printed with the requests of the garden and their sentences.

    The quote needs prices that these programs do not bring.
    """
    files = [each for each in sorted(FOLDER.glob("[1-9]-*.json")) if each.name != QUOTE]
    requests = [json.loads(each.read_bytes()) for each in files]
    assert [json.loads(each.body) for each in received] == requests
    told = (FOLDER / "README.md").read_text(encoding="utf-8")
    sentences = [
        said for said in re.findall(r"^> (.*)$", told, re.MULTILINE) if not said.startswith("Total ")
    ]
    assert [line for line in printed.splitlines() if line in sentences] == sentences
