"""Supplies, loads, cables and wirings: each kind bare, with each of its optional members, and with all.

Kinds and members come from the message structs; a member that has no sample here is a KeyError, so that none
can be added without one.
"""

from collections.abc import Callable
from typing import Any, Final, NamedTuple

from msgspec.inspect import StructType

from service.intake.words import options
from service.wire.cable import Cable, Conductor
from service.wire.fixture import FixtureLoad
from service.wire.supply import Supply
from tests.contract.matrix.grammar import grammar


def of(value: float, unit: str) -> dict[str, Any]:
    """A quantity."""
    return {"value": value, "unit": unit}


def variants(struct: StructType, samples: dict[str, list[Any]]) -> dict[str, dict[str, Any]]:
    """One kind bare, with each sample of each optional member alone, and with the first sample of all."""
    tag = {struct.tag_field: struct.tag} if struct.tag_field else {}
    bare = tag | {
        field.encode_name: samples[field.encode_name][0] for field in struct.fields if field.required
    }
    optional = [field.encode_name for field in struct.fields if not field.required]
    found = {f"{struct.tag}": bare}
    for name in optional:
        for place, sample in enumerate(samples[name]):
            found[f"{struct.tag} {name} {place}"] = bare | {name: sample}
    if optional[1:]:
        found[f"{struct.tag} all"] = bare | {name: samples[name][0] for name in optional}
    return found


def variants_of_all(union: Any, samples: dict[str, list[Any]]) -> dict[str, dict[str, Any]]:
    found: dict[str, dict[str, Any]] = {}
    for struct in options(grammar(union)):
        assert isinstance(struct, StructType)
        found |= variants(struct, samples)
    return found


ROW, SUPPLY_ROW, FIXTURE_ROW, LAMP_ROW = "c12", "box", "path light", "capsule"
"""Rows of a quote's catalogue; other studies carry them along."""


SUPPLIES: Final = variants_of_all(
    Supply,
    {
        "secondary": [of(12, "V")],
        "output": [of(12, "V")],
        "lowest": [of(11, "V")],
        "nominal": [of(12.5, "V")],
        "highest": [of(14.4, "V")],
        "winding": [{"rating": of(150, "VA"), "regulation_percent": 5}],
        "open_circuit": [
            {"voltage": of(12.6, "V"), "at_primary": of(121, "V")},
            {"voltage": of(12.9, "V")},
        ],
        "primary": [{"rated": of(120, "V"), "actual": of(117, "V")}],
        "taps": [[of(12, "V"), of(13, "V"), of(15, "V")]],
        "circuits": [
            [
                {"name": "east", "limit": of(5, "A"), "listed_system": True},
                {"name": "west", "listed_system": False},
            ]
        ],
        "minimum_load": [of(20, "W")],
        "maximum_cable_length": [of(60, "ft")],
        "class_2": [True, False],
        "rating": [of(60, "W")],
        "internal_resistance": [of(50, "mohm")],
        "item": [SUPPLY_ROW],
    },
)


def load_of(kind: str, watts: float) -> dict[str, Any]:
    """A load of about so many watts at 12 V."""
    return _loads(watts)[kind]


def _loads(watts: float) -> dict[str, dict[str, Any]]:
    third = of(watts / 3, "W")
    return variants_of_all(
        FixtureLoad,
        {
            "power": [of(watts, "W")],
            "apparent_power": [of(1.3 * watts, "VA")],
            "power_factor": [0.85],
            "current": [of(watts / 12, "A")],
            "rated_voltage": [of(12, "V")],
            "constant_power_part": [third],
            "constant_current_part": [third],
            "constant_resistance_part": [third],
            "length": [of(8, "ft")],
            "power_per_length": [of(watts / 8, "W/ft")],
            "resistance_per_length": [of(0.02, "ohm/ft")],
        },
    )


LOADS: Final = tuple(_loads(1))

_CONDUCTORS: Final[dict[str, list[Any]]] = {
    "conductor": ["12 AWG"],
    "material": ["copper", "copper-clad-aluminium", "aluminium"],
    "stranding": ["stranded", "solid", "flexible"],
    "resistance": [of(5.4, "ohm/km")],
    "at_temperature": [of(20, "degC"), of(68, "degF")],
}
CABLES: Final = tuple(
    variants_of_all(
        Cable,
        _CONDUCTORS
        | {"cables_in_parallel": [2], "other_conductor": [*variants_of_all(Conductor, _CONDUCTORS).values()]}
        | {"item": [ROW]},
    ).values()
)
"""Every kind of cable; wirings use them in turn."""

PLAIN: Final = {"kind": "listed", "conductor": "12 AWG"}


class Scale(NamedTuple):
    """What is to come of a job: lengths as a factor, watts of a fixture, and what may be amiss."""

    length: float
    watts: float
    amiss: str = ""


SCALES: Final = {
    "usual": Scale(1, 4),
    "light": Scale(0.5, 0.2),
    "long": Scale(7, 4),
    "collapsing": Scale(60, 60),
    "heavy on short cable": Scale(0.1, 120),
    "heavy": Scale(1, 25),
    "dark": Scale(1, 0),
    "on the terminals": Scale(0, 4),
    "without fixtures": Scale(1, 4, "empty"),
    "contradictory": Scale(1, 4, "contradictory"),
}


def zones_of(kind: str, load: str, scale: Scale) -> dict[str, Any]:
    """One zone with a fixture, or several with every member; and the types of their fixtures."""
    drawn = load_of(load, scale.watts)
    line = {"at": _ft(scale, 2), "load": drawn}
    several = line | {"count": 3, "spacing": _ft(scale, 6)}
    rich = {"at": _ft(scale, 4), **_rich_fixture(drawn, scale)}
    one = [{"name": "bed", "distance": _ft(scale, 20), "fixtures": [line]}]
    if kind == "one":
        return {"zones": one}
    wall = [several, rich, {"at": _ft(scale, 9), "type": "T either"}]
    further = [
        {"name": "path", "distance": _ft(scale, 20), "fixtures": [several | {"input": "ac"}]},
        {"name": "wall", "id": "w", "distance": _ft(scale, 9), "arrives_at": _ft(scale, 7), "fixtures": wall},
    ]
    return {"zones": [*one, *further], "fixture_types": _types(drawn, scale)}


PLANS: Final = ("local", "wgs84")
"""How the places of a site may be given."""

ORIGIN: Final = {"longitude": 24.9, "latitude": 60.2}
"""Where x and y of a site may be zero."""

FEET_OF_A_DEGREE: Final = 365_000.0
"""Of latitude, about."""


def site_of(plan: str, load: str, scale: Scale) -> dict[str, Any]:
    """Places, routes, fixtures and what may feed them: a few, or some of all with every member."""
    drawn, wide = load_of(load, scale.watts), scale._replace(length=max(scale.length, 0.05))
    spots = {"wall": (0, 0), "bed": (30, 4), "gate": (52, -6), "pond": (60, 18), "shed": (10, 40)}
    lead = {"length": _ft(scale, 3), "cable": PLAIN}
    plain = [{"place": "bed", "load": drawn}, {"place": "gate", "load": drawn, "input": "ac"}]
    rich = [
        {
            name: part
            for name, part in {**_rich_fixture(drawn, scale), "place": "pond"}.items()
            if name != "count"
        },
        {"place": "bed", "type": "T either"},
        {"place": "gate", "load": drawn, "input": "dc" if scale.watts > 100 else "ac"},
        *(
            {"place": "pond", "load": drawn, "lead": {**lead, "cable": cable}}
            for cable in (CABLES if scale.watts < 1 else ())
        ),
    ]
    routes: list[dict[str, Any]] = [
        {"from": "wall", "to": "bed", "trench": {"amount": "1.5", "per": "ft"}},
        {"from": "bed", "to": "gate"},
        {
            "from": "gate",
            "to": "pond",
            "id": "r3",
            "length": _ft(wide, 27),
            "trench": {"amount": "4", "per": "m"},
        },
        {"from": "shed", "to": "pond"},
    ]
    if scale.amiss == "contradictory":
        routes.append({"from": "bed", "to": "nowhere"})
    mains = {"rated": of(120, "V"), "actual": of(118, "V")}
    box = {"id": "T300", "rating": of(300, "VA"), "taps": [of(12, "V"), of(14, "V")], "price": "140"}
    circuits = [
        {"name": "a", "limit": of(12, "A"), "listed_system": True},
        {"name": "b", "listed_system": False},
    ]
    more = {
        "name": "three hundred",
        "regulation_percent": 5,
        "circuits": circuits,
        "minimum_load": of(1, "W"),
    }
    by_length = {"kind": "per-length", "amount": "0.74", "per": "ft"}
    spools = [{"length": of(250, "ft"), "amount": "150"}, {"length": of(1_000, "ft"), "amount": "520"}]
    stock: list[dict[str, Any]] = [
        {"id": "c12", "conductor": "12 AWG", "price": by_length, "name": "twelve", "material": "copper"},
        {"id": "c10", "conductor": "10 AWG", "price": {"kind": "per-spool", "spools": spools}},
        *(
            {
                "id": f"{metal} {lay}",
                "conductor": "6 mm2",
                "material": metal,
                "stranding": lay,
                "price": by_length | {"per": "m"},
            }
            for metal, lay in (
                ("aluminium", "solid"), ("copper-clad-aluminium", "stranded"), ("copper", "flexible"),
            )
        ),
    ]  # fmt: skip
    if plan == "local":
        points = [
            {"name": name, "x": _signed_ft(wide, x), "y": _signed_ft(wide, y)}
            for name, (x, y) in spots.items()
        ]
        return {
            "places": {"frame": "local", "points": points, "origin": ORIGIN},
            "routes": routes,
            "fixtures": plain,
            "mounting_points": [{"place": "wall"}],
            "transformers": [box],
            "stock": stock[:2],
            "effort": 1_000,
        }
    features = [
        {
            "type": "Feature",
            "geometry": {
                "type": "Point",
                "coordinates": [each * wide.length / FEET_OF_A_DEGREE for each in spot],
            },
            "properties": {"name": name},
        }
        for name, spot in spots.items()
    ]
    shed = {"place": "shed", "id": "M2", "price": "60", "primary": mains, "transformers_at_most": 2}
    return {
        "places": {"frame": "wgs84", "type": "FeatureCollection", "features": features},
        "routes": routes,
        "fixtures": rich,
        "fixture_types": _types(drawn, scale),
        "mounting_points": [{"place": "wall", "primary": mains}, shed],
        "transformers": [box | more, box | more | {"id": "T150", "rating": of(150, "VA"), "price": "95"}],
        "stock": stock,
        "effort": 1_000,
    }


def _signed_ft(scale: Scale, feet: float) -> dict[str, Any]:
    return of(feet * scale.length, "ft")


def wiring_of(form: str, load: str, scale: Scale, supply: dict[str, Any]) -> dict[str, Any]:
    """A wiring of one form, with fixtures that draw by one kind of load."""
    return _FORMS[form](load_of(load, scale.watts), scale, supply)


def _ft(scale: Scale, feet: float) -> dict[str, Any]:
    return of(feet * scale.length, "ft")


def _fixtures(scale: Scale, fixtures: list[Any]) -> list[Any]:
    return [] if scale.amiss == "empty" else fixtures


def _runs(load: Any, scale: Scale, supply: dict[str, Any]) -> dict[str, Any]:
    lines = [
        {"at": _ft(scale, 20), "load": load},
        {"at": _ft(scale, 35), "load": load, "count": 3, "spacing": _ft(scale, 8), "input": "ac"},
    ]
    runs = [
        {"cable": PLAIN, "fixtures": _fixtures(scale, lines)},
        {"cable": PLAIN, "fixtures": _fixtures(scale, lines[:1])},
    ]
    return {"form": "runs", "runs": [run | _wired(supply, scale, place) for place, run in enumerate(runs)]}


def _wired(supply: dict[str, Any], scale: Scale, place: int) -> dict[str, Any]:
    """To which tap and circuit a run is wired, where there are several, or to a circuit that there is not."""
    found = {"tap": supply["taps"][place % len(supply["taps"])]} if "taps" in supply else {}
    if scale.amiss == "contradictory":
        return found | {"circuit": "nowhere"}
    circuits = supply.get("circuits", ())
    return found | ({"circuit": circuits[place % len(circuits)]["name"]} if circuits else {})


def _rich_fixture(load: Any, scale: Scale) -> dict[str, Any]:
    return {
        "load": load,
        "id": "L1",
        "name": "bollard",
        "count": 2,
        "window": {"minimum": of(9, "V"), "maximum": of(15, "V")},
        "lead": {"length": _ft(scale, 3), "cable": PLAIN, "item": ROW},
        "splice_resistance": of(5, "mohm"),
        "input": "either",
        "item": FIXTURE_ROW,
        "lamp": LAMP_ROW,
    }


def _types(load: Any, scale: Scale) -> list[dict[str, Any]]:
    """A type of fixture for each current that a fixture may be made for."""
    kept = ("load", "name", "window", "lead", "item", "lamp")
    rich = {name: part for name, part in _rich_fixture(load, scale).items() if name in kept}
    return [{"id": f"T {suited}", "input": suited, **rich} for suited in ("ac", "dc", "either")]


def _rich_runs(load: Any, scale: Scale, supply: dict[str, Any]) -> dict[str, Any]:
    cables = CABLES

    def stretch(place: int, name: str) -> dict[str, Any]:
        lines = [
            {"at": _ft(scale, 10), **_rich_fixture(load, scale)},
            {"at": _ft(scale, 12), "load": load, "spacing": _ft(scale, 4), "count": 2, "input": "dc"},
        ]
        return {
            "id": f"R{place}",
            "name": name,
            "cable": cables[3 * place % len(cables)],
            "fixtures": _fixtures(scale, lines),
            "cable_changes": [{"at": _ft(scale, 8), "cable": cables[(3 * place + 1) % len(cables)]}],
            "tail": _ft(scale, 5),
        }

    spur = stretch(2, "steps") | {
        "at": _ft(scale, 11),
        "return_leg": {"length": _ft(scale, 30), "cable": cables[(3 * 2 + 2) % len(cables)]},
    }
    branch = stretch(1, "pond") | {
        "at": _ft(scale, 12),
        "return_leg": {"length": _ft(scale, 30)},
        "spurs": [spur],
    }
    run = stretch(0, "walk") | {
        "branches": [branch],
        "return_leg": {"length": _ft(scale, 40), "cable": cables[-1]},
    }
    typed = {"fixtures": _fixtures(scale, [{"at": _ft(scale, 9), "type": "T either"}])}
    runs = [run, stretch(3, "hedge"), typed, *({"cable": cable, "fixtures": []} for cable in cables)]
    wired = [one | _wired(supply, scale, place) for place, one in enumerate(runs)]
    shared = {"cable": cables[1], "fixture_types": _types(load, scale)}
    return {"form": "runs", "nominal_voltage": of(12, "V"), "runs": wired, **shared}


def _even(load: Any, scale: Scale, _supply: dict[str, Any]) -> dict[str, Any]:
    return {"form": "even", "count": 6, "load": load, "cable": PLAIN, "length": _ft(scale, 60)}


def _rich_even(load: Any, scale: Scale, supply: dict[str, Any]) -> dict[str, Any]:
    # Fixtures whose first stands behind their last are a contradiction.
    first = _ft(scale, 90 if scale.amiss == "contradictory" else 12)
    return _even(load, scale, supply) | {
        "first_at": first,
        "nominal_voltage": of(15, "V"),
        "cable": CABLES[-1],
        "item": FIXTURE_ROW,
        "lamp": LAMP_ROW,
    }


def _spans(load: Any, scale: Scale, supply: dict[str, Any]) -> dict[str, Any]:
    spans = [("supply", "a", 20), ("a", "b", 10), ("a", "c", 25)]
    points = [{"point": point, "load": load} for point in ("a", "b", "c")]
    # Where nothing is wired to it a point is an island.
    islands = [{"point": "island", "load": load}] if scale.amiss == "contradictory" else []
    return {
        "form": "spans",
        "spans": [_span(scale, supply, place, span) for place, span in enumerate(spans)],
        "fixtures": [*_fixtures(scale, points), *islands],
    }


def _span(scale: Scale, supply: dict[str, Any], place: int, span: tuple[str, str, float]) -> dict[str, Any]:
    start, end, feet = span
    wired = _wired(supply, scale, 0) if start == "supply" else {}
    cable = CABLES[place % len(CABLES)]
    return {"from": start, "to": end, "length": _ft(scale, feet), "cable": cable, **wired}


def _rich_spans(load: Any, scale: Scale, supply: dict[str, Any]) -> dict[str, Any]:
    spans = [
        ("supply", "a", 20), ("supply", "c", 18), ("a", "b", 10), ("b", "c", 25), ("a", "b", 12),
        ("c", "d", 5), ("d", "e", 5), ("e", "c", 9),
    ]  # fmt: skip
    points = [{"point": "b", **_rich_fixture(load, scale)}] + [
        {"point": point, "load": load, "input": suited} for point, suited in (("d", "ac"), ("e", "dc"))
    ]
    points.append({"point": "c", "type": "T either"})
    islands = [{"point": "island", "load": load}] if scale.amiss == "contradictory" else []
    return {
        "form": "spans",
        "nominal_voltage": of(12, "V"),
        "cable": PLAIN,
        "fixture_types": _types(load, scale),
        "spans": [
            {"id": f"S{place}", **_span(scale, supply, place, span)} for place, span in enumerate(spans)
        ],
        "fixtures": [*_fixtures(scale, points), *islands],
    }


def _totals(load: Any, scale: Scale, _supply: dict[str, Any]) -> dict[str, Any]:
    return {"form": "totals", "load": load, "cable": PLAIN, "length": _ft(scale, 60)}


def _rich_totals(load: Any, scale: Scale, supply: dict[str, Any]) -> dict[str, Any]:
    return _totals(load, scale, supply) | {"nominal_voltage": of(12, "V"), "cable": CABLES[1]}


_FORMS: Final[dict[str, Callable[[Any, Scale, dict[str, Any]], dict[str, Any]]]] = {
    "runs": _runs,
    "runs rich": _rich_runs,
    "even": _even,
    "even rich": _rich_even,
    "spans": _spans,
    "spans rich": _rich_spans,
    "totals": _totals,
    "totals rich": _rich_totals,
}
FORMS: Final = tuple(_FORMS)


def fits(form: str, load: str) -> bool:
    """Whether a wiring of this form takes such a load: a total is no strip."""
    return not (form.startswith("totals") and load.startswith("strip"))
