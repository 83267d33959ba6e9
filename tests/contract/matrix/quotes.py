"""Quotes: catalogues, money and terms beside the wirings of all studies."""

from typing import Any, Final, get_args

from service.studies.quote.request import (
    AdjustmentKind,
    GoodsClass,
    LabourPer,
    QuoteWarning,
    SundryPer,
    UpliftKind,
)
from tests.contract.matrix.parts import FIXTURE_ROW, LAMP_ROW, ROW, SUPPLY_ROW, of

_PRICE: Final = {"kind": "per-length", "amount": "1.25", "per": "ft"}
_SPOOLS: Final = {
    "kind": "per-spool",
    "spools": [
        {"length": of(100, "ft"), "amount": "80"},
        {"length": of(30, "m"), "amount": "170.000001"},
    ],
}
_GOOD: Final = {"tax": "goods", "price": {"amount": "9.95"}}
_MATERIALS: Final = ("copper", "copper-clad-aluminium", "aluminium")


def _goods(own: str) -> list[dict[str, Any]]:
    packed = {"amount": "182193.74", "base_quantity": "4"}
    return [
        {"id": own, **_GOOD},
        {"id": f"{own} more", "tax": "none", "name": own, "price": packed, "gtin": "7300010000001"},
    ]


def _joint(conductors: list[tuple[str, int, bool]], **more: Any) -> dict[str, Any]:
    met = [{"conductor": size, "count": number, "uncut": uncut} for size, number, uncut in conductors]
    return {"accepts": [{"conductors": met}], "poles": 1, **_GOOD, **more}


_JOINTS: Final = [
    _joint([("12 AWG", 2, False)], id="J2", resistance=of(2, "mohm")),
    _joint([("12 AWG", 1, True), ("12 AWG", 2, False)], id="J3", poles=2, name="tap", gtin="12345670"),
    {
        "id": "J any",
        "poles": 2,
        "tax": "goods",
        "accepts": [
            {"conductors": [{"conductor": "12 AWG", "count": 4, "material": each}]} for each in _MATERIALS
        ],
    },
]
_PER_LENGTH: Final[dict[str, dict[str, Any]]] = {"length": {"base": of(10, "ft")}}
_SUNDRIES: Final[list[dict[str, Any]]] = [
    {"id": f"S {per}", "quantity": "0.5", "per": per, **_PER_LENGTH.get(per, {}), **_GOOD}
    for per in get_args(SundryPer)
]
_SUNDRIES[0] |= {"name": "permit", "gtin": "12345670"}
_CABLES: Final[list[dict[str, Any]]] = [
    {"id": ROW, "conductor": "12 AWG", "tax": "goods", "price": _PRICE},
    {"id": "reel", "name": "twelve", "conductor": "10 AWG", "tax": "goods", "price": _SPOOLS},
    *(
        {"id": f"{material} {stranding}", "conductor": "12 AWG", "material": material, "stranding": stranding,
         "tax": "goods", "price": {**_PRICE, "per": "m"}}
        for material in _MATERIALS
        for stranding in ("solid", "flexible")
    ),
    {"id": "stranded", "conductor": "8 AWG", "stranding": "stranded", "tax": "none"},
]  # fmt: skip
_IN_SPOOLS: Final[list[dict[str, Any]]] = [
    {
        **_CABLES[0],
        "price": _SPOOLS,
        "gtin": "7300010000001",
        "on_hand": [{"length": of(9, "ft"), "count": 3}],
    },
    *_CABLES[1:],
]
_REST: Final = {
    "supplies": _goods(SUPPLY_ROW),
    "fixtures": _goods(FIXTURE_ROW),
    "lamps": _goods(LAMP_ROW),
}

CATALOGUES: Final[dict[str, dict[str, Any]]] = {
    "nothing": {},
    "cable by length": {"cables": _CABLES, **_REST, "joints": _JOINTS, "sundries": _SUNDRIES},
    "cable in spools": {"cables": _IN_SPOOLS, **_REST, "joints": _JOINTS, "sundries": _SUNDRIES[:1]},
    "without prices": {
        "cables": [{"id": ROW, "conductor": "12 AWG", "tax": "none"}],
        **{name: [{"id": rows[0]["id"], "tax": "none"}] for name, rows in _REST.items()},
    },
}
_LAMPS_ALONE: Final = {"lamps": _goods(LAMP_ROW)}

_TAXES: Final = [{"code": "goods", "percent": 8.25, "name": "tax on goods"}, {"code": "none", "percent": 0}]
_UPLIFTS: Final = [
    {"class": name, "kind": kind, "percent": 30}
    for name, kind in zip(get_args(GoodsClass), get_args(UpliftKind) * 3, strict=True)
]
_ADJUSTMENTS: Final = [
    *(
        {"kind": kind, "name": f"{kind} on all", "percent": 2, "tax": "goods"}
        for kind in get_args(AdjustmentKind)
    ),
    {"kind": "allowance", "amount": "1000000", "tax": "none"},
]

MONEY: Final[dict[str, dict[str, Any]]] = {
    "net": {"currency": "EUR", "prices_are": "net", "taxes": _TAXES},
    "cost": {
        "currency": "USD",
        "prices_are": "cost",
        "taxes": _TAXES,
        "uplift": _UPLIFTS,
        "tax_rounding": "per-rate",
        "unit_price_decimals": 4,
    },
    "gross": {"currency": "KWD", "prices_are": "gross", "taxes": _TAXES, "tax_rounding": "per-line"},
    "adjusted": {
        "currency": "JPY",
        "prices_are": "net",
        "taxes": _TAXES,
        "adjustments": _ADJUSTMENTS,
        "prepaid": "100",
    },
}

_HOURS: Final = {"rate": "85.00", "tax": "none"}
_WORK: Final = [
    {"id": f"work {per}", "hours": "0.25", "per": per, **_HOURS, **_PER_LENGTH.get(per, {})}
    for per in get_args(LabourPer)
]
_LAWN: Final = {"id": "lawn", "name": "Lawn", "labour": {"hours": "1", "base": of(50, "ft"), **_HOURS}}

QUOTE_SAMPLES: Final[dict[str, list[Any]]] = {
    "QuoteRequest.cutting": [
        {"joints": "anywhere", "keep_from": of(3, "ft")},
        {"joints": "nowhere"},
        {"joints": "at-fixtures"},
        {},
    ],
    "QuoteRequest.allowances": [
        {"slack_percent": 5, "at_fixture": of(1, "ft"), "at_supply": of(2, "ft"), "at_joint": of(6, "in")},
        {"at_fixture": of(30, "cm")},
    ],
    "QuoteRequest.labour": [_WORK, [{**_WORK[-1], "name": "under the drive", "base": of(1, "m")}]],
    "QuoteRequest.ground": [[_LAWN, {"id": "bed"}]],
    # What these need of the rest of the request stands in `special`.
    "QuoteRequest.places": [[]],
    "QuoteRequest.crossings": [[]],
    "QuoteRequest.terms": [
        {"issued_on": "2026-05-04", "valid_days": 30, "lines": ["Net 30", ""]},
        {"valid_days": 30},
    ],
    "QuoteRequest.accept": [["below-minimum-load"], list(get_args(QuoteWarning))],
    "QuoteRequest.sheet": [
        {"title": "Garden", "lines": ["Lane 4"], "paper": "a4", "show": "prices", "for": "customer"},
        {"paper": "letter", "show": "total", "for": ["record", "meter", "installer", "customer"]},
    ],
}
"""Samples of the optional members of a quote, for `SAMPLES`."""


def part_with(request: dict[str, Any], catalogue: str, money: str) -> dict[str, Any]:
    """A quote of one part, which is asked as a voltage drop is."""
    goods = CATALOGUES[catalogue] or _LAMPS_ALONE
    return {
        "alternatives": [{"id": "a", "parts": [request]}],
        "catalogue": goods,
        "money": MONEY[money],
    }


_RUN: Final = "/alternatives/0/parts/0/wiring/runs/0"


def placed(request: dict[str, Any]) -> dict[str, Any]:
    """A quote of runs with everything that points into them, twice."""
    (alternative,) = request["alternatives"]
    first, second = "S crossing", "S length"
    return {
        **request,
        "id": "all of it",
        "catalogue": {**request["catalogue"], "sundries": _SUNDRIES},
        "alternatives": [
            {**alternative, "name": "good", "cutting": {"joints": "anywhere"}},
            {"id": "b", "parts": alternative["parts"] * 2},
        ],
        "ground": [
            {"id": "bed", "sundries": [{"item": second, "quantity": "2", "base": of(3, "m")}]},
            _LAWN,
        ],
        "places": [{"pointer": _RUN, "from": of(1, "ft"), "to": of(12, "ft"), "ground": "lawn"}],
        "crossings": [
            {"pointer": _RUN, "at": of(2, "ft"), "length": of(6, "ft"), "item": first},
            {"pointer": _RUN, "at": of(9, "ft"), "length": of(1, "ft")},
        ],
        "labour": _WORK,
        "allowances": {"slack_percent": 3, "at_fixture": of(1, "ft"), "at_joint": of(0.1, "m")},
        "money": {
            **MONEY["net"],
            "adjustments": [
                {"kind": "allowance", "percent": 5, "line": "S run", "name": "of the run"},
                {"kind": "charge", "amount": "12.50", "line": ROW},
                {"kind": "charge", "amount": "3", "line": "reel"},
            ],
        },
    }
