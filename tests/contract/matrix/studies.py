"""Every study with its dimensions, and the request that a row of them stands for."""

import json
import random
from collections.abc import Callable, Iterator, Mapping
from functools import cache
from typing import Any, Final, NamedTuple
from urllib.parse import urlencode
from zlib import crc32

import httpx

from service.app import app
from service.document.operations import Operation, descriptions
from service.studies import STUDIES
from service.studies.drop_chart.request import DropChartQuery
from service.studies.reach.request import Layout, Question
from service.studies.shortening import FIXTURES, FULL, SUMMARY
from service.studies.voltage_drop.request import VoltageDropRequest
from service.wire.job import Detail
from tests.client import Client
from tests.contract.matrix.asks import ASKED_AGAIN, aimed, extras, struct_of
from tests.contract.matrix.covering import Row, every_pair, every_row
from tests.contract.matrix.parts import (
    CABLES,
    FORMS,
    LOADS,
    PLAIN,
    PLANS,
    SCALES,
    SUPPLIES,
    Scale,
    fits,
    load_of,
    of,
    site_of,
    variants_of_all,
    wiring_of,
    zones_of,
)
from tests.contract.matrix.quotes import CATALOGUES, MONEY, part_with
from tests.contract.matrix.readings import SOUNDS, readings_of
from tests.contract.matrix.soundness import BATCH, JSON, offered
from tests.contract.matrix.special import special

CLIENT: Final = Client(app)
REACH: Final = "/v1/reach"
CHART: Final = "/v1/drop-chart"
READINGS: Final = "/v1/readings-check"
DIVISION: Final = "/v1/run-division"
QUOTE: Final = "/v1/quote"
LAYOUT: Final = "/v1/least-cost-layout"
READ: Final = "readings"
NOT_OFFERED: Final = "image/png"
ANYTHING: Final = "*/*"
DETAILS: Final[tuple[Detail, ...]] = (FIXTURES, SUMMARY, FULL)


class Asked(NamedTuple):
    """One request."""

    method: str
    path: str
    accept: str
    request: Any

    def send(self) -> httpx.Response:
        headers = {"accept": self.accept, "content-type": JSON}
        if self.method == "get":
            return CLIENT.get(f"{self.path}?{self.request}", headers=headers)
        return CLIENT.post(self.path, content=json.dumps(self.request).encode(), headers=headers)


class Dimensions(NamedTuple):
    """The columns of one study, and what stands in a column that has no more to cover."""

    columns: dict[str, list[str]]
    usual: Row


class Shape(NamedTuple):
    """What the requests of a study are made of: its own columns, and the request that a row stands for."""

    columns: Callable[[], dict[str, list[str]]]
    request: Callable[[Row], dict[str, Any]]
    amiss: bool = True
    """Whether scales that are amiss are asked as well."""


def posted_paths() -> list[str]:
    """Every study of the table; the batch holds them all."""
    return [f"/v1/{name}" for name in STUDIES]


def shape_of(path: str) -> Shape:
    """Of a study that takes a supply and its wiring the same for all; any other has its own in `SHAPES`."""
    if path not in SHAPES:
        members = {field.encode_name for field in struct_of(operation_of(path).request).fields}
        assert {"supply", "wiring"} <= members, f"say in SHAPES what {path} is asked"
    return SHAPES.get(path, WIRED)


def _accepts(path: str, method: str = "post") -> list[str]:
    return [*offered(path, method), ANYTHING, NOT_OFFERED]


@cache
def dimensions(path: str) -> Dimensions:
    """The columns of the matrix for one operation."""
    usual, shape = {"accept": JSON, "scale": "usual", "extra": "nothing"}, shape_of(path)
    columns = shape.columns() | {
        "scale": [scale for scale in SCALES if shape.amiss or not SCALES[scale].amiss],
        "extra": list(extras(struct_of(operation_of(path).request))),
        "accept": _accepts(path),
    }
    if path == READINGS:
        columns[READ] = list(SOUNDS)
    return Dimensions(columns, usual)


def operation_of(path: str) -> Operation:
    return descriptions()[path.removeprefix("/v1/").replace("-", "_")]


def allowed(row: Mapping[str, str]) -> bool:
    return fits(row.get("form", ""), row.get("load", ""))


def covering(path: str) -> Iterator[Asked]:
    """Requests in which every two values of the dimensions meet, and some for what none of them reaches."""
    found = dimensions(path)
    for place, row in enumerate(every_pair(found.columns, allowed, found.usual)):
        asked = asked_of(path, row)
        yield asked
        if asked.accept == JSON and place % 2:
            yield from asked_again(asked, DETAILS[place // 2 % len(DETAILS)])
    for request in special(path):
        yield Asked("post", path, JSON, request)


def asked_again(asked: Asked, detail: Detail) -> Iterator[Asked]:
    """The same request with so much of its reply, where its study can be asked for that."""
    members = {field.encode_name for field in struct_of(operation_of(asked.path).request).fields}
    if ASKED_AGAIN in members:
        yield asked._replace(request={**asked.request, ASKED_AGAIN: detail})


def full(path: str) -> Iterator[Asked]:
    """The full product of kinds; what else is asked, and the form of the answer, are drawn for each."""
    columns = dict(dimensions(path).columns)
    beside = {name: columns.pop(name) for name in ("extra", "accept", READ) if name in columns}
    # A PDF takes ten times as long to write as JSON.
    beside["accept"] = [*beside["accept"], *[JSON] * 3 * len(beside["accept"])]
    draw = random.Random(1)  # the same each time, no secret
    for row in every_row(columns, allowed):
        asked = asked_of(path, row | {name: draw.choice(values) for name, values in beside.items()})
        yield asked
        if asked.accept == JSON:
            yield from asked_again(asked, draw.choice(DETAILS))


def asked_of(path: str, row: Row) -> Asked:
    """The request that a row stands for."""
    extra = extras(struct_of(operation_of(path).request))[row["extra"]]
    request = shape_of(path).request(row)
    if path == READINGS:
        request["readings"] = readings_of(request, row[READ], CLIENT)
    return Asked("post", path, row["accept"], aimed(request | extra))


def _some_cable(row: Row) -> Any:
    """One cable of all, the same for a row on every run; of what it is made matters little to the rest."""
    return CABLES[crc32(repr(sorted(row.items())).encode()) % len(CABLES)]


def _wired(row: Row) -> dict[str, Any]:
    supply = SUPPLIES[row["supply"]]
    return {"supply": supply, "wiring": wiring_of(row["form"], row["load"], SCALES[row["scale"]], supply)}


def _reach(row: Row) -> dict[str, Any]:
    return {
        "supply": SUPPLIES[row["supply"]],
        "cable": _some_cable(row),
        "question": questions(row["load"], SCALES[row["scale"]])[row["question"]],
    }


def _chart(row: Row) -> dict[str, Any]:
    scale = SCALES[row["scale"]]
    return {
        "cables": [{"cable": _some_cable(row)}, {"cable": PLAIN, "name": "usual", "id": "c2"}],
        "powers": [of(power * scale.watts, "W") for power in (1, 8)],
        "lengths": [of(length * scale.length, "ft") for length in (10, 50)],
        "open_circuit": of(12.6 if scale.length else 24, "V"),
    }


def _division(row: Row) -> dict[str, Any]:
    zones = zones_of(row["zones"], row["load"], SCALES[row["scale"]])
    return {"supply": SUPPLIES[row["supply"]], **zones}


def _quote(row: Row) -> dict[str, Any]:
    asked = extras(struct_of(VoltageDropRequest))[row["part"]]
    return part_with(_wired(row) | asked, row["catalogue"], row["money"])


def _layout(row: Row) -> dict[str, Any]:
    return site_of(row["plan"], row["load"], SCALES[row["scale"]])


@cache
def questions(load: str, scale: Scale) -> dict[str, Any]:
    """Every question in every layout, with each optional member alone and all together."""
    layouts = variants_of_all(
        Layout, {"spacing": [of(8 * scale.length, "ft")], "first_at": [of(5 * scale.length, "ft")]}
    )
    samples: dict[str, list[Any]] = {
        "load": [load_of(load, scale.watts)],
        "length": [of(60 * scale.length, "ft")],
        "power_factor": [0.85],
        "spacing": [of(8 * scale.length, "ft")],
        "first_at": [of(5 * scale.length, "ft")],
    }
    found = {}
    for layout, value in layouts.items():
        for name, question in variants_of_all(Question, samples | {"layout": [value]}).items():
            found[f"{name} {layout}" if "layout" in question else name] = question
    return found


WIRED: Final = Shape(
    lambda: {"form": list(FORMS), "supply": list(SUPPLIES), "load": list(LOADS)},
    _wired,
)


SHAPES: Final = {
    REACH: Shape(
        lambda: {
            "question": list(questions("constant-power", SCALES["usual"])),
            "supply": list(SUPPLIES),
            "load": [load for load in LOADS if not load.startswith("strip")],
        },
        _reach,
        amiss=False,
    ),
    CHART: Shape(dict, _chart, amiss=False),
    DIVISION: Shape(
        lambda: {"zones": ["one", "several"], "supply": list(SUPPLIES), "load": list(LOADS)},
        _division,
    ),
    QUOTE: Shape(
        lambda: {
            "form": [form for form in FORMS if not form.startswith("totals")],
            "supply": list(SUPPLIES),
            "load": list(LOADS),
            "part": list(extras(struct_of(VoltageDropRequest))),
            "catalogue": list(CATALOGUES),
            "money": list(MONEY),
        },
        _quote,
    ),
    LAYOUT: Shape(lambda: {"plan": list(PLANS), "load": list(LOADS)}, _layout),
}
"""Of each study that takes another shape than a supply with its wiring."""


def batches() -> Iterator[Asked]:
    """All studies at once, one of them refused, and each alone."""
    for path in posted_paths():
        row = dimensions(path).usual | {
            name: values[0]
            for name, values in dimensions(path).columns.items()
            if name not in dimensions(path).usual
        }
        request = asked_of(path, row).request
        item = {"study": path.removeprefix("/v1/"), "request": request}
        for accept in _accepts(BATCH):
            yield Asked("post", BATCH, accept, {"items": [item | {"id": "first"}, item | {"request": {}}]})


_QUERY: Final[dict[str, list[str]]] = {
    "conductor": ["12 AWG", "10 AWG"],
    "watts": ["20,100"],
    "volts": ["12.6"],
    "feet": ["10,50,400"],
    "metres": ["5,20"],
    "nominal_volts": ["15"],
    "power_factor": ["0.9"],
    "temperature_degc": ["50"],
    "maximum_drop_percent": ["5"],
}


def addresses() -> Iterator[Asked]:
    """The chart as an address, with each parameter, in every form."""
    struct = struct_of(DropChartQuery)
    lengths = ("feet", "metres")
    needed = {field.encode_name for field in struct.fields if field.required}
    optional = [
        field.encode_name
        for field in struct.fields
        if not field.required and field.encode_name not in lengths
    ]
    chosen = [
        {*needed, length, *more}
        for length in lengths
        for more in ([], *([one] for one in optional), optional)
    ]
    for names in chosen:
        query = urlencode([(name, value) for name in sorted(names) for value in _QUERY[name]])
        for accept in (*_accepts(CHART, "get"), "image/webp,*/*"):
            yield Asked("get", CHART, accept, query)
