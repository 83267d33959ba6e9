"""Laws of the circuit that every solved tree keeps, asked of whatever job the tool makes up."""

import json
from collections import Counter
from functools import lru_cache
from typing import Any, Final

from schemathesis import CheckContext, Response

from service.app import app
from tests.client import Client
from tests.contract.checks import AnyCase, Check, is_positive, sent
from tests.contract.due import fixture_loads, stretches
from tests.contract.rewriting import in_another_unit, lengthened, rewritten, with_fixtures_reversed

CLIENT: Final = Client(app)

ROUNDING_V: Final = 2e-4
"""Voltages are shown to 0.0001 V, and may be rounded to either side."""

TRIED: Final[Counter[str]] = Counter()
"""How many jobs each law was asked of, so that a law that nothing reaches is noticed."""

MERGED: Final = "points-merged"
"""Points nearer than 1 mm are one point, so that a millimetre of cable may come or go."""

SHARES_LOAD: Final = {"constant-resistance", "filament"}


def is_tree(request: Any) -> bool:
    wiring = request["wiring"]
    return wiring["form"] in ("runs", "even") and not any("return_leg" in one for one in stretches(wiring))


def assumed(reply: Any) -> set[str]:
    return {row["code"] for row in reply["assumptions"]}


def solved_tree(response: Response, case: AnyCase) -> bool:
    """Whether this is the answer to a sound job in the form of a tree, with nothing rounded away."""
    return (
        is_positive(case)
        and (case.method, case.path) == ("POST", "/v1/voltage-drop")
        and response.status_code == 200
        and is_tree(sent(response))
        and response.json()["status"] == "solved"
        and MERGED not in assumed(whole(response))
    )


def answer(request: Any) -> Any:
    # The search for a margin takes most of the time and says nothing about a voltage.
    request.pop("margin", None)
    request.pop("detail", None)
    return _answered(json.dumps(request).encode())


@lru_cache(maxsize=8)
def _answered(content: bytes) -> Any:
    """The reply to a body, which each law asks for again."""
    reply = CLIENT.post("/v1/voltage-drop", content=content, headers={"Content-Type": "application/json"})
    assert reply.status_code == 200, reply.text
    return reply.json()


def whole(response: Response) -> Any:
    """The reply with all rows, asked for again where less of it was wanted."""
    reply = response.json()
    return answer(sent(response)) if "detail" in reply else reply


def volts(reply: Any) -> dict[tuple[str, int], float]:
    """Voltage of each fixture by its place. [V]"""
    return {(row["pointer"], row.get("number", 0)): row["voltage"]["value"] for row in reply["fixtures"]}


def draws_no_more_at_a_higher_voltage(load: Any) -> bool:
    """Tell the loads that draw the same or less: watts, amperes in phase, mixtures without a resistor."""
    if load["kind"] == "constant-current":
        return bool(load.get("power_factor", 1) == 1)
    if load["kind"] == "zip":
        return bool(load["constant_resistance_part"]["value"] == 0)
    return load["kind"] not in SHARES_LOAD


def loses_with_length(request: Any) -> bool:
    """Whether the voltages of a tree can only fall with the length of all cables.

    So it is where every load draws no more at a higher voltage: V = E - R I(V) falls where R grows and I does
    not shrink. Not so with filaments and resistors: of two lamps behind one winding or one splice, the one on
    the long cable dims, sheds load and leaves its neighbour more. The non-active part of a constant current
    sheds as well, by turning its phase.
    """
    return all(map(draws_no_more_at_a_higher_voltage, fixture_loads(request["wiring"])))


def check_longer_cable_never_loses_less(_context: CheckContext, response: Response, case: AnyCase) -> None:
    if not solved_tree(response, case) or not loses_with_length(sent(response)):
        return
    longer = answer(rewritten(sent(response), lengthened))
    if longer["status"] == "solved" and MERGED not in assumed(longer):
        TRIED["longer"] += 1
        before, after = volts(whole(response)), volts(longer)
        assert before.keys() == after.keys()
        assert all(after[place] <= before[place] + ROUNDING_V for place in before)


def check_units_change_nothing(_context: CheckContext, response: Response, case: AnyCase) -> None:
    if not solved_tree(response, case):
        return
    request, reply = sent(response), whole(response)
    other = rewritten(request, in_another_unit)
    if other != request and reply["fixtures"]:
        TRIED["units"] += 1
        # Without a wish the reply follows the first length, which is in another unit now.
        wish = "us" if reply["fixtures"][0]["at"]["unit"] == "ft" else "metric"
        alike(reply, answer(other | {"units": wish}))


def check_order_of_fixtures_changes_nothing(
    _context: CheckContext, response: Response, case: AnyCase
) -> None:
    if not solved_tree(response, case) or max(map(len, _lists(sent(response))), default=0) < 2:
        return
    turned = with_fixtures_reversed(sent(response))
    TRIED["order"] += 1
    before = sorted(volts(whole(response)).values())
    after = sorted(volts(answer(turned)).values())
    assert len(before) == len(after)
    assert all(abs(one - two) <= ROUNDING_V for one, two in zip(before, after, strict=True))


def _lists(request: Any) -> list[Any]:
    return [stretch["fixtures"] for stretch in stretches(request["wiring"])]


def alike(one: Any, two: Any) -> None:
    """Compare what two answers say of supply, fixtures and totals, each number to its last shown digit."""
    for part in ("status", "supply", "fixtures", "totals"):
        first, second = json.dumps(one[part]), json.dumps(two[part])
        if first != second:
            near(one[part], two[part])


def near(one: Any, two: Any) -> None:
    assert type(one) is type(two)
    if isinstance(one, dict):
        assert one.keys() == two.keys()
        for name in one:
            near(one[name], two[name])
    elif isinstance(one, list):
        assert len(one) == len(two)
        for first, second in zip(one, two, strict=True):
            near(first, second)
    elif isinstance(one, float):
        # Watts are shown to 0.001, which is the coarsest.
        assert abs(one - two) <= 2e-3 + 1e-7 * abs(one), (one, two)
    else:
        assert one == two


LAWS: list[Check] = [
    check_longer_cable_never_loses_less,
    check_units_change_nothing,
    check_order_of_fixtures_changes_nothing,
]
