"""What may be asked beside a job: each optional member of each request, with every word of a closed list."""

from collections.abc import Iterator
from typing import Any, Final, get_args

from msgspec import inspect
from msgspec.inspect import StructType

from service.intake.words import options
from service.wire.job import AcceptedWarning
from tests.contract.matrix.grammar import grammar
from tests.contract.matrix.parts import FIXTURE_ROW, LAMP_ROW, of
from tests.contract.matrix.quotes import QUOTE_SAMPLES

Extra = dict[str, Any]

_CONDITIONS: Final = [
    {"mains": {"kind": "named", "range": "outlet"}, "switching": "by-run", "wet_contact": False},
    {"mains": {"kind": "named", "range": "service"}, "range": "as-stated"},
    {"mains": {"kind": "named", "range": "outlet-108"}},
    {"mains": {"kind": "named", "range": "en-50160"}, "switching": "individually"},
    {"mains": {"kind": "measured", "lowest": of(112, "V"), "highest": of(124, "V")}},
    {"conductor_temperature": of(50, "degC"), "non_active_current": "in-phase"},
    {"conductor_temperature": of(14, "degF"), "non_active_current": "quadrature"},
    {"conductor_temperature_range": {"lowest": of(-10, "degC"), "highest": of(104, "degF")}},
    {"switching": "together", "wet_contact": True, "range": "usual"},
]
_SHEET: Final[Extra] = {"title": "North garden", "lines": ["Lane 4", "", "2026"], "paper": "a4"}
_PAPERS: Final = ["record", "meter", "installer", "customer"]
_TERMINALS: Final[Any] = [
    {
        "subject": {"kind": "terminal"},
        "quantity": {"kind": "voltage", "value": of(12.4, "V")},
        "state": {"on": "all-on"},
    }
]
_FILLED_IN: Final = (
    "quantity,read,subject,state\r\nvoltage,12.1,terminal,no-load\r\nvoltage,,terminal,all-on\r\n"
)
"""Two rows of a commissioning sheet of any job, one of them filled in."""

_INSTRUMENT: Final = {
    "kind": "true-rms",
    "accuracy_percent": 0.5,
    "counts": 2,
    "voltage_resolution": of(10, "mV"),
    "current_accuracy_percent": 2,
    "current_counts": 4,
    "current_resolution": of(0.1, "A"),
    "resistance_accuracy_percent": 0.5,
    "resistance_counts": 2,
    "resistance_resolution": of(10, "mohm"),
    "lead_resistance": of(0.1, "ohm"),
}
_PRIORS: Final = {
    "length_percent": 5,
    "temperature_span": {"lowest": of(0, "degC"), "highest": of(95, "degF")},
    "power_percent": 5,
    "winding_percent": 20,
    "mains_percent": 2,
    "resistance_percent": 3,
}
_LENGTH_PRICE: Final = {"kind": "per-length", "amount": "1.25", "per": "ft"}
_SPOOLS: Final = {
    "kind": "per-spool",
    "spools": [
        {"length": of(100, "ft"), "amount": "80"},
        {"length": of(250, "ft"), "amount": "170.00"},
    ],
}
_CABLE_STOCKS: Final = [
    [
        {"id": "c12", "conductor": "12 AWG", "price": _LENGTH_PRICE, "name": "twelve"},
        {"id": "c10", "conductor": "10 AWG", "price": {**_LENGTH_PRICE, "per": "m"}},
        {"id": "c8", "conductor": "8 AWG", "price": _SPOOLS},
    ],
    [{"id": f"{each}", "conductor": "12 AWG", "material": each} for each in ("copper", "aluminium")],
    [
        {"id": each, "conductor": "2.5 mm2", "stranding": each, "material": "copper-clad-aluminium"}
        for each in ("solid", "stranded", "flexible")
    ],
]
_TRANSFORMER_STOCKS: Final = [
    [
        {
            "id": "T300",
            "name": "three hundred",
            "rating": of(300, "VA"),
            "taps": [of(12, "V"), of(13, "V"), of(15, "V")],
            "regulation_percent": 5,
            "circuits": [{"name": "a", "limit": of(12, "A")}, {"name": "b"}],
            "minimum_load": of(10, "W"),
            "price": "140.00",
        },
        {"id": "T1", "rating": of(1.2, "kVA"), "taps": [of(12, "V")], "price": "90"},
    ],
    [{"id": "small", "rating": of(5, "VA"), "taps": [of(12, "V")]}],
]

ASKED_AGAIN: Final = "detail"
"""A member that shortens the reply to a request, and so is none of its own: some are asked again with it."""

_BRANCH: Final = {"dug": [], "undug": [], "empty": False, "multipliers": [0, 2**24]}


SAMPLES: Final[dict[str, list[Any]]] = {
    "id": ["job 1"],
    "accept": [["below-minimum-load"], list(get_args(AcceptedWarning))],
    "limits": [{"maximum_drop_percent": 5}],
    "ReachRequest.limits": [
        {"window": {"minimum": of(10, "V"), "maximum": of(15, "V")}, "maximum_drop_percent": 5}
    ],
    "conditions": _CONDITIONS,
    "sheet": [{**_SHEET, "for": "record"}, {"paper": "letter", "for": _PAPERS}],
    "VoltageDropRequest.sheet": [
        {**_SHEET, "commissioning": True, "for": "customer"},
        {"paper": "letter", "commissioning": False, "for": _PAPERS},
        {"commissioning": True},
    ],
    "readings": [_TERMINALS],
    "readings_csv": [_FILLED_IN],
    "mains_read": [of(118, "V")],
    "instrument": [_INSTRUMENT, {"kind": "averaging"}],
    "priors": [_PRIORS, {"length_percent": 0}],
    "mains": [[of(114, "V"), of(120, "V"), of(126, "V")]],
    "spare_percent": [25],
    "maximum_loading_percent": [80],
    "TransformerLoadingRequest.stock": _TRANSFORMER_STOCKS,
    "GaugeRecommendationRequest.stock": _CABLE_STOCKS,
    "RunDivisionRequest.stock": _CABLE_STOCKS,
    "runs_at_most": [2],
    "joints": [{"fixture": "2.40", "tee": "3", "splice": "2.80", "cable_end": "4"}, {}],
    "effort": [1_500],
    "previous": [
        {"supplies": [], "rows": ["rating"], "cases": [{"mounting_points": [0], "branches": [_BRANCH]}]},
    ],
    "fixture_types": [
        [
            {
                "id": "T either",
                "load": {"kind": "constant-power", "power": of(5, "W")},
                "input": "either",
                "item": FIXTURE_ROW,
                "lamp": LAMP_ROW,
            }
        ]
    ],
    "cutting": [{"joints": "nowhere"}, {"joints": "anywhere"}],
    "currency": ["EUR"],
    # The first cable of the wiring, and none at all; what stands there is put in by `aimed`.
    "open": [["first cable"], []],
    "nominal_voltage": [of(12, "V"), of(24, "V")],
    "title": ["Loads by lengths"],
    "power_factor": [0.85],
    "conductor_temperature": [of(50, "degC"), of(14, "degF")],
    **QUOTE_SAMPLES,
}
"""Of a member by its name, or by its struct and name where one name means two things."""


def extras(struct: StructType) -> dict[str, Extra]:
    """Each optional member of a request with each sample, all of them together, and nothing."""
    found: dict[str, Extra] = {"nothing": {}}
    for field in struct.fields:
        if not field.required and field.encode_name != ASKED_AGAIN:
            for place, sample in enumerate(_samples(struct, field)):
                found[f"{field.encode_name} {place}"] = {field.encode_name: sample}
    firsts = [extra for name, extra in found.items() if name.endswith(" 0")]
    return found | {"everything": {name: value for extra in firsts for name, value in extra.items()}}


def _samples(struct: StructType, field: inspect.Field) -> list[Any]:
    name = field.encode_name
    words = [word for option in options(field.type) for word in _words(option)]
    return words or SAMPLES.get(f"{struct.cls.__name__}.{name}") or SAMPLES[name]


def _words(option: inspect.Type) -> list[Any]:
    if isinstance(option, inspect.LiteralType):
        return list(option.values)
    return [True, False] if isinstance(option, inspect.BoolType) else []


def struct_of(message: Any) -> StructType:
    """The struct of a request."""
    [struct] = options(grammar(message))
    assert isinstance(struct, StructType)
    return struct


def aimed(request: Any) -> Any:
    """A request whose `open` points to a cable that it has; a wiring made at random may have none."""
    if request.get("open") == ["first cable"]:
        first = next(pointers(request["wiring"], "/wiring"), None)
        return request if first is None else {**request, "open": [first]}
    return request


def pointers(value: Any, here: str, member: str = "cable") -> Iterator[str]:
    """Where the members of a name stand, in document order."""
    pairs = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, part in pairs:
        if key == member:
            yield f"{here}/{key}"
        yield from pointers(part, f"{here}/{key}", member)
