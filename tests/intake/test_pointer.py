import pytest

from service.intake.pointer import child, from_msgspec


@pytest.mark.parametrize(
    ("name", "pointer"),
    [
        ("foo", "/foo"),
        ("", "/"),
        ("a/b", "/a~1b"),
        ("m~n", "/m~0n"),
        (" ", "/ "),
        ('k"l', '/k"l'),
        ("~1", "/~01"),
    ],
)
def test_member_is_pointed_to_as_rfc_6901_section_5_prints(name: str, pointer: str) -> None:
    # All but the last are the examples of the RFC; "~1" is the trap that its section 4 warns of.
    assert child("", name) == pointer


@pytest.mark.parametrize(
    ("message", "pointer"),
    [
        ("Expected `float`, got `str` - at `$.runs[0].at`", "/runs/0/at"),
        ("Expected `float`, got `str` - at `$[3]`", "/3"),
        ("Expected `float`, got `str` - at `$.a[...].b`", "/a"),
        ("Expected `object`, got `int`", ""),
    ],
)
def test_path_of_msgspec_becomes_a_pointer(message: str, pointer: str) -> None:
    assert from_msgspec(message)[1] == pointer
