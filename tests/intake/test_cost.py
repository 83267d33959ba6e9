"""What a refusal looks at does not grow with the request, beyond parsing it: counted, not timed."""

import json
from typing import Any

import pytest

from service import intake
from service.intake import json_text as reading
from service.intake import walk
from service.intake.pointer import MOST_ERRORS, child
from service.problems import Refused
from service.studies.voltage_drop.request import VoltageDropRequest

LAMP = {"point": "a", "load": {"kind": "constant-power", "power": {"value": 3, "unit": "W"}}}


class Counted:
    """A function that counts how often it is called."""

    def __init__(self, function: Any) -> None:
        self._function = function
        self.calls = 0

    def __call__(self, *given: Any) -> Any:
        self.calls += 1
        return self._function(*given)


@pytest.fixture
def pointers(monkeypatch: pytest.MonkeyPatch) -> Counted:
    """Counts the places to which a pointer was written, in the walk and before it."""
    counted = Counted(child)
    monkeypatch.setattr(walk, "child", counted)
    monkeypatch.setattr(reading, "child", counted)
    return counted


@pytest.fixture
def objects(monkeypatch: pytest.MonkeyPatch) -> Counted:
    """Counts the objects that were read one by one, to find repeated members."""
    counted = Counted(reading._members)  # noqa: SLF001  # what is counted is no part of the interface
    monkeypatch.setattr(reading, "_members", counted)
    return counted


def refused(body: str) -> Refused:
    with pytest.raises(Refused) as raised:
        intake.decode(body.encode(), VoltageDropRequest)
    return raised.value


def spans_with(fixtures: str) -> str:
    return f'{{"wiring":{{"form":"spans","spans":[],"fixtures":[{fixtures}]}}}}'


@pytest.mark.parametrize("count", [200, 2_000, 20_000])
def test_mistakes_beyond_the_list_are_not_looked_for(pointers: Counted, objects: Counted, count: int) -> None:
    found = refused(spans_with(",".join(["{}"] * count)))
    assert len(found.errors) == MOST_ERRORS + 1
    assert found.detail.startswith(f"More than {MOST_ERRORS} places")
    assert pointers.calls < 3 * MOST_ERRORS
    assert objects.calls == 0


@pytest.mark.parametrize("count", [200, 2_000, 20_000])
def test_items_that_fit_are_passed_over(pointers: Counted, count: int) -> None:
    found = refused(spans_with(",".join([*[json.dumps(LAMP)] * min(count, 1_999), "{}", *["{}"] * count])))
    assert pointers.calls < 3 * MOST_ERRORS
    assert "missing-member" in {error.code for error in found.errors}


@pytest.mark.parametrize("count", [200, 20_000])
def test_repeated_members_and_numbers_out_of_range_beyond_the_list_are_not_looked_for(
    pointers: Counted, count: int
) -> None:
    for part in ('{"a":1,"a":1}', "1e400", "1" * 400):
        before = pointers.calls
        found = refused(f'{{"wiring":[{",".join([part] * count)}]}}')
        assert len(found.errors) == MOST_ERRORS + 1
        assert pointers.calls - before < 4 * MOST_ERRORS


@pytest.mark.parametrize("count", [200, 20_000])
def test_what_is_sound_beside_one_repeated_member_gets_no_pointer(pointers: Counted, count: int) -> None:
    (error,) = refused(f'{{"wiring":[{"{},[1]," * count}{{"a":1,"a":1}}]}}').errors
    assert error.pointer == f"/wiring/{2 * count}/a"
    assert pointers.calls < 10


def test_a_list_that_is_much_too_long_is_still_told_of_what_is_wrong_in_it() -> None:
    found = refused(spans_with(",".join([json.dumps(LAMP)] * 10_050 + ["{}"])))
    pointers = [error.pointer for error in found.errors]
    assert "/wiring/fixtures" in pointers
    assert "/wiring/fixtures/10050/point" in pointers


@pytest.mark.parametrize("deep", [63, 64, 65, 5_000])
def test_depth_is_the_same_whether_anything_else_is_unsound_or_not(deep: int) -> None:
    for inside, more, code in (("", 0, ""), ("1", 1, ""), ('{"a":1,"a":1}', 2, "duplicate-member")):
        found = refused("[" * deep + inside + "]" * deep)
        nested = deep + more
        assert found.code == (
            "nesting-too-deep" if nested > reading.DEEPEST else code or "request-invalid"
        ), inside


def test_a_number_beyond_a_float_is_found_however_it_is_written() -> None:
    for text in (
        "1e400",
        "-1E+400",
        "1" * 400,
        "1" * 99 + "e300",
        "0.1e0400",
        "1" * 250 + "e99",
        "9" * 309 + ".5",
    ):
        assert refused(f'{{"id":{text}}}').code == "number-out-of-range", text
    for text in ("1e308", "1" * 99 + "e99", "1" * 308, "1e-400", "0." + "1" * 500):
        assert refused(f'{{"id":{text}}}').code == "request-invalid", text
