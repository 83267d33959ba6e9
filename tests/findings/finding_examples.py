"""For each finding the smallest job that shows it and a neighbour, just inside the limit, that does not.

The cable is 5 ohm/km a conductor, so 10 m are 0.1 ohm out and back and every number can be checked by hand.
Amperes and volts lie within 1e-5 of the limits, below what a reply shows: a fail must not look like a pass.
"""

from typing import Any, NamedTuple

from tests.jobs import (
    Json,
    amperes,
    awg,
    battery,
    branch,
    dc_supply,
    even,
    halogen,
    job,
    lamp,
    metres,
    ohms_per_km,
    quantity,
    resistor,
    run,
    transformer,
    volt_amperes,
    volts,
    watts,
    winding,
    window,
)

RUN = "/wiring/runs/0"
LAMP = "/wiring/runs/0/fixtures/0"


class Example(NamedTuple):
    """One finding: where it shows, where it does not, and what it says."""

    code: str
    severity: str
    pointer: str
    source: str
    shows: Json
    spares: Json
    measured: tuple[float, str] | None = None
    limit: tuple[float, str] | None = None
    path: str = "/v1/voltage-drop"


def _at_10_m(amps: float, **more: Any) -> Json:
    return job(run(lamp(10, amperes(amps), **more)))


def _at_terminals(load: Json, supply: Json, **more: Any) -> Json:
    return job(run(lamp(0, load, **more)), supply=supply)


def _mains(rated_v: float, actual_v: float) -> Json:
    return {"rated": volts(rated_v), "actual": volts(actual_v)}


def _changes_at(*at_m: float) -> Json:
    return job(run(lamp(10, watts(1)), cable_changes=[{"at": metres(at), "cable": awg(18)} for at in at_m]))


def _one_circuit(amps: float) -> Json:
    return _at_terminals(amperes(amps), transformer(circuits=[{"name": "a", "limit": quantity(10, "A")}]))


def _behind_device(device_a: float) -> Json:
    supply = transformer(circuits=[{"name": "a", "limit": quantity(device_a, "A")}])
    return job(run(lamp(1, watts(3)), cable=awg(12)), supply=supply)


def _on_tap(tap_v: float, supply: Json) -> Json:
    return job(run(lamp(1, watts(3)), tap=volts(tap_v)), supply=supply)


def _change_at(at_m: float) -> Json:
    return job(run(lamp(10, watts(3)), cable_changes=[{"at": metres(at_m), "cable": ohms_per_km(2.0)}]))


def _named(name: str) -> Json:
    return job(run(lamp(1, watts(3)), name="walk"), run(lamp(1, watts(3)), name=name))


def _choose(load: Json, rating_va: float, **more: Any) -> Json:
    """One transformer to choose from, nothing to spare."""
    stock = [{"id": "only", "rating": quantity(rating_va, "VA"), "taps": [volts(12)], **more}]
    return _at_terminals(load, transformer()) | {"spare_percent": 0, "stock": stock}


LOADING_PATH = "/v1/transformer-loading"
HUNDRED_VA = transformer(winding=winding(100, 0))
A_25 = [{"name": "a", "limit": quantity(25, "A")}]
BEHIND_25_A = transformer(circuits=A_25)
WET: Json = {"conditions": {"wet_contact": True}}
STRIP: Json = {"kind": "strip", "length": metres(1), "power_per_length": quantity(10, "W/m")}
CLASS_2 = transformer(class_2=True)
CLASS_2_AT_24_V = dc_supply(24, class_2=True)
GRADUATED = transformer(taps=[volts(12), volts(13)])
FROM_9_TO_13 = window(9, 13)

VOLTAGE = (
    Example(
        "fixture-below-window", "fault", LAMP, "caller",
        _at_10_m(30.00001, window=FROM_9_TO_13), _at_10_m(29.99999, window=FROM_9_TO_13),
        (8.9999, "V"), (9.0, "V"),
    ),
    Example(
        "fixture-below-window", "fault", LAMP, "led-window",
        _at_10_m(40.00001), _at_10_m(19.99999), (7.9999, "V"), (8.0, "V"),
    ),
    Example(
        "fixture-below-window", "warning", LAMP, "led-window",
        _at_10_m(20.00001), _at_10_m(19.99999), (9.9999, "V"), (10.0, "V"),
    ),
    Example(
        "fixture-below-window", "fault", LAMP, "filament-window",
        _at_terminals(halogen(20), transformer(10.49999)), _at_terminals(halogen(20), transformer(10.5)),
        (10.4999, "V"), (10.5, "V"),
    ),
    Example(
        "fixture-above-window", "fault", LAMP, "caller",
        _at_terminals(watts(3), transformer(13.00001), window=FROM_9_TO_13),
        _at_terminals(watts(3), transformer(13), window=FROM_9_TO_13),
        (13.0001, "V"), (13.0, "V"),
    ),
    Example(
        "fixture-above-window", "fault", LAMP, "led-window",
        _at_terminals(watts(3), transformer(15.00001)), _at_terminals(watts(3), transformer(15)),
        (15.0001, "V"), (15.0, "V"),
    ),
    Example(
        "fixture-above-window", "fault", LAMP, "strip-window",
        _at_terminals(STRIP, transformer(13.20001)), _at_terminals(STRIP, transformer(13.2)),
        (13.2001, "V"), (13.2, "V"),
    ),
    Example(
        # 5 m: a burden of 0.75 x 50 / 144 = 2 D(u)^2 with Dawson's integral D leaves exp(-u^2) of 12 V.
        "strip-rail-not-stated", "warning", LAMP, "strip-rail",
        _at_terminals(STRIP | {"length": metres(5)}, transformer()),
        _at_terminals(STRIP, transformer()), (10.2153, "V"), (10.8, "V"),
    ),
    Example(
        "strip-rail-not-stated", "note", LAMP, "strip-rail",
        _at_terminals(STRIP, transformer()),
        _at_terminals(STRIP | {"resistance_per_length": quantity(0.15, "ohm/m")}, transformer()),
        (11.9372, "V"),
    ),
    Example(
        "watts-like-equivalent", "note", LAMP, "equivalent-watts",
        _at_terminals(watts(35), transformer()), _at_terminals(watts(34.9), transformer()), (35.0, "W"),
    ),
    Example(
        "fixture-above-window", "fault", LAMP, "filament-window",
        _at_terminals(halogen(20), transformer(12.50001)), _at_terminals(halogen(20), transformer(12.5)),
        (12.5001, "V"), (12.5, "V"),
    ),
    Example(
        "drop-over-limit", "fault", LAMP, "caller",
        _at_10_m(12.00001) | {"limits": {"maximum_drop_percent": 10}},
        _at_10_m(11.99999) | {"limits": {"maximum_drop_percent": 10}},
        (10.001, "percent"), (10.0, "percent"),
    ),
    Example(
        "no-operating-point", "fault", RUN, "own-calculation",
        job(run(lamp(10, watts(361)))), job(run(lamp(10, watts(359)))),
    ),
    Example(
        "near-collapse", "warning", "/supply", "own-calculation",
        job(run(lamp(10, watts(288.1)))), job(run(lamp(10, watts(287.9)))), limit=(1.25, "ratio"),
    ),
)  # fmt: skip

LOW_MAINS = {"rated": volts(120), "actual": volts(108)}

LOADING = (
    Example(
        "transformer-over-rating", "fault", "/supply", "caller",
        _at_terminals(watts(100.0001), transformer(winding=winding(100, 0))),
        _at_terminals(watts(99.9999), transformer(winding=winding(100, 0))),
        (100.001, "VA"), (100.0, "VA"),
    ),
    Example(
        "winding-over-current", "fault", "/supply", "caller",
        _at_terminals(watts(90.0001), transformer(winding=winding(100, 0), primary=LOW_MAINS)),
        _at_terminals(watts(89.9999), transformer(winding=winding(100, 0), primary=LOW_MAINS)),
        (8.33335, "A"), (8.33333, "A"),
    ),
    Example(
        "dc-supply-over-rating", "fault", "/supply", "caller",
        _at_terminals(watts(60.0001), dc_supply(rating=quantity(60, "W"))),
        _at_terminals(watts(59.9999), dc_supply(rating=quantity(60, "W"))),
        (60.001, "W"), (60.0, "W"),
    ),
    Example(
        "below-minimum-load", "warning", "/supply", "caller",
        _at_terminals(volt_amperes(19.9999, 40), transformer(minimum_load=quantity(20, "W"))),
        _at_terminals(volt_amperes(20.0001, 40), transformer(minimum_load=quantity(20, "W"))),
        (19.999, "W"), (20.0, "W"),
    ),
    Example(
        "circuit-over-current", "fault", "/supply/circuits/0", "caller",
        _one_circuit(10.000001), _one_circuit(9.999999), (10.00001, "A"), (10.0, "A"),
    ),
    Example(
        "circuit-near-limit", "warning", "/supply/circuits/0", "continuous-load",
        _one_circuit(8.000001), _one_circuit(7.999999), (8.00001, "A"), (8.0, "A"),
    ),
    Example(
        "circuit-not-declared", "note", f"{RUN}/circuit", "caller",
        job(run(lamp(1, watts(3)), circuit="b"), supply=transformer(circuits=[{"name": "a"}])),
        job(run(lamp(1, watts(3)), circuit="a"), supply=transformer(circuits=[{"name": "a"}])),
    ),
    Example(
        "class-2-exceeded", "fault", RUN, "nec-11-a",
        _at_terminals(amperes(5.000001), CLASS_2), _at_terminals(amperes(4.999999), CLASS_2),
        (5.00001, "A"), (5.0, "A"),
    ),
    Example(
        "class-2-exceeded", "fault", RUN, "nec-11-a",
        _at_terminals(amperes(4.17), CLASS_2_AT_24_V), _at_terminals(amperes(4.16), CLASS_2_AT_24_V),
        (4.17, "A"), (4.16667, "A"),
    ),
    Example(
        "wet-contact-voltage", "note", "/supply", "nec-411-scope",
        job(run(), supply=transformer(15.00001)), job(run(), supply=transformer(15)),
        (15.0001, "V"), (15.0, "V"),
    ),
    Example(
        "wet-contact-voltage", "fault", "/supply", "nec-411-scope",
        job(run(), supply=dc_supply(30.00001), **WET), job(run(), supply=dc_supply(30), **WET),
        (30.0001, "V"), (30.0, "V"),
    ),
    Example(
        # All of 70 W at a power factor of 0.7 are 100 VA, and a wire of no length loses nothing.
        "rating-at-usual-power-factor", "warning", "/supply", "usual-power-factor",
        _at_terminals(watts(70.001), transformer(winding=winding(100, 0))),
        _at_terminals(watts(69.999), transformer(winding=winding(100, 0))),
        (100.002, "VA"), (100.0, "VA"),
    ),
)  # fmt: skip

PROTECTION = (
    Example(
        "span-over-ampacity", "fault", RUN, "nec-240-4-d-memory",
        job(run(lamp(1, amperes(7.000001)), cable=awg(18))),
        job(run(lamp(1, amperes(6.999999)), cable=awg(18))),
        (7.00001, "A"), (7.0, "A"),
    ),
    Example(
        "ampacity-not-listed", "note", RUN, "caller",
        _at_10_m(2.0), job(run(lamp(10, amperes(2.0)), cable=awg(12))), (2.0, "A"),
    ),
    Example(
        "conductor-below-device", "warning", RUN, "nec-240-4-d",
        _behind_device(20.00001), _behind_device(20), (20.00001, "A"), (20.0, "A"),
    ),
    Example(
        "short-circuit-below-trip", "warning", RUN, "own-calculation",
        job(run(lamp(48.0001, watts(3))), supply=BEHIND_25_A),
        job(run(lamp(47.9999, watts(3))), supply=BEHIND_25_A), (24.99994, "A"), (25.0, "A"),
    ),
    Example(
        "device-not-stated", "note", "/supply", "nec-240-4-d",
        job(run(lamp(1, watts(3)), cable=awg(14))),
        job(run(lamp(1, watts(3)), cable=awg(14)), supply=BEHIND_25_A), None, (15.0, "A"),
    ),
    Example(
        "cable-too-long-for-supply", "fault", RUN, "caller",
        job(run(lamp(10.0001, watts(3))), supply=transformer(maximum_cable_length=metres(10))),
        job(run(lamp(10, watts(3))), supply=transformer(maximum_cable_length=metres(10))),
        (10.0001, "m"), (10.0, "m"),
    ),
)  # fmt: skip

STATED = (
    Example(
        "dc-lamp-on-ac", "fault", LAMP, "caller",
        _at_terminals(watts(3), transformer(), input="dc"),
        _at_terminals(watts(3), transformer(), input="either"), (16.9706, "V"),
    ),
    Example(
        "ac-lamp-on-dc", "fault", LAMP, "caller",
        _at_terminals(watts(3), dc_supply(), input="ac"),
        _at_terminals(watts(3), dc_supply(), input="either"), (12.0, "V"),
    ),
    Example(
        "tap-not-offered", "fault", f"{RUN}/tap", "caller",
        _on_tap(13.5, GRADUATED), _on_tap(13, GRADUATED), (13.5, "V"),
    ),
    Example(
        "tap-on-direct-current", "note", f"{RUN}/tap", "caller",
        _on_tap(12, dc_supply()), _on_tap(12, transformer()), (12.0, "V"),
    ),
    Example(
        "window-empty", "fault", f"{LAMP}/window", "caller",
        job(run(lamp(1, watts(3), window=window(13, 12.99999)))),
        job(run(lamp(1, watts(3), window=window(13, 13)))), (13.0, "V"), (12.9999, "V"),
    ),
    Example(
        "supply-range-empty", "fault", "/supply", "caller",
        job(run(), supply=battery(14, 12, 11)), job(run(), supply=battery(11, 11, 11)),
        (14.0, "V"), (11.0, "V"),
    ),
    Example(
        "supply-nominal-outside-range", "warning", "/supply", "caller",
        job(run(), supply=battery(11, 10.99999, 14)), job(run(), supply=battery(11, 11, 14)), (11.0, "V"),
    ),
    Example(
        "supply-above-low-voltage", "fault", "/supply", "nec-411-scope",
        job(run(), supply=transformer(25, primary=_mains(100, 121))),
        job(run(), supply=transformer(25, primary=_mains(100, 120))), (30.25, "V"), (30.0, "V"),
    ),
    Example(
        "cable-change-overridden", "note", f"{RUN}/cable_changes/1", "caller",
        _changes_at(4, 4), _changes_at(4, 4.001), (4.0, "m"),
    ),
    Example(
        "apparent-below-real", "warning", LAMP, "caller",
        job(run(lamp(1, volt_amperes(3, 2.99999)))), job(run(lamp(1, volt_amperes(3, 3)))),
    ),
    Example(
        "power-factor-beside-apparent-power", "note", LAMP, "caller",
        job(run(lamp(1, volt_amperes(3, 4) | {"power_factor": 0.9}))), job(run(lamp(1, volt_amperes(3, 4)))),
    ),
    Example(
        "power-factor-on-direct-current", "note", LAMP, "caller",
        _at_terminals(watts(3, power_factor=0.9), dc_supply()), _at_terminals(watts(3), dc_supply()),
    ),
    Example(
        "cable-change-past-end", "note", f"{RUN}/cable_changes/0", "caller",
        _change_at(11), _change_at(9), (11.0, "m"), (10.0, "m"),
    ),
    Example(
        "first-past-end", "note", "/wiring", "caller",
        even(3, watts(3), 10, first_at=metres(10.001)), even(3, watts(3), 10, first_at=metres(10)),
    ),
    Example("duplicate-name", "note", "/wiring/runs/1", "caller", _named("walk"), _named("hedge")),
    Example(
        "duplicate-name", "note", f"{RUN}/branches/0", "caller",
        job(run(name="walk", branches=[branch(1, name="walk")])),
        job(run(name="walk", branches=[branch(1, name="hedge")])),
    ),
)  # fmt: skip

AT_MOST_80: Json = {"maximum_loading_percent": 80, "conditions": {"range": "as-stated"}}

TRANSFORMERS = (
    Example(
        "no-transformer-fits", "fault", "/stock", "caller",
        _choose(watts(100.01), 100), _choose(watts(99.99), 100), (100.01, "VA"), (100.0, "VA"), LOADING_PATH,
    ),
    Example(
        "no-transformer-passes", "fault", "/stock", "own-calculation",
        _choose(halogen(20), 60, regulation_percent=12), _choose(halogen(20), 60, regulation_percent=2),
        path=LOADING_PATH,
    ),
    Example(
        "no-transformer-passes", "warning", "/stock", "own-calculation",
        _choose(amperes(20.000001), 600, circuits=A_25), _choose(amperes(19.999999), 600, circuits=A_25),
        path=LOADING_PATH,
    ),
    Example(
        "division-impossible", "fault", RUN, "caller",
        _choose(amperes(25.000001), 600, circuits=A_25), _choose(amperes(24.999999), 600, circuits=A_25),
        (25.00001, "A"), (25.0, "A"), LOADING_PATH,
    ),
    Example(
        "division-near-limit", "warning", "/stock/0", "continuous-load",
        _choose(amperes(20.000001), 600, circuits=A_25), _choose(amperes(19.999999), 600, circuits=A_25),
        (20.00001, "A"), (20.0, "A"), LOADING_PATH,
    ),
    Example(
        # A resistor of 100.1 W takes 110.36025 W at 126 of 120 V.
        "range-not-held", "warning", "/stock/0", "own-calculation",
        _choose(resistor(100.1), 105), _choose(resistor(100.1), 111),
        (110.361, "VA"), (105.0, "VA"), LOADING_PATH,
    ),
    Example(
        "loading-over-share", "fault", "/supply", "caller",
        _at_terminals(watts(80.0001), HUNDRED_VA) | AT_MOST_80,
        _at_terminals(watts(79.9999), HUNDRED_VA) | AT_MOST_80,
        (80.001, "percent"), (80.0, "percent"), LOADING_PATH,
    ),
    Example(
        "rating-below-connected", "fault", "/supply", "caller",
        _at_terminals(watts(80.0001), HUNDRED_VA) | {"spare_percent": 25},
        _at_terminals(watts(79.9999), HUNDRED_VA) | {"spare_percent": 25},
        (100.001, "VA"), (100.0, "VA"), LOADING_PATH,
    ),
    Example(
        "connected-over-rating", "fault", "/supply", "caller",
        job(run(lamp(400, watts(100.0001))), supply=HUNDRED_VA),
        job(run(lamp(400, watts(99.9999))), supply=HUNDRED_VA),
        (100.001, "VA"), (100.0, "VA"), LOADING_PATH,
    ),
    Example(
        "no-transformer-on-direct-current", "note", "/supply", "own-calculation",
        _at_terminals(watts(3), dc_supply()), _at_terminals(watts(3), transformer()), path=LOADING_PATH,
    ),
)  # fmt: skip

EXAMPLES = (*VOLTAGE, *LOADING, *PROTECTION, *STATED, *TRANSFORMERS)
