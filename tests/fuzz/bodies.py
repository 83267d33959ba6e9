"""Bodies by number: the same seed and number give the same body, so that a run can be resumed and repeated.

Most begin as jobs of the matrix or as examples of the document, the others are drawn from the message types.
Then members are changed by their types, and now and then the text itself.
"""

import copy
import json
import random
import re
from functools import cache
from itertools import pairwise
from typing import Any, Final, NamedTuple
from urllib.parse import quote

from service.studies.drop_chart.request import DropChartQuery
from tests.contract.matrix.asks import aimed, extras, pointers, struct_of
from tests.contract.matrix.covering import Row
from tests.contract.matrix.grammar import grammar
from tests.contract.matrix.readings import ASK_NOTHING
from tests.contract.matrix.soundness import BATCH, JSON, PDF, offered
from tests.contract.matrix.studies import CHART, allowed, asked_of, dimensions, operation_of, posted_paths
from tests.fuzz.asking import calculations
from tests.fuzz.drawing import (
    ANY_VALUES,
    HOSTILE_NUMBERS,
    HOSTILE_TEXTS,
    Place,
    drawn,
    edges,
    extreme,
    places,
)
from tests.fuzz.drawing import struct_of as meant
from tests.fuzz.mutations import SPLICES

LARGE: Final = 0.004
"""Share of bodies that are made large: they take a hundred times as long as others."""

_RAW_NUMBERS: Final = (
    "NaN", "Infinity", "-Infinity", "1e999", "-1e999", "-0", "-0.0", "1E400", "5e-324", "4e-324", "1e-400",
    "9" * 400, "0." + "0" * 400 + "1", "01", "+1", ".5", "1.", "0x10", "1_000", "1e+2", "12.000", "1e308",
    "9" * 5_000,
)  # fmt: skip
_UNITS: Final = (
    "m", "cm", "mm", "km", "in", "ft", "yd", "V", "mV", "A", "mA", "W", "kW", "VA", "kVA", "ohm", "mohm",
)  # fmt: skip


class Body(NamedTuple):
    """One request; of the method GET the body is the query."""

    path: str
    method: str
    accept: str
    content: bytes


def body(seed: int, number: int) -> Body:
    """The body of a number."""
    draw = random.Random(f"{seed}:{number}")  # the same bodies each time, no secret
    chance = draw.random()
    if chance < 0.03:
        return Body(CHART, "get", _accept(CHART, "get", draw), _query(draw))
    if chance < 0.08:
        return Body(BATCH, "post", JSON, _text(_batch(draw), draw))
    path = _path(draw)
    return Body(path, "post", _accept(path, "post", draw), _text(_request(path, draw), draw))


def _path(draw: random.Random) -> str:
    # A reach takes many times as long as the others.
    weights = [1 if path == "/v1/reach" else 5 for path in posted_paths()]
    return draw.choices(posted_paths(), weights)[0]


def _accept(path: str, method: str, draw: random.Random) -> str:
    if draw.random() < 0.85:
        return JSON
    forms = [form for form in offered(path, method) if form != PDF or draw.random() < 0.3]
    return draw.choice([*forms, "*/*", "image/png", "text/*;q=0.5, application/json;q=0.1"])


def _request(path: str, draw: random.Random) -> Any:
    """A request, sound or not, as a value."""
    kind = grammar(operation_of(path).request)
    chance = draw.random()
    if chance < 0.45:
        request = _of_matrix(path, draw)
    elif chance < 0.6:
        request = copy.deepcopy(draw.choice(_shown(path)))
    else:
        request = _made_sound(drawn(kind, draw), draw)
    if draw.random() < 0.3:
        request |= copy.deepcopy(draw.choice(list(extras(struct_of(operation_of(path).request)).values())))
    request = aimed(request) if "wiring" in request else request
    if draw.random() < 0.15:
        _to_extremes(kind, request, draw)
    for _ in range(draw.choice((0, 0, 0, 1, 1, 2, 3, 5))):
        _change(kind, request, draw)
    if draw.random() < LARGE:
        _enlarge(kind, request, draw)
    return request


@cache
def _shown(path: str) -> tuple[Any, ...]:
    """The requests that the document shows."""
    return next(one.requests for one in calculations() if one.path == path)


def _of_matrix(path: str, draw: random.Random) -> Any:
    columns = dimensions(path).columns
    row: Row = {}
    while not row or not allowed(row):
        row = {column: draw.choice(values) for column, values in columns.items()}
    if "readings" in row:
        row["readings"] = draw.choice(ASK_NOTHING)
    return copy.deepcopy(asked_of(path, row).request)


def _made_sound(request: Any, draw: random.Random) -> Any:
    """A drawn request in which names name something: spans begin at the supply, pointers point."""
    wiring = request.get("wiring", {})
    if "mounting_points" in request and draw.random() < 0.9:
        _name_places(request, draw)
    if wiring.get("form") == "spans" and draw.random() < 0.9:
        known = ["supply"]
        for span in wiring["spans"]:
            span["from"], span["to"] = draw.choice(known), draw.choice("abcde")
            known += [span["to"]] if span["to"] not in known else []
            if span["from"] == span["to"] or span["from"] != "supply":
                span.pop("tap", None)
                span.pop("circuit", None)
        for fixture in wiring["fixtures"]:
            fixture["point"] = draw.choice(known)
    if wiring.get("form") == "even" and "first_at" in wiring and draw.random() < 0.9:
        wiring["first_at"] = {**wiring["length"], "value": wiring["length"]["value"] / 3}
    if "open" in request and draw.random() < 0.9:
        found = list(pointers(wiring, "/wiring"))
        request["open"] = draw.sample(found, min(len(found), 2))
    aim = [*pointers(wiring, "/wiring", "load"), *pointers(wiring, "/wiring")]
    for place in list(places_named(request, "pointer")):
        if aim and draw.random() < 0.9:
            place["pointer"] = draw.choice(aim).rpartition("/")[0]
    return request


def _name_places(request: Any, draw: random.Random) -> None:
    """Give the places of a site names of their own; routes, fixtures and mounting points name them."""
    places = request["places"]
    named = places.get("points") or [each["properties"] for each in places["features"]]
    names = [f"p{number}" for number in range(len(named))]
    for each, name in zip(named, names, strict=True):
        each["name"] = name
    for each in places.get("points", ()):
        each |= {axis: {"value": draw.randint(-50, 50), "unit": "ft"} for axis in "xy"}
    for number, each in enumerate(places.get("features", ())):
        each["geometry"]["coordinates"] = [1e-4 * number, 1e-4 * draw.random()]
    request["mounting_points"] = [each | {"place": names[0]} for each in request["mounting_points"][:1]]
    known = {each["id"] for each in request.get("fixture_types", ())}
    load = {"kind": "constant-power", "power": {"value": 4, "unit": "W"}}
    for each in request["fixtures"]:
        each["place"] = draw.choice(names[1:])
        if known and "type" in each:
            each["type"] = min(known)
        else:
            each.pop("type", None)
            each.setdefault("load", load)
    length = {"value": draw.randint(2, 60), "unit": "ft"}
    request["routes"] = [{"from": one, "to": other, "length": length} for one, other in pairwise(names)]
    price = {"kind": "per-length", "amount": "0.50", "per": "ft"}
    request["stock"] = [each | {"price": price} for each in request["stock"]]
    rating = {"value": draw.randint(1, 900), "unit": "VA"}
    request["transformers"] = [
        {"price": "90"} | each | {"rating": rating} for each in request["transformers"]
    ]


def places_named(value: Any, member: str) -> list[Any]:
    """Every object that has a member of a name."""
    parts = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    own = [value] if isinstance(value, dict) and member in value else []
    return own + [found for part in parts for found in places_named(part, member)]


def _change(kind: Any, request: Any, draw: random.Random) -> None:
    """Change one member by its type."""
    found = list(places(kind, request))
    if not found:
        return
    place = draw.choice(found)
    draw.choice(_CHANGES)(place, draw)


def _to_an_edge(place: Place, draw: random.Random) -> None:
    numbers = [*edges(place.kind)]
    if numbers:
        place.holder[place.key] = draw.choice([*numbers, *HOSTILE_NUMBERS])
    elif isinstance(place.holder[place.key], str):
        place.holder[place.key] = draw.choice([*HOSTILE_TEXTS, *_UNITS])
    else:
        _redraw(place, draw)


def _redraw(place: Place, draw: random.Random) -> None:
    place.holder[place.key] = drawn(place.kind, draw)


def _add(place: Place, draw: random.Random) -> None:
    """Give an object one of the members that it may have and has not."""
    value = place.holder[place.key]
    struct = meant(place.kind, value) if isinstance(value, dict) else None
    absent = [field for field in struct.fields if field.encode_name not in value] if struct else []
    if absent:
        field = draw.choice(absent)
        value[field.encode_name] = drawn(field.type, draw)


def _drop(place: Place, _draw: random.Random) -> None:
    del place.holder[place.key]


def _several(place: Place, draw: random.Random) -> None:
    value = place.holder[place.key]
    if isinstance(value, list) and value:
        value *= draw.choice((0, 2, 2, 3, 10, 40))
        draw.shuffle(value)
    else:
        _to_an_edge(place, draw)


def _from_elsewhere(place: Place, draw: random.Random) -> None:
    """Put what another study is asked with in the place of a member, by its name where it has that."""
    other = copy.deepcopy(draw.choice(_shown(draw.choice(posted_paths()))))
    alike = places_named(other, place.key) if isinstance(place.key, str) else []
    if alike and draw.random() < 0.7:
        place.holder[place.key] = draw.choice(alike)[place.key]
    else:
        place.holder[place.key] = draw.choice(list(other.values()))


def _anything(place: Place, draw: random.Random) -> None:
    place.holder[place.key] = copy.deepcopy(draw.choice(ANY_VALUES))


_CHANGES: Final = (
    _to_an_edge, _to_an_edge, _redraw, _redraw, _add, _add, _drop, _several, _from_elsewhere, _anything,
)  # fmt: skip
"""Those that stand twice are drawn twice as often."""


def _to_extremes(kind: Any, request: Any, draw: random.Random) -> None:
    """Make some or most numbers as small or as large as they may be, or anything between: all of it fits."""
    share = draw.choice((0.05, 0.2, 0.7))
    for place in places(kind, request):
        if isinstance(place.holder[place.key], int | float) and draw.random() < share:
            place.holder[place.key] = extreme(place.kind, place.holder[place.key], draw)


def _enlarge(kind: Any, request: Any, draw: random.Random) -> None:
    """Make one list as long as it may be or longer, or one count as large."""
    lists = [place for place in places(kind, request) if isinstance(place.holder[place.key], list)]
    counts = [place for place in places(kind, request) if place.key == "count"]
    if not lists and not counts:
        return
    chosen = draw.choice([*lists, *counts])
    if chosen.key == "count":
        chosen.holder["count"] = draw.choice((100, 500, 2_000, 9_999, 10_001))
    else:
        value = chosen.holder[chosen.key]
        value *= draw.choice((20, 60, 200, 700))


def _batch(draw: random.Random) -> Any:
    items = []
    for _ in range(draw.choice((0, 1, 1, 2, 3, 5))):
        path = _path(draw)
        study = draw.choice((path.removeprefix("/v1/"),) * 20 + ("batch", "reach", ""))
        request = draw.choice((_request(path, draw),) * 12 + ANY_VALUES[:6])
        items.append({"study": study, "request": request})
        if draw.random() < 0.2:
            items[-1]["id"] = draw.choice(("one", "", "x" * 65))
    return {"items": items}


def _query(draw: random.Random) -> bytes:
    """Parameters of the chart, each fitting most of the time."""
    struct = struct_of(DropChartQuery)
    parts: list[tuple[str, str]] = []
    # One of the two parameters that hold lengths; now and then both, or none.
    lengths = draw.choice((["feet"],) * 8 + (["metres"],) * 8 + (["feet", "metres"], []))
    for field in struct.fields:
        if field.encode_name in ("feet", "metres"):
            wanted = field.encode_name in lengths
        else:
            wanted = draw.random() < (0.98 if field.required else 0.4)
        if wanted:
            value = drawn(field.type, draw)
            if draw.random() < 0.05:
                value = draw.choice([*edges(field.type), *HOSTILE_NUMBERS, *HOSTILE_TEXTS])
            several = value if isinstance(value, list) else [value]
            joined = [",".join(map(str, several))] if field.encode_name != "conductor" else several
            parts += [(field.encode_name, _as_parameter(each)) for each in joined]
    text = "&".join(
        f"{quote(name)}={quote(value, safe=draw.choice((',', '', ', ')))}" for name, value in parts
    )
    if draw.random() < 0.1:
        text += draw.choice(
            ("&", "&&", "&feet", "=", "&%zz=1", "%", "&feet=1&feet=2", "&watts=%ff", ";", "#", "?")
        )
    return text.encode("ascii", "ignore")


def _as_parameter(value: Any) -> str:
    # The digits of a number of thousands of them are more than Python writes at once.
    return value if isinstance(value, str) else json.dumps(value)


_MEMBER: Final = re.compile(r'"[a-z_0-9]+": ')
_NUMBER: Final = re.compile(r"(?<=: )-?[0-9][0-9.e+-]*")


def _text(request: Any, draw: random.Random) -> bytes:
    """The bytes of a request; in one body of six the text itself is changed."""
    text = json.dumps(request, ensure_ascii=draw.random() < 0.5)
    chance = draw.random()
    if chance < 0.04 and (numbers := list(_NUMBER.finditer(text))):
        hit = draw.choice(numbers)
        text = text[: hit.start()] + draw.choice(_RAW_NUMBERS) + text[hit.end() :]
    elif chance < 0.07 and (members := list(_MEMBER.finditer(text))):
        hit = draw.choice(members)
        twice = hit.group() + draw.choice(("null, ", "1, ", "{}, ", '"a", '))
        text = text[: hit.start()] + twice + text[hit.start() :]
    elif chance < 0.085:
        depth = draw.choice((10, 30, 64, 65, 400, 5_000))
        text = draw.choice(
            ('{"items": ' + "[" * depth, "[" * depth + "]" * depth, '{"a":' * depth + text + "}" * depth)
        )
    content = text.encode("utf-8", "surrogatepass")
    if 0.085 <= chance < 0.11:
        content = content[: draw.randint(0, len(content))]
    elif 0.11 <= chance < 0.16:
        at = draw.randint(0, len(content))
        content = content[:at] + draw.choice(SPLICES) + content[at + draw.choice((0, 0, 1, 5)) :]
    elif 0.16 <= chance < 0.165:
        content = draw.randbytes(draw.randint(0, 60))
    elif 0.165 <= chance < 0.17:
        content = draw.choice(
            (content + content, b" " * 5_000 + content, b"\xef\xbb\xbf" + content, content[::-1])
        )
    return content
