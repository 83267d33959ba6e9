"""Bounds that hang on the unit are compared unit by unit, and any other use of `if` is told."""

from typing import Any

import pytest

from tests.gate.example import ABSENT, DOCUMENT, changed
from tests.gate.operations import breaks

LENGTH = "components schemas Length"


def rule(unit: str, **bounds: float) -> Any:
    named = {"properties": {"unit": {"const": unit}}, "required": ["unit"]}
    return {"if": named, "then": {"properties": {"value": bounds}}}


def chained(loosest: float, first: Any, *rest: Any) -> Any:
    """The example with a chain of bounds on its length."""
    chain = first
    for each in rest:
        chain = {**each, "else": chain}
    return changed(
        (f"{LENGTH} properties value maximum", loosest), *((f"{LENGTH} {key}", chain[key]) for key in chain)
    )


def sentences(old: Any, new: Any) -> list[str]:
    return [str(each) for each in breaks(old, new)]


def test_a_bound_is_told_in_the_unit_that_it_narrows() -> None:
    new = chained(400, rule("m", maximum=50))
    assert sentences(DOCUMENT, new) == [
        (
            "/components/schemas/Length/properties/value/maximum: "
            "In m: A request was held to maximum 100, and is now held to 50."
        )
    ]


def test_bounds_that_only_widen_break_nothing() -> None:
    assert sentences(DOCUMENT, chained(400, rule("m", maximum=100), rule("ft", maximum=300))) == []


def test_a_chain_that_says_what_the_value_says_breaks_nothing() -> None:
    assert sentences(DOCUMENT, chained(100, rule("m", maximum=100))) == []


def test_every_link_of_a_chain_counts() -> None:
    old = chained(400, rule("m", maximum=100), rule("ft", maximum=300))
    new = chained(400, rule("m", maximum=99), rule("ft", maximum=299))
    assert [each.split(": ")[1] for each in sentences(old, new)] == ["In m", "In ft"]


def test_a_least_bound_that_rises_is_told() -> None:
    assert (
        "In ft: A request was held to minimum 0"
        in sentences(DOCUMENT, chained(100, rule("ft", minimum=1)))[0]
    )


def test_a_quantity_that_becomes_another_component_is_told_by_its_name() -> None:
    new = chained(100, rule("m", maximum=50))
    new["components"]["schemas"]["Tail"] = new["components"]["schemas"].pop("Length")
    new["components"]["schemas"]["Wire"]["properties"]["length"]["$ref"] = "#/components/schemas/Tail"
    assert "In m as Tail: " in sentences(DOCUMENT, new)[0]


def test_a_unit_that_goes_is_told_beside_bounds_that_hang_on_units() -> None:
    new = chained(400, rule("m", maximum=100))
    new["components"]["schemas"]["Length"]["properties"]["unit"]["enum"] = ["m"]
    assert sentences(DOCUMENT, new) == [
        "/components/schemas/Length/properties/unit/enum: A request may no longer say ft; only m is taken."
    ]


@pytest.mark.parametrize(
    "other",
    [
        {"if": {"properties": {"unit": {"const": "m"}}}, "then": {"properties": {"value": {"maximum": 100}}}},
        {**rule("m", maximum=100), "else": {"required": ["name"]}},
        rule("m", multipleOf=3),
        {"if": {"required": ["unit"]}, "then": False},
    ],
)
def test_any_other_use_of_if_is_told_since_it_cannot_be_judged(other: Any) -> None:
    new = changed(*((f"{LENGTH} {key}", other[key]) for key in other))
    assert "A request was held to" in sentences(DOCUMENT, new)[0]


def test_a_chain_that_goes_is_a_wider_request() -> None:
    old = chained(100, rule("m", maximum=50))
    new = changed((f"{LENGTH} if", 1), (f"{LENGTH} if", ABSENT))
    assert sentences(old, new) == []
