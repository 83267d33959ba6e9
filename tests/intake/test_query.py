"""Queries are read as strictly as bodies, and every parameter to change is named at once."""

from contextlib import suppress
from typing import Annotated, Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec import UNSET, Meta, Struct, UnsetType

from service.intake.query import read_query
from service.problems import Refused


class Query(Struct, frozen=True, forbid_unknown_fields=True):
    size: Annotated[list[Literal["small", "1 AWG, bare"]], Meta(min_length=1, max_length=2)]
    watts: Annotated[list[Annotated[float, Meta(ge=0, le=100)]], Meta(max_length=3)]
    volts: Annotated[float, Meta(ge=1)]
    feet: float | UnsetType = UNSET
    metres: float | UnsetType = UNSET


def read(raw: str) -> Query:
    return read_query(raw.encode("utf-8"), Query, one_of=("feet", "metres"))


def errors(raw: str) -> list[tuple[str, str]]:
    with pytest.raises(Refused) as caught:
        read(raw)
    assert caught.value.code == "request-invalid"
    return [(error.code, error.pointer) for error in caught.value.errors]


def detail(raw: str) -> str:
    with pytest.raises(Refused) as caught:
        read(raw)
    return " ".join(error.detail for error in caught.value.errors)


def test_texts_repeat_their_parameter_and_numbers_have_commas_between() -> None:
    found = read("size=small&size=1+AWG%2C%20bare&watts=20,7.5,1e1&volts=12&metres=3")
    assert found == Query(["small", "1 AWG, bare"], [20.0, 7.5, 10.0], 12.0, UNSET, 3.0)


GOOD = "size=small&watts=1&volts=12&feet=1"


@pytest.mark.parametrize(
    ("raw", "expected"),
    [
        ("", [("missing-member", p) for p in ("?size", "?watts", "?volts", "?feet")]),
        ("&&" + GOOD.replace("volts", "vlts"), [("unknown-member", "?vlts"), ("missing-member", "?volts")]),
        (GOOD.replace("small", "smal"), [("unknown-name", "?size/0")]),
        (
            GOOD.replace("watts=1", "watts=1,,x,101"),
            [
                ("too-many", "?watts"),
                ("wrong-type", "?watts/1"),
                ("wrong-type", "?watts/2"),
                ("out-of-range", "?watts/3"),
            ],
        ),
        (GOOD.replace("watts=1", "watts=1&watts=2"), [("duplicate-member", "?watts")]),
        (GOOD.replace("volts=12", "volts=12&volts=12"), [("duplicate-member", "?volts")]),
        (GOOD.replace("volts=12", "volts"), [("wrong-type", "?volts")]),
        (f"{GOOD}&metres=2", [("not-as-described", "?metres")]),
        (f"{GOOD}&size=small&size=small", [("too-many", "?size")]),
        (f"{GOOD}&{'x' * 200}=1", [("unknown-member", "?")]),
    ],
)  # fmt: skip
def test_every_parameter_to_change_is_listed(raw: str, expected: list[tuple[str, str]]) -> None:
    assert errors(raw) == expected


@pytest.mark.parametrize(
    "text", ["nan", "inf", "1_0", " 7", "+7", "0x10", "٣", "7,", "1e9999", "%FF", "--1", "7.", "1e"]
)
def test_only_plain_numbers_are_numbers(text: str) -> None:
    assert errors(GOOD.replace("volts=12", f"volts={text}")) == [("wrong-type", "?volts")]


def test_the_words_say_what_to_write() -> None:
    words = detail("sise=small&watts=a&volts=&feet=1")
    assert '"sise" is not a parameter of this address. Did you mean "size"?' in words
    assert (
        '"a" is not a number here. Write digits with a point before decimals, such as 20 or 7.5, commas'
        in words
    )
    assert "There is no number here." in words
    assert "quotation marks" not in words


NAMES = st.sampled_from(["size", "watts", "volts", "feet", "metres", "other"])


def read_or_refused(raw: bytes) -> None:
    with suppress(Refused):
        found = read_query(raw, Query, one_of=("feet", "metres"))
        assert (found.feet is UNSET) != (found.metres is UNSET)


@given(st.binary(max_size=60))
def test_whatever_stands_there_is_read_or_refused(raw: bytes) -> None:
    read_or_refused(raw)


@given(st.lists(st.tuples(NAMES, st.text(max_size=8)), max_size=6))
def test_whatever_is_sent_under_a_known_name_is_read_or_refused(pairs: list[tuple[str, str]]) -> None:
    read_or_refused("&".join(f"{name}={text}" for name, text in pairs).encode())
