"""Point numbers and windows of rows: a client follows the wiring and judges by them without reading names."""

import json
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from tests import jobs
from tests.circuit.gardens import ALL
from tests.client import Client
from tests.jobs import Json
from tests.sheets.reading import SVG, printed

EXAMPLES = Path(__file__).parents[3] / "openapi" / "examples"
NAMESPAKES = jobs.run(
    jobs.lamp(5, jobs.watts(4), name="step"),
    name="walk",
    branches=[jobs.branch(5, jobs.lamp(4, jobs.watts(6)), name="walk")],
)
JOBS = {
    **ALL,
    **{
        name: json.loads((EXAMPLES / f"{name}.json").read_bytes())
        for name in ("voltage_drop", "voltage_drop_even", "voltage_drop_spans", "voltage_drop_strip")
    },
    "namesakes": jobs.job(NAMESPAKES, NAMESPAKES, supply=jobs.transformer()),
}
SHOWN_V = 1e-4
"""The last figure of a voltage. [V]"""


def fallen_v(reply: Json) -> dict[int, float]:
    """Volts lost between the terminal and each point, span by span in any order. [V]"""
    fallen = {0: 0.0}
    waiting = list(reply["spans"])
    while waiting:
        left = []
        for span in waiting:
            start, end, drop_v = span["from_point"], span["to_point"], span["drop"]["value"]
            if start in fallen:
                fallen.setdefault(end, fallen[start] + drop_v)
            elif end in fallen:
                fallen.setdefault(start, fallen[end] - drop_v)
            else:
                left.append(span)
        assert len(left) < len(waiting), "some spans hang on nothing"
        waiting = left
    return fallen


@pytest.mark.parametrize("request_body", JOBS.values(), ids=JOBS.keys())
def test_drops_from_point_to_point_add_up_to_what_each_fixture_lost(
    client: Client, request_body: Json
) -> None:
    reply = jobs.solved(client, request_body)
    fallen = fallen_v(reply)
    # Each drop is off by half of its last figure, and so is the one that they add up to.
    off_v = 0.5 * SHOWN_V * (len(reply["spans"]) + 1)
    for row in reply["fixtures"]:
        assert fallen[row["point"]] == pytest.approx(row["cable_drop"]["value"], abs=off_v)


@pytest.mark.parametrize("request_body", JOBS.values(), ids=JOBS.keys())
def test_a_fixture_is_inside_exactly_where_its_voltages_lie_in_its_window(
    client: Client, request_body: Json
) -> None:
    for row in jobs.solved(client, request_body)["fixtures"]:
        least_v, most_v = (row["window"][end]["value"] for end in ("minimum", "maximum"))
        shown = [row["voltage"]["value"], row.get("far_voltage", row["voltage"])["value"]]
        assert (row["verdict"] == "inside") == (least_v <= min(shown) and max(shown) <= most_v)


def test_a_window_of_the_request_is_the_one_that_is_judged_by(client: Client) -> None:
    own = jobs.lamp(5, jobs.watts(4), window=jobs.window(11.5, 12.25))
    [row] = jobs.solved(client, jobs.job(jobs.run(own), supply=jobs.transformer()))["fixtures"]
    assert row["window"] == {"minimum": jobs.volts(11.5), "maximum": jobs.volts(12.25)}


def test_points_of_namesakes_have_numbers_of_their_own(client: Client) -> None:
    reply = jobs.solved(client, JOBS["namesakes"])
    assert len({row["point"] for row in reply["fixtures"]}) == 4
    assert len({span["to_point"] for span in reply["spans"]}) == 4


NO_LENGTH = {
    "points that became one": {
        "supply": jobs.transformer(),
        "wiring": {
            "form": "spans",
            "spans": [
                {"from": start, "to": end, "length": jobs.metres(0), "cable": jobs.awg(12)}
                for start, end in (("supply", "a"), ("a", "b"))
            ],
            "fixtures": [{"point": point, "load": jobs.watts(4)} for point in "ab"],
        },
    },
    "less than a millimetre apart": jobs.even(3, jobs.watts(4), 0.00106),
}


@pytest.mark.parametrize("request_body", NO_LENGTH.values(), ids=NO_LENGTH.keys())
def test_fixtures_at_one_point_all_have_their_marks(client: Client, request_body: Json) -> None:
    drawing = ET.fromstring(printed(client, "/v1/voltage-drop", request_body, SVG))  # noqa: S314  # our own
    marks = [path for path in drawing.iter() if path.get("class") in ("ink", "warn", "hollow")]
    shapes = [path for path in marks if path.tag.endswith("}path")]
    assert len(shapes) == 2 * len(jobs.solved(client, request_body)["fixtures"])
