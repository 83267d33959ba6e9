"""A kind that is not known is never taken for another kind, which would be other physics."""

import pytest
from msgspec import inspect, json

from service.intake import decode
from service.intake.walk import faults
from service.problems import Refused
from service.studies.voltage_drop.request import VoltageDropRequest
from service.wire.fixture import FixtureLoad


def refusal_of_supply(kind: str) -> tuple[str, str]:
    """Code and words of the first error at the kind of the supply."""
    with pytest.raises(Refused) as caught:
        decode(json.encode({"supply": {"kind": kind}}), VoltageDropRequest)
    [error] = [error for error in caught.value.errors if error.pointer == "/supply/kind"]
    return error.code, error.detail


@pytest.mark.parametrize("kind", ["electronic-supply", "transformers", "ac-supply", "batery"])
def test_another_kind_of_supply_is_answered_with_the_kinds_and_no_guess(kind: str) -> None:
    code, words = refusal_of_supply(kind)
    assert code == "unknown-name"
    assert "Did you mean" not in words
    assert "Use battery, dc-supply or transformer." in words


def test_another_spelling_of_the_same_kind_is_answered_with_its_name() -> None:
    assert 'Did you mean "dc-supply"?' in refusal_of_supply("DC supply")[1]


@pytest.mark.parametrize("kind", ["constant-voltage", "constant-curent", "filaments"])
def test_another_kind_of_load_is_answered_with_the_kinds_and_no_guess(kind: str) -> None:
    [error] = faults({"kind": kind}, inspect.type_info(FixtureLoad), "")
    assert (error.code, error.pointer) == ("unknown-name", "/kind")
    assert "Did you mean" not in error.detail
    assert error.allowed == [
        "constant-current",
        "constant-power",
        "constant-resistance",
        "filament",
        "strip",
        "zip",
    ]
