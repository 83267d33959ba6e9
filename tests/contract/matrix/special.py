"""Jobs for what no pair of kinds reaches: too many runs to prove a division, searches that are left."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final, get_args

from service.wire.job import Detail
from tests.contract.matrix.parts import CABLES, PLAIN, SUPPLIES, of
from tests.contract.matrix.quotes import part_with, placed
from tests.studies.least_cost_layout.requests import garden

_BOX: Final = {
    "kind": "transformer",
    "secondary": of(12, "V"),
    "winding": {"rating": of(1, "kVA"), "regulation_percent": 4},
    "circuits": [{"name": name} for name in ("a", "b", "c")],
}


_MOST_CABLES: Final = 12


_PRICE: Final = {"kind": "per-length", "amount": "0.46", "per": "ft"}


def _run(name: str, watts: float, feet: float = 40) -> dict[str, Any]:
    load = {"kind": "constant-power", "power": of(watts, "W")}
    line = {"id": f"L {name}", "at": of(feet, "ft"), "spacing": of(10, "ft"), "count": 2, "load": load}
    return {"id": name, "name": name, "cable": PLAIN, "fixtures": [line]}


def _wiring(*runs: dict[str, Any]) -> dict[str, Any]:
    return {"form": "runs", "runs": list(runs)}


_TWO: Final = _wiring(_run("east", 20), _run("west", 8))


def special(path: str) -> Iterator[dict[str, Any]]:
    """Further jobs for one study."""
    yield from _SPECIAL.get(path, ())


def _division() -> Iterator[dict[str, Any]]:
    stock = [
        {
            "id": "big",
            "rating": of(3, "kVA"),
            "taps": [of(12, "V")],
            "circuits": [{"name": f"{place}"} for place in range(4)],
        }
    ]
    many = _wiring(*(_run(f"run {place}", 4 + place / 8) for place in range(24)))
    full = _wiring(*(_run(f"run {place}", 130, 4) for place in range(4)))
    weak = {"kind": "transformer", "secondary": of(12, "V"), "winding": _weak(10)}
    for wiring in (many, full):
        yield {"supply": _BOX, "wiring": wiring, "stock": stock}
    # The stated box cannot carry it; one of the stock can.
    yield {"supply": weak, "wiring": _wiring(_run("east", 60, 4), _run("west", 60, 4)), "stock": stock}
    alone = {"conditions": {"switching": "by-run"}}
    yield {"supply": _BOX, "wiring": _TWO, **alone}
    resistor = {"kind": "constant-resistance", "power": of(20, "W"), "rated_voltage": of(12, "V")}
    lit = _run("east", 20) | {"fixtures": [{"at": of(40, "ft"), "load": resistor}]}
    yield {"supply": _BOX, "wiring": _wiring(lit, _run("west", 8)), **alone}


def _weak(regulation: float) -> dict[str, Any]:
    return {"rating": of(5, "VA"), "regulation_percent": regulation}


def _many_sizes() -> list[dict[str, Any]]:
    """A stock of prices that are no sums of one another."""
    sizes = ("18 AWG", "16 AWG", "14 AWG", "12 AWG", "10 AWG", "8 AWG", "6 AWG")
    return [
        {
            "id": size,
            "conductor": size,
            "price": {"kind": "per-length", "amount": f"{1 + 0.37 * place:.2f}", "per": "ft"},
        }
        for place, size in enumerate(sizes)
    ]


def _left_search() -> Iterator[dict[str, Any]]:
    """So many cables with prices of their own that the search is left before it is done."""
    wiring = _wiring(*(_run(f"run {place}", 6 + place, 50 + 7 * place) for place in range(12)))
    asked = {
        "supply": _BOX,
        "wiring": wiring,
        "scope": "per-span",
        "limits": {"maximum_drop_percent": 6},
    }
    yield asked | {"stock": _many_sizes(), "currency": "EUR"}
    yield asked


def _from_spools() -> Iterator[dict[str, Any]]:
    """Cable that is joined, and runs whose cut list cannot be proven the cheapest."""
    lengths = ((500, "290"), (250, "152"), (1000, "571.13"), (150, "99.99"))
    for shortest, joints in ((3, "anywhere"), (0, "nowhere")):
        offers = [{"length": of(feet, "ft"), "amount": amount} for feet, amount in lengths[shortest:]]
        price = {"kind": "per-spool", "spools": offers}
        runs = [_run(f"run {place}", 0.01, 30 + place * place * 37 % 449) for place in range(90)]
        yield {
            "supply": _BOX,
            "wiring": _wiring(*runs),
            "stock": [{"id": "reel", "conductor": "10 AWG", "price": price}],
            "cutting": {"joints": joints},
        }


def _parts_lit() -> Iterator[dict[str, Any]]:
    """Readings in states that list what is lit, which leave two causes apart for the next reading."""
    east, west = ("/wiring/runs/0", "/wiring/runs/1")
    lit = {"pointer": f"{east}/fixtures/0", "number": 2}
    states: list[dict[str, Any]] = [
        {"on": "listed", "lit": [lit], "mains": of(119, "V")},
        {"on": "listed", "lit": [{"pointer": west}]},
        {"on": "all-on"},
    ]
    volts = (12.55, 12.5, 11.2)
    readings = [
        {
            "subject": {"kind": "wired", "pointer": f"{east}/fixtures/0", "number": 2},
            "quantity": {"kind": "voltage", "value": of(value, "V")},
            "state": state,
        }
        for value, state in zip(volts, states, strict=True)
    ]
    yield {"supply": SUPPLIES["transformer all"], "wiring": _TWO, "readings": readings}
    yield {"supply": _BOX, "wiring": _TWO, "readings": readings[:1]}
    yield {"supply": _BOX, "wiring": _TWO, "readings": readings[2:]}
    yield {"supply": _BOX, "wiring": _TWO, "readings": readings[1:]}


def _every_cable() -> Iterator[dict[str, Any]]:
    for start in range(0, len(CABLES), _MOST_CABLES):
        yield {
            "cables": [{"cable": cable} for cable in CABLES[start : start + _MOST_CABLES]],
            "powers": [of(20, "W")],
            "lengths": [of(30, "m")],
            "open_circuit": of(12, "V"),
        }


def _collapse() -> Iterator[dict[str, Any]]:
    yield {"supply": _BOX, "wiring": _wiring(_run("east", 2_000)), "id": "too much"}
    rest = {"supply": _BOX, "wiring": _wiring(_run("east", 2_000), _run("west", 8))}
    yield rest
    yield {**rest, "detail": "fixtures"}


def _unlimited() -> Iterator[dict[str, Any]]:
    """A load of nothing, which may stand as far away as is tried."""
    load = {"kind": "constant-power", "power": of(0, "W")}
    asked = {"kind": "longest-run", "load": load, "layout": {"kind": "lumped"}}
    supply = {"kind": "dc-supply", "output": of(12, "V")}
    yield {"supply": supply, "cable": PLAIN, "question": asked, "id": "nothing"}


def _zones() -> Iterator[dict[str, Any]]:
    """Leads of every cable, cable from spools, and more to choose than is gone through."""
    watts = {"kind": "constant-power", "power": of(5, "W")}
    line = {"at": of(2, "ft"), "load": watts, "count": 4, "spacing": of(8, "ft")}
    bed = {"name": "bed", "distance": of(20, "ft")}
    for cable in CABLES:
        leaded = {
            "at": of(2, "ft"),
            "load": watts,
            "input": "dc",
            "lead": {"length": of(2, "ft"), "cable": cable},
        }
        yield {"supply": _BOX, "zones": [bed | {"fixtures": [leaded]}]}
    far = bed | {"distance": of(400, "ft")}
    for request in _from_spools():
        cable = {name: request[name] for name in ("stock", "cutting")}
        yield {
            "supply": _BOX,
            "zones": [far | {"fixtures": [line | {"id": "L1", "count": 1}]}],
            **cable,
        }
    # Too far for the one cable there is, but not for one lamp a run.
    thin = [{"id": "c14", "conductor": "14 AWG", "price": _PRICE}]
    yield {"supply": _BOX, "zones": [far | {"fixtures": [line]}], "stock": thin, "runs_at_most": 1}
    offered = _BOX | {"taps": [of(volts, "V") for volts in (12, 13, 14, 15)]}
    zones = [
        {
            "name": f"zone {place}",
            "distance": of(40 + 17 * place, "ft"),
            "fixtures": [line | {"window": {"minimum": of(9, "V"), "maximum": of(15, "V")}}],
        }
        for place in range(9)
    ]
    for more in ({"stock": _many_sizes(), "currency": "EUR"}, {}):
        yield {"supply": offered, "zones": zones, "limits": {"maximum_drop_percent": 6}, **more}


def _nearest() -> Iterator[dict[str, Any]]:
    """A supply that cannot carry the job, and one of the stock that does and leaves the lamp dim."""
    lamp = {"at": of(100, "ft"), "load": {"kind": "constant-power", "power": of(100, "W")}}
    run = {"cable": {"kind": "listed", "conductor": "12 AWG"}, "fixtures": [lamp]}
    box = {"id": "B", "name": "box", "rating": of(300, "VA"), "taps": [of(12, "V")], "price": "149.00"}
    yield {
        "supply": _BOX | {"winding": {"rating": of(20, "VA"), "regulation_percent": 50}},
        "wiring": {"form": "runs", "runs": [run]},
        "stock": [box],
        "currency": "EUR",
    }


def _nearly_full() -> Iterator[dict[str, Any]]:
    """Two circuits that are nearly full, whatever run is put on which."""
    lamp = {"at": of(5, "ft"), "load": {"kind": "constant-current", "current": of(11, "A")}}
    runs = [{"cable": {"kind": "listed", "conductor": "8 AWG"}, "fixtures": [lamp]}] * 2
    circuits = [{"name": name, "limit": of(12, "A")} for name in ("left", "right")]
    box = {"id": "B", "rating": of(500, "VA"), "taps": [of(12, "V")], "circuits": circuits}
    yield {"supply": _BOX, "wiring": {"form": "runs", "runs": runs}, "stock": [box]}


def _quotes() -> Iterator[dict[str, Any]]:
    """Totals, which are refused; everything that points into a wiring; joints within runs."""
    drop = {"supply": SUPPLIES["transformer all"]}
    totals = {
        "form": "totals",
        "load": {"kind": "constant-power", "power": of(40, "W")},
        "cable": PLAIN,
        "length": of(60, "ft"),
        "nominal_voltage": of(12, "V"),
    }
    yield part_with({**drop, "wiring": totals}, "nothing", "net")
    for catalogue in ("cable by length", "cable in spools"):
        wired = {**drop, "id": "part 1", "wiring": _wiring(_run("east", 20), _run("west", 8, 180))}
        yield placed(part_with(wired, catalogue, "net"))
    example = json.loads(Path("openapi/examples/quote.json").read_text(encoding="utf-8"))
    yield example
    (part,) = example["alternatives"][0]["parts"]
    for wanted in get_args(Detail):
        yield {**example, "alternatives": [{"id": "a", "parts": [{**part, "detail": wanted}]}]}
    # As long as amounts get: thirteen digits at a margin of all but 100 %, as often as may be.
    dearest = {"id": "gold", "tax": "t", "quantity": "999999999.999999", "per": "fixture"}
    uplift = [{"class": "sundries", "kind": "margin", "percent": 99.99999999999999}]
    taxes = [{"code": "t", "percent": 5e-324}, {"code": "work", "percent": 0}]
    yield {
        **{name: part for name, part in example.items() if name != "labour"},
        "catalogue": {"sundries": [{**dearest, "price": {"amount": "9999999999999.999999"}}]},
        "money": {"currency": "EUR", "prices_are": "cost", "taxes": taxes, "uplift": uplift},
    }
    lengths = ((500, "290"), (250, "152"), (1000, "571.13"), (150, "99.99"))
    offers = [{"length": of(feet, "ft"), "amount": amount} for feet, amount in lengths]
    reel = {
        "id": "reel",
        "conductor": "12 AWG",
        "tax": "goods",
        "price": {"kind": "per-spool", "spools": offers},
    }
    runs = [_run(f"run {place}", 0.01, 30 + place * place * 37 % 449) for place in range(90)]
    many = part_with({"supply": _BOX, "wiring": _wiring(*runs)}, "nothing", "net")
    yield {**many, "catalogue": {"cables": [reel]}, "cutting": {"keep_from": of(900, "ft")}}


def _sites() -> Iterator[dict[str, Any]]:
    """A fixture that nothing reaches, and a span longer than the spools that it is joined from."""
    load = {"kind": "constant-power", "power": of(20, "W")}
    box = {"id": "T", "rating": of(300, "VA"), "taps": [of(12, "V"), of(15, "V")], "price": "140"}
    spools = {"kind": "per-spool", "spools": [{"length": of(100, "ft"), "amount": "80"}]}
    for feet in (130, 2_000):
        yield _site(feet, load, box, spools)
    span = {"after": 0, "routes": [0], "stock": 0, "fixtures": [0], "length": of(40, "m")}
    supply = {
        "mounting_point": 0,
        "transformer": 0,
        "runs": [{"tap_place": 1, "circuit": 0, "spans": [span]}],
    }
    branch = {"dug": [], "undug": [], "empty": True, "multipliers": [0, 2**24]}
    cases = [
        {"mounting_points": [0], "transformers": [0], "branches": [branch]},
        {"mounting_points": [0], "branches": [branch | {"dug": [0]}, branch | {"undug": [0]}]},
    ]
    certificate = {"supplies": [supply], "rows": ["rating"], "cases": cases}
    for certify, supplies in ((True, [supply]), (False, []), (False, [_on_lower_tap(supply)])):
        before = certificate | {"supplies": supplies}
        yield _site(130, load, box, spools) | {"certify": certify, "previous": before}
    narrow = garden(4, 1, effort=2_000, id="job 1")
    window = {"minimum": of(9, "V"), "maximum": of(12, "V")}
    yield narrow | {"fixtures": [each | {"window": window} for each in narrow["fixtures"]]}
    yield garden(6, 4, mounts=2, trench=3.0, effort=6_000, certify=True)


def _on_lower_tap(supply: dict[str, Any]) -> dict[str, Any]:
    return supply | {"runs": [run | {"tap_place": 0} for run in supply["runs"]]}


def _site(feet: float, load: Any, box: Any, spools: Any) -> dict[str, Any]:
    points = [{"name": "wall", "x": of(0, "ft"), "y": of(0, "ft")}]
    points.append({"name": "end", "x": of(feet, "ft"), "y": of(0, "ft")})
    return {
        "places": {"frame": "local", "points": points},
        "routes": [{"from": "wall", "to": "end"}],
        "fixtures": [{"place": "end", "load": load, "id": "L1"}],
        "mounting_points": [{"place": "wall"}],
        "transformers": [box],
        "stock": [{"id": "c12", "conductor": "12 AWG", "price": spools}],
        "cutting": {"joints": "anywhere"},
    }


_SPECIAL: Final[dict[str, list[dict[str, Any]]]] = {
    "/v1/voltage-drop": list(_collapse()),
    "/v1/drop-chart": list(_every_cable()),
    "/v1/transformer-loading": [*_division(), *_nearest(), *_nearly_full()],
    "/v1/gauge-recommendation": [*_left_search(), *_from_spools()],
    "/v1/readings-check": list(_parts_lit()),
    "/v1/reach": list(_unlimited()),
    "/v1/run-division": list(_zones()),
    "/v1/quote": list(_quotes()),
    "/v1/least-cost-layout": list(_sites()),
}
