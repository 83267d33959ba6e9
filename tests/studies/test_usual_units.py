"""The transformers that are usually sold: how many circuits each is taken to have."""

from msgspec import inspect

from service.intake.words import options
from service.studies.transformer_loading.selection import MOST_CIRCUITS, usual_units
from service.wire.supply import Circuits


def test_circuits_fill_the_rating_at_the_lowest_tap() -> None:
    # 1,200 VA at 12 V are 100 A: four circuits of 25 A.
    assert len(usual_units((15.0, 12.0))[-1].circuits) == 4


def test_usual_transformer_has_no_fewer_circuits_than_it_is_compared_with() -> None:
    assert [len(unit.circuits) for unit in usual_units((12.0,), 3)][-2:] == [3, 4]
    assert max(len(unit.circuits) for unit in usual_units((12.0,), 200)) == MOST_CIRCUITS


def test_usual_transformer_has_no_more_circuits_than_a_request_may_state() -> None:
    assert max(len(unit.circuits) for unit in usual_units((0.001,))) == MOST_CIRCUITS
    [circuits] = options(inspect.type_info(Circuits))
    assert isinstance(circuits, inspect.ListType)
    assert circuits.max_length == MOST_CIRCUITS
