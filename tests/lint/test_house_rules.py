"""The house rules hold for the committed document, and each of them notices when it does not."""

import pytest

from tests.lint.document import (
    committed,
    document,
    showing_nothing,
    with_number,
    with_plain_refusal,
    without,
)
from tests.lint.house_rules import bare_numbers, quantity_names, unfinished_operations, unproblematic_refusals


def test_every_number_stands_beside_its_unit_or_says_what_it_is() -> None:
    assert list(bare_numbers(committed())) == []


def test_every_refusal_is_a_problem() -> None:
    assert list(unproblematic_refusals(committed())) == []


def test_every_operation_has_a_summary_a_name_a_tag_and_something_to_show() -> None:
    assert list(unfinished_operations(committed())) == []


def test_names_of_quantities_are_found_through_references_and_choices() -> None:
    assert {"length", "voltage", "at_temperature", "conductor_temperature"} <= set(
        quantity_names(committed())
    )


@pytest.mark.parametrize(
    ("name", "kind"),
    [("loss", "number"), ("height", "number"), ("length", "integer"), ("cable_length", "integer")],
)
def test_a_bare_number_is_noticed(name: str, kind: str) -> None:
    assert f"Spoiled.{name} is a number without a unit." in bare_numbers(with_number(name, kind))


@pytest.mark.parametrize(
    ("name", "kind"), [("drop_percent", "number"), ("lamp_count", "integer"), ("power_factor", "number")]
)
def test_a_number_that_says_what_it_is_passes(name: str, kind: str) -> None:
    assert set(bare_numbers(with_number(name, kind))) == set(bare_numbers(document()))


def test_a_list_of_bare_numbers_is_noticed() -> None:
    spoiled = with_number("loss", "number")
    members = spoiled["components"]["schemas"]["Spoiled"]["properties"]
    members["loss"] = {"type": "array", "items": members["loss"]}
    assert "Spoiled.loss is a number without a unit." in bare_numbers(spoiled)


def test_a_refusal_that_is_no_problem_is_noticed() -> None:
    assert len(list(unproblematic_refusals(with_plain_refusal()))) == 1


@pytest.mark.parametrize("member", ["summary", "operationId", "tags"])
def test_an_unfinished_operation_is_noticed(member: str) -> None:
    assert len(list(unfinished_operations(without(member)))) == 1


def test_an_operation_that_shows_nothing_is_noticed_twice() -> None:
    assert [line.split(" shows ")[1] for line in unfinished_operations(showing_nothing())] == [
        "no request.",
        "no reply.",
    ]
