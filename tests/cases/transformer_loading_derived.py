"""Every number that the transformer-loading cases expect, derived once more by hand arithmetic.

All lamps hang at the terminals, where nothing is lost in cable, so sums and one divider are enough.
"""

Derived = dict[str, float]

# Ratings in which transformers for garden lighting are sold; common practice, no published source.
USUAL_VA = (60.0, 75.0, 100.0, 150.0, 200.0, 250.0, 300.0, 500.0, 600.0, 900.0, 1200.0)


def _next_usual(wanted_va: float) -> float:
    """The smallest usual rating that is not below what is wanted. [VA]"""
    return min(rating_va for rating_va in USUAL_VA if rating_va >= wanted_va)


def _loading(real_w: float, apparent_va: float, rating_va: float, rated_va: float | None = None) -> Derived:
    """`rated_va` is the current times the rated voltage, where that is more than what is drawn. [VA]"""
    used_va = apparent_va if rated_va is None else rated_va
    return {
        "/loading/real_power/value": real_w,
        "/loading/apparent_power/value": apparent_va,
        "/loading/loading_ratio": apparent_va / rating_va,
        **({} if rated_va is None else {"/loading/current_ratio": rated_va / rating_va}),
        "/loading/spare/value": rating_va - used_va,
        "/loading/spare_ratio": 1.0 - used_va / rating_va,
    }


def _connected(real_w: float, apparent_va: float) -> Derived:
    return {"/connected/real_power/value": real_w, "/connected/apparent_power/value": apparent_va}


def _recommended(apparent_va: float, rating_va: float, member: str = "recommended") -> Derived:
    return {
        f"/{member}/rating/value": rating_va,
        f"/{member}/loading/apparent_power/value": apparent_va,
        f"/{member}/loading/loading_ratio": apparent_va / rating_va,
    }


def sixteen_lamps_on_150_va() -> Derived:
    # A resistor of 144/160 ohm behind the winding: a divider.
    lamps_ohm, winding_ohm = 144.0 / 160.0, 0.05 * 144.0 / 150.0
    volts = 12.6 * lamps_ohm / (lamps_ohm + winding_ohm)
    drawn_va = volts**2 / lamps_ohm
    return {
        **_connected(160.0, 160.0),
        **_loading(drawn_va, drawn_va, 150.0, 12.0 * volts / lamps_ohm),
        "/loading/winding_loss/value": (volts / lamps_ohm) ** 2 * winding_ohm,
        "/loading/power_factor": 1.0,
        **_recommended(160.0, _next_usual(160.0 / 0.8)),
    }


def four_leds_on_a_halogen_supply() -> Derived:
    return {
        **_connected(16.0, 24.0),
        "/loading/power_factor": 0.6667,
        **_recommended(24.0, 80.0),
    }


def thirteen_lamps_and_a_tenth() -> Derived:
    return {
        **_connected(260.0, 260.0),
        **_recommended(260.0, _next_usual(260.0 * 1.1), "nearest"),
        "/division/largest_ratio": 260.0 / 12.0 / 25.0,
    }


def eight_lamps_and_a_tenth() -> Derived:
    wanted_va = 144.0 * 1.1
    return {
        **_connected(144.0, 144.0),
        **_recommended(144.0, _next_usual(wanted_va)),
        "/rejected/3/rating/value": USUAL_VA[3],
        "/rejected/3/reasons/0/measured/value": wanted_va,
        "/rejected/3/reasons/0/limit/value": USUAL_VA[3],
    }


def ten_lamps_at_80_percent() -> Derived:
    return {**_connected(200.0, 200.0), **_recommended(200.0, _next_usual(200.0 / 0.8))}


def ten_leds_of_low_power_factor() -> Derived:
    drawn_va = 200.0 / 0.7
    return {
        **_connected(200.0, drawn_va),
        "/loading/power_factor": 0.7,
        **_recommended(drawn_va, _next_usual(drawn_va * 1.1), "nearest"),
        "/division/largest_ratio": drawn_va / 12.0 / 25.0,
    }


def pixels_over_the_supply() -> Derived:
    watts = 480 * 0.060 * 5.0
    return {**_connected(watts, watts), **_loading(watts, watts, 100.0)}


def four_halogens_on_100_va() -> Derived:
    return {**_connected(80.0, 80.0), **_loading(80.0, 80.0, 100.0), **_recommended(80.0, 100.0)}


def four_leds_on_100_va() -> Derived:
    return {**_connected(12.0, 12.0), **_loading(12.0, 12.0, 100.0), **_recommended(12.0, 100.0, "nearest")}


def five_branches_on_two_circuits() -> Derived:
    return {
        **_connected(222.0, 222.0),
        "/circuits/0/current/value": 5 * 3.7,
        **_recommended(222.0, 300.0),
        "/division/largest_ratio": 3 * 3.7 / 25.0,
        "/division/circuits/0/current/value": 3 * 3.7,
        "/division/circuits/1/current/value": 2 * 3.7,
    }
