"""The worked example over HTTP: three requests, to the cent."""

import copy
import json
from decimal import Decimal
from pathlib import Path

import pytest

from service.app import app
from tests import jobs
from tests.client import Client
from tests.jobs import Json

CLIENT = Client(app)
EXAMPLE: Json = json.loads(Path("openapi/examples/quote.json").read_text(encoding="utf-8"))


def quoted(request: Json) -> Json:
    return jobs.answer(CLIENT, request, "/v1/quote")


def example(*, joints: str = "anywhere", longest_ft: float = 500) -> Json:
    """The worked example with joints where it is said, and no spool longer than so many feet."""
    request = copy.deepcopy(EXAMPLE)
    request["cutting"] = {"joints": joints}
    price = request["catalogue"]["cables"][0]["price"]
    price["spools"] = [each for each in price["spools"] if each["length"]["value"] <= longest_ft]
    return request


# Computed apart from this project with exact decimals: goods at a margin of 30 %, unit prices of two
# decimals, 8.25 % tax on goods; the three columns of the worked example.
@pytest.mark.parametrize(
    ("joints", "longest_ft", "cable", "connectors", "hours", "net", "tax", "total"),
    [
        ("anywhere", 500, "257.13", "27.44", "446.25", "1193.68", "61.66", "1255.34"),
        ("nowhere", 500, "371.43", "13.72", "403.75", "1251.76", "69.96", "1321.72"),
        ("nowhere", 250, "400.00", "13.72", "403.75", "1280.33", "72.32", "1352.65"),
    ],
)
def test_the_worked_example_comes_out_to_the_cent(  # noqa: PLR0913, PLR0917  # the columns of its table
    joints: str,
    longest_ft: float,
    cable: str,
    connectors: str,
    hours: str,
    net: str,
    tax: str,
    total: str,
) -> None:
    reply = quoted(example(joints=joints, longest_ft=longest_ft))
    (bill,) = reply["bills"]
    sums = {"supply": "207.14", "fixture": "255.72", "cable": cable, "joint": connectors, "labour": hours}
    for kind, expected in sums.items():
        lines = [Decimal(line["net"]) for line in bill["lines"] if line["kind"] == kind]
        assert sum(lines) == Decimal(expected), kind
    assert (bill["net"], bill["tax"], bill["total"]) == (net, tax, total)
    assert reply["status"] == bill["status"] == "quoted"
    assert reply["summary"]["text"].startswith(f"Total {total} USD.")
    assert reply["valid_until"] == "2026-06-03"
