"""The plan in a drawing program: read clean by another's reader, to scale, with every thing on its layer."""

import doctest
import json
from io import BytesIO
from itertools import pairwise
from math import hypot
from pathlib import Path
from typing import Any

import pytest
from ezdxf import units
from ezdxf.recover import read

from service.sheets import dxf
from service.sheets.dxf import CadDrawing, CadLayer, CadLine, CadText, dxf_bytes, text_value
from tests import jobs
from tests.client import Client
from tests.jobs import Json
from tests.studies.least_cost_layout.requests import garden

EXAMPLE = Path(__file__).parents[3] / "openapi" / "examples" / "least_cost_layout.json"
PATH = "/v1/least-cost-layout"
DXF = "image/vnd.dxf"


def opened(content: bytes) -> Any:
    """The drawing as ezdxf reads it, without one error or mend."""
    assert content.isascii()
    document: Any
    document, auditor = read(BytesIO(content))
    assert (auditor.errors, auditor.fixes) == ([], [])
    assert document.dxfversion == "AC1009"
    return document


def drafted(client: Client, request: Json) -> Any:
    reply = client.post(PATH, json=request, headers={"Accept": DXF})
    assert reply.status_code == 200, reply.text
    assert reply.headers["content-type"] == DXF
    assert reply.headers["content-disposition"] == 'attachment; filename="least-cost-layout.dxf"'
    return opened(reply.content)


def texts(document: Any, layer: str) -> list[str]:
    return [each.plain_text() for each in document.modelspace().query(f'TEXT[layer=="{layer}"]')]


def corners(line: Any) -> list[tuple[float, float]]:
    return [(each.dxf.location.x, each.dxf.location.y) for each in line.vertices]


def long(line: Any) -> float:
    return sum(hypot(u - x, v - y) for (x, y), (u, v) in pairwise(corners(line)))


@pytest.mark.parametrize(("system", "unit", "in_feet"), [("us", units.FT, 1.0), ("metric", units.M, 0.3048)])
def test_a_plan_is_to_scale_in_the_unit_of_the_reply(
    client: Client, system: str, unit: int, in_feet: float
) -> None:
    request = garden(6, 4, effort=2_000, units=system)
    reply, document = jobs.answer(client, request, PATH), drafted(client, request)
    assert document.units == unit
    points = {each["name"]: each for each in request["places"]["points"]}
    circles = document.modelspace().query('CIRCLE[layer=="FIXTURE"]')
    for fixture, circle in zip(request["fixtures"], circles, strict=True):
        at = points[fixture["place"]]
        assert circle.dxf.center.x == pytest.approx(in_feet * at["x"]["value"], abs=1e-6)
        assert circle.dxf.center.y == pytest.approx(in_feet * at["y"]["value"], abs=1e-6)
    for run in (run for supply in reply["layout"]["supplies"] for run in supply["runs"]):
        layers = {f"{run['name']} {row['conductor']}".upper().replace(" ", "-") for row in run["spans"]}
        lines = [
            line for name in layers for line in document.modelspace().query(f'POLYLINE[layer=="{name}"]')
        ]
        assert sum(map(long, lines)) == pytest.approx(run["cable"]["value"], rel=1e-3)


def test_every_thing_lies_on_its_layer_with_its_number(client: Client) -> None:
    request = garden(5, 2, mounts=2, effort=2_000)
    for number, fixture in enumerate(request["fixtures"]):
        fixture["name"] = f"lamp by the {number}"
    reply, document = jobs.answer(client, request, PATH), drafted(client, request)
    assert texts(document, "FIXTURE") == [f"{number + 1} lamp by the {number}" for number in range(5)]
    used = {int(each["mounting_point"].rpartition("/")[2]) for each in reply["layout"]["supplies"]}
    told = texts(document, "TRANSFORMER")
    assert [place for place, words in enumerate(told) if ", b" in words] == sorted(used)
    lines = document.modelspace().query
    assert len(lines('POLYLINE[layer=="TRENCH"]')) == len(reply["layout"]["trenches"])
    assert len(lines('POLYLINE[layer=="TRENCH" | layer=="ROUTE"]')) == len(request["routes"])
    assert all(each.is_closed for each in lines('POLYLINE[layer=="TRANSFORMER"]'))
    assert any("proposal" in words for words in texts(document, "NOTE"))


def test_runs_are_told_apart_without_colour(client: Client) -> None:
    document = drafted(client, json.loads(EXAMPLE.read_bytes()))
    dashed = {
        layer.dxf.name[: len("RUN-1")]: layer.dxf.linetype
        for layer in document.layers
        if layer.dxf.name.startswith("RUN-")
    }
    assert len(dashed) > 1
    assert len(set(dashed.values())) == len(dashed)


def test_without_a_layout_the_site_is_drawn(client: Client) -> None:
    request = garden(3, 1)
    request["routes"] = [each | {"length": jobs.feet(9_000)} for each in request["routes"]]
    document = drafted(client, request)
    assert len(texts(document, "FIXTURE")) == 3
    assert not [layer for layer in document.layers if layer.dxf.name.startswith("RUN-")]


HOSTILE = [
    "100 % of 50 %%d",
    "a^Jb ^ c",
    r"\P{\U+0041;} \U+",
    "إنارة الحديقة",
    "Gärtnerweg – Süd",
    "灯" * 60,
    "0\nEOF",
]


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_names_are_text_and_nothing_else(name: str) -> None:
    lines = CadLine("WALL", [(0.0, 0.0), (5.0, 0.0)])
    content = dxf_bytes(CadDrawing("m", [CadLayer("WALL")], [CadText("WALL", (1.0, 1.0), 0.2, name), lines]))
    document = opened(content)
    [text] = document.modelspace().query("TEXT")
    shown = text.plain_text()
    if len(name) < 40:
        assert shown == name.replace("\n", " ")
    else:
        assert shown.endswith("...")
        assert name.startswith(shown.removesuffix("..."))
    assert max(map(len, content.split(b"\r\n"))) <= 255
    assert len(document.modelspace()) == 2


@pytest.mark.parametrize("name", HOSTILE[:-1])
def test_a_site_with_hostile_names_is_read_clean(client: Client, name: str) -> None:
    request = garden(3, 1, effort=1_000)
    request["fixtures"][0]["name"] = name
    shown = texts(drafted(client, request), "FIXTURE")[0]
    assert shown == f"1 {name}" or shown.endswith("...")


CONTROLS = (0, 9, 10, 13, 27, 0x7F, 0x85, 0x2028, 0x202E, 0xD800)


@pytest.mark.parametrize("code", CONTROLS)
def test_no_control_character_is_written(code: int) -> None:
    assert text_value(f"a{chr(code)}b") == "a b"


def test_what_the_writer_shows_of_itself_is_so() -> None:
    found = doctest.testmod(dxf)
    assert found.attempted >= 2
    assert not found.failed
