from collections.abc import Iterator
from typing import get_args

import pytest

from service.intake.words import Lookalikes, in_order, name_faults, nearest_name, nearest_unit
from service.units import DIMENSION_OF, DIMENSIONS
from service.wire.cable import ConductorName

CONDUCTORS = list(get_args(ConductorName))


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("12 awg", "12 AWG"),
        ("12AWG", "12 AWG"),
        ("AWG 12", "12 AWG"),
        ("12-AWG", "12 AWG"),
        ("2.5 mm²", "2.5 mm2"),
        ("2,5mm2", "2.5 mm2"),
        ("2.5 mm", "2.5 mm2"),
        ("0.75 MM2", "0.75 mm2"),
    ],
)
def test_other_spelling_of_a_conductor_is_recognised(text: str, meant: str) -> None:
    assert nearest_name(text, CONDUCTORS) == meant


STOCK = ["id", "rating", "taps", "name", "regulation_percent", "circuits", "minimum_load", "price"]


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("tap", "taps"),
        ("tasp", "taps"),
        ("ratin", "rating"),
        ("minimum_lode", "minimum_load"),
        ("regulation", "regulation_percent"),
        ("rating_va", "rating"),
        ("regulaton_precent", "regulation_percent"),
    ],
)
def test_a_member_that_the_fingers_missed_is_recognised(text: str, meant: str) -> None:
    assert nearest_name(text, STOCK) == meant


@pytest.mark.parametrize("text", ["kind", "reading", "wiring", "range", "percent", "spacing", "amount", "i"])
def test_another_word_is_not_taken_for_a_member(text: str) -> None:
    assert nearest_name(text, STOCK) is None


@pytest.mark.parametrize(
    ("text", "names"),
    [("winding", ["wiring"]), ("scale", ["cable"]), ("per", ["power"]), ("start", ["state"])],
)
def test_words_of_the_contract_are_not_taken_for_one_another(text: str, names: list[str]) -> None:
    assert nearest_name(text, names) is None


@pytest.mark.parametrize("text", ["11 AWG", "13 awg", "25 mm2", "", "12" * 50_000, "copper"])
def test_another_size_is_never_suggested(text: str) -> None:
    assert nearest_name(text, CONDUCTORS) is None


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("feet", "ft"),
        ("Ft", "ft"),
        ("'", "ft"),
        ("METRES", "m"),
        ("volts", "V"),
        ("°F", "degF"),
        ("Ω", "ohm"),
    ],
)
def test_spoken_unit_is_recognised(text: str, meant: str) -> None:
    assert nearest_unit(text, list(DIMENSION_OF)) == meant


@pytest.mark.parametrize("text", ["", "furlong", "MW", "mi", "9**9**9 m"])
def test_unit_that_is_not_listed_is_not_guessed(text: str) -> None:
    assert nearest_unit(text, list(DIMENSION_OF)) is None


def test_spoken_unit_of_another_dimension_is_called_so() -> None:
    found = list(name_faults("volts", DIMENSIONS["length"], "/unit"))
    assert [error.code for error in found] == ["wrong-dimension"]
    assert "measures voltage; length is needed" in found[0].detail


def test_volt_amperes_are_not_watts() -> None:
    assert [error.code for error in name_faults("VA", DIMENSIONS["real-power"], "/unit")] == [
        "wrong-dimension"
    ]


def test_names_come_in_the_order_of_a_table() -> None:
    assert in_order(["16 AWG", "4 AWG", "10 mm2", "1.5 mm2"]) == ["4 AWG", "16 AWG", "1.5 mm2", "10 mm2"]
    assert in_order(sorted(DIMENSIONS["length"])) == list(DIMENSIONS["length"])


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("fern gate", "Fern gate"),
        ("Fern-Gate", "Fern gate"),
        ("Fern gat", "Fern gate"),
        ("Fern gaate", "Fern gate"),
        ("Fren gate", "Fern gate"),
        ("Fern gape", "Fern gate"),
        ("pond 2.", "Pond 2"),
        ("ponds 1", "Pond 1"),
    ],
)
def test_a_name_of_the_caller_is_recognised_in_another_spelling(text: str, meant: str) -> None:
    assert Lookalikes(["Pond 1", "Fern gate", "Pond 2"]).nearest(text) == meant


@pytest.mark.parametrize("text", ["Pond 3", "pond", "a", "x", "", "...", "Pond 1" * 20, "ﷺ" * 60, "fern"])
def test_another_name_of_the_caller_is_never_suggested(text: str) -> None:
    assert Lookalikes(["Pond 1", "Fern gate", "Pond 2", "b", "-"]).nearest(text) is None


class _Counted(list[str]):
    """Names that count how often they are gone through."""

    times = 0

    def __iter__(self) -> Iterator[str]:
        self.times += 1
        return super().__iter__()


def test_names_of_the_caller_are_gone_through_once_however_many_are_unknown() -> None:
    names = _Counted(["abcdefgh" * 8, "hgfedcba" * 8])
    alike = Lookalikes(names)
    assert [alike.nearest("badcfehg" * 8) for _ in range(100)] == [None] * 100
    assert names.times == 1
