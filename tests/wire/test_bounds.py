"""A quantity has the same bounds in every unit, and the decoder and the document draw them alike."""

import json
import math
from collections.abc import Iterator
from fractions import Fraction
from typing import Any, Final, get_args, get_type_hints

import msgspec
import pytest
from jsonschema_rs import Draft202012Validator

from service import intake
from service.document.schemas import unions
from service.problems import ErrorItem, Refused
from service.studies.voltage_drop.request import VoltageDropRequest
from service.units import DIMENSION_OF, DIMENSIONS
from service.wire.quantities import (
    Bounds,
    DeviceCurrent,
    DirectRating,
    Length,
    MainsVoltage,
    Measured,
    NominalVoltage,
    Quantity,
    Rating,
    ResistancePerLength,
    bounds_of,
)
from service.wire.readings import ListedState
from service.wire.wiring import Branch, Run, Spur
from tests.document.reading import followed, request_schemas
from tests.gate.quantities import bounds_in
from tests.gate.released import COMMITTED, read

DOCUMENT: Final = read(COMMITTED)
SCHEMAS: Final[dict[str, Any]] = DOCUMENT["components"]["schemas"]

EXACT: Final = {
    "m": Fraction(1),
    "cm": Fraction(1, 100),
    "mm": Fraction(1, 1000),
    "km": Fraction(1000),
    # International yard and pound agreement, 1959: 1 yd = 0.9144 m exactly, of 3 feet and 36 inches.
    "yd": Fraction("0.9144"),
    "ft": Fraction("0.3048"),
    "in": Fraction("0.0254"),
    "ohm/m": Fraction(1),
    "ohm/km": Fraction(1, 1000),
    "ohm/ft": 1 / Fraction("0.3048"),
    "ohm/kft": 1 / Fraction("304.8"),
    "W/m": Fraction(1),
    "W/ft": 1 / Fraction("0.3048"),
    # SI Brochure, 9th edition, table 7: kilo is a thousand, milli a thousandth.
    "V": Fraction(1),
    "A": Fraction(1),
    "W": Fraction(1),
    "VA": Fraction(1),
    "ohm": Fraction(1),
    "mV": Fraction(1, 1000),
    "mA": Fraction(1, 1000),
    "mohm": Fraction(1, 1000),
    "kW": Fraction(1000),
    "kVA": Fraction(1000),
}
"""How much of the first unit of its dimension a unit is, by definition."""


def kinds(kind: type[Quantity]) -> Iterator[type[Quantity]]:
    """Every quantity of the messages that are loaded."""
    for below in kind.__subclasses__():
        if below.__name__ in SCHEMAS:
            yield below
        yield from kinds(below)


unions()  # loads every module of messages
KINDS: Final = sorted(kinds(Quantity), key=lambda kind: kind.__name__)
SEVERAL: Final = [kind for kind in KINDS if issubclass(kind, Measured)]


def bounds(kind: type[Quantity]) -> dict[str, Bounds]:
    """The bounds by unit, as the document prints them."""
    schema = SCHEMAS[kind.__name__]
    unit = followed(DOCUMENT, schema["properties"]["unit"])
    return {
        name: Bounds(least=found["minimum"], most=found["maximum"])
        for name in unit.get("enum", [unit.get("const")])
        for found in [bounds_in(schema, name)]
    }


def test_every_quantity_that_a_request_may_have_is_looked_at() -> None:
    found = {
        name
        for name, schema in request_schemas(DOCUMENT).items()
        if schema.get("properties", {}).keys() == {"value", "unit"}
    }
    assert found == {kind.__name__ for kind in KINDS}


CASES: Final = [
    pytest.param(kind, unit, found, id=f"{kind.__name__}-{unit}")
    for kind in KINDS
    for unit, found in bounds(kind).items()
]


def error_of(kind: type[Quantity], value: float, unit: str) -> ErrorItem | None:
    try:
        intake.decode(json.dumps({"value": value, "unit": unit}).encode(), kind)
    except Refused as refused:
        [error] = refused.errors
        return error
    return None


def near(bound: float, step: float) -> Iterator[float]:
    """A bound and the floats beside it; of a quantity that has steps, the next step."""
    yield bound
    for towards in (-math.inf, math.inf):
        yield math.nextafter(bound, towards) if step == 0 else bound + math.copysign(step, towards)


@pytest.mark.parametrize(("kind", "unit", "found"), CASES)
def test_decoder_and_document_draw_a_bound_at_the_same_float(
    kind: type[Quantity], unit: str, found: Bounds
) -> None:
    validator = Draft202012Validator(SCHEMAS[kind.__name__] | {"components": DOCUMENT["components"]})
    step = 3.0 if kind is NominalVoltage else 0.0
    for bound in found:
        for value in near(bound, step):
            inside = found.least <= value <= found.most
            error = error_of(kind, value, unit)
            assert (error is None) is inside, value
            assert validator.is_valid({"value": value, "unit": unit}) is inside, value
            if error is not None:
                assert (error.code, error.pointer) == ("out-of-range", "/value")
                allowed = [float(each.split()[1]) for each in error.allowed or []]
                assert allowed == [float(found.least), float(found.most)]


@pytest.mark.parametrize("kind", SEVERAL, ids=lambda kind: kind.__name__)
def test_a_bound_is_the_same_quantity_in_every_unit(kind: type[Measured]) -> None:
    for end in (0, 1):
        (inside_unit, first), *others = [(unit, each[end]) for unit, each in bounds(kind).items()]
        assert EXACT[inside_unit] == 1
        for unit, bound in others:
            assert bound == float(Fraction(str(first)) / EXACT[unit]), unit


@pytest.mark.parametrize("kind", SEVERAL, ids=lambda kind: kind.__name__)
def test_a_quantity_with_bounds_takes_every_unit_of_its_dimension(kind: type[Measured]) -> None:
    units = get_args(get_type_hints(kind)["unit"])
    assert units == DIMENSIONS[DIMENSION_OF[units[0]]] == tuple(bounds_of(kind))


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)
def test_a_quantity_of_several_units_never_has_bounds_of_the_number(kind: type[Quantity]) -> None:
    assert issubclass(kind, Measured) is (len(get_args(get_type_hints(kind).get("unit", ""))) > 1)


@pytest.mark.parametrize(
    ("kind", "one", "same"),
    [
        (Rating, (60, "VA"), (0.06, "kVA")),
        (DeviceCurrent, (10, "mA"), (0.01, "A")),
        (ResistancePerLength, (0.05, "ohm/km"), (0.00005, "ohm/m")),
        (Length, (100, "km"), (100_000_000, "mm")),
    ],
)
def test_what_is_taken_in_one_unit_is_taken_in_another(
    kind: type[Quantity], one: tuple[float, str], same: tuple[float, str]
) -> None:
    assert error_of(kind, *one) is None
    assert error_of(kind, *same) is None


def test_a_rating_next_to_nothing_is_refused() -> None:
    assert error_of(DirectRating, 1e-307, "W") == error_of(DirectRating, 1e-307, "W")
    error = error_of(DirectRating, 1e-307, "W")
    assert error is not None
    assert error.allowed == [">= 0.1", "<= 100000"]


@pytest.mark.parametrize("unit", [None, "furlong", ["m"], {}, 3])
def test_a_number_beside_no_unit_is_held_to_the_loosest_bounds(unit: object) -> None:
    for value, codes in ((100_000_000, 1), (math.nextafter(100_000_000, math.inf), 2)):
        with pytest.raises(Refused) as raised:
            intake.decode(json.dumps({"value": value, "unit": unit}).encode(), Length)
        assert len(raised.value.errors) == codes


def test_bounds_in_a_request_are_listed_with_every_other_mistake() -> None:
    cable = {"kind": "listed", "conductor": "12 AWG"}
    lamp = {"kind": "constant-power", "power": {"value": 101, "unit": "kW"}}
    request = {
        "supply": {"kind": "transformer", "secondary": {"value": 12, "unit": "V"}},
        "wiring": {
            "form": "even",
            "count": 0,
            "load": lamp,
            "cable": cable,
            "length": {"value": 101, "unit": "km"},
        },
    }
    with pytest.raises(Refused) as raised:
        intake.decode(json.dumps(request).encode(), VoltageDropRequest)
    assert [(error.code, error.pointer, error.allowed) for error in raised.value.errors] == [
        ("out-of-range", "/wiring/count", [">= 1", "<= 10000"]),
        ("out-of-range", "/wiring/load/power/value", [">= 0", "<= 100"]),
        ("out-of-range", "/wiring/length/value", [">= 0", "<= 100"]),
    ]


def test_the_decoder_says_by_itself_what_is_wrong() -> None:
    with pytest.raises(msgspec.ValidationError, match=r"<= 100\.0 for the unit km"):
        msgspec.json.decode(b'{"value":101,"unit":"km"}', type=Length)


def test_a_quantity_that_no_request_could_have_cannot_be_made() -> None:
    with pytest.raises(ValueError, match="for the unit km"):
        Length(101.0, "km")
    assert MainsVoltage(120.0, "V").value == 120.0


LONG: Final = 1_000
ELSEWHERE: Final = {
    # The same type as the fixtures of a run, and so the same bound.
    ("Branch", "fixtures"),
    ("Spur", "fixtures"),
    # `test_what_is_lit_is_a_list_of_thousands` has a state.
    ("ListedState", "lit"),
    # `test_a_certificate_is_as_long_as_the_document_says` has them.
    ("CertifiedBranch", "multipliers"),
    ("LayoutCertificate", "rows"),
}


def longer(path: list[str], length: int) -> bytes:
    """A voltage drop with so many items in one list, all else as it was."""
    shown = "voltage_drop.json" if "runs" in path else "voltage_drop_spans.json"
    request = json.loads((COMMITTED.parent / "examples" / shown).read_bytes())
    holder = request
    for step in path[:-1]:
        holder = holder[int(step)] if isinstance(holder, list) else holder[step]
    item = holder[path[-1]][0]
    holder[path[-1]] = [item] * length
    return json.dumps(request).encode()


@pytest.mark.parametrize(
    ("schema", "member", "path"),
    [
        ("RunsWiring", "runs", ["wiring", "runs"]),
        ("Run", "fixtures", ["wiring", "runs", "0", "fixtures"]),
        ("SpansWiring", "spans", ["wiring", "spans"]),
        ("SpansWiring", "fixtures", ["wiring", "fixtures"]),
    ],
)
def test_a_list_of_thousands_is_read_as_long_as_the_document_says_and_no_longer(
    schema: str, member: str, path: list[str]
) -> None:
    most = SCHEMAS[schema]["properties"][member]["maxItems"]
    assert intake.decode(longer(path, most), VoltageDropRequest) is not None
    with pytest.raises(Refused) as raised:
        intake.decode(longer(path, most + 1), VoltageDropRequest)
    assert [(error.code, error.pointer) for error in raised.value.errors] == [
        ("too-many", "/" + "/".join(path))
    ]


def test_every_list_of_thousands_is_looked_at() -> None:
    long = {
        (name, member)
        for name, schema in SCHEMAS.items()
        for member, found in schema.get("properties", {}).items()
        if found.get("maxItems", 0) >= LONG
    }
    assert long == ELSEWHERE | {
        ("RunsWiring", "runs"),
        ("Run", "fixtures"),
        ("SpansWiring", "spans"),
        ("SpansWiring", "fixtures"),
    }


@pytest.mark.parametrize("kind", [Branch, Spur], ids=lambda kind: kind.__name__)
def test_a_branch_takes_as_many_fixtures_as_a_run(kind: type[Branch | Spur]) -> None:
    hints = get_type_hints(kind, include_extras=True)
    assert hints["fixtures"] == get_type_hints(Run, include_extras=True)["fixtures"]


def test_what_is_lit_is_a_list_of_thousands() -> None:
    most = SCHEMAS["ListedState"]["properties"]["lit"]["maxItems"]
    for length, codes in ((most, []), (most + 1, ["too-many"])):
        assert lit_errors(length) == codes


def lit_errors(length: int) -> list[str]:
    state = {"on": "listed", "lit": [{"pointer": "/wiring/runs/0"}] * length}
    try:
        intake.decode(json.dumps(state).encode(), ListedState)
    except Refused as refused:
        return [error.code for error in refused.errors]
    return []
