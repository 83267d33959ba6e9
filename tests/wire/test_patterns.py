import re
import unicodedata

import jsonschema_rs
import pytest

from service.wire.quantities import ID_PATTERN, NAME_PATTERN

# Unicode Character Database, PropList.txt, property Bidi_Control.
BIDI_CONTROL = [0x061C, 0x200E, 0x200F, *range(0x202A, 0x202F), *range(0x2066, 0x206A)]


def test_no_control_character_is_a_name() -> None:
    controls = [chr(code) for code in range(0x110000) if unicodedata.category(chr(code)) == "Cc"]
    assert len(controls) == 65
    assert not [control for control in controls if re.search(NAME_PATTERN, f"a{control}")]


@pytest.mark.parametrize("code", BIDI_CONTROL)
def test_no_character_that_turns_text_around_is_in_a_name(code: int) -> None:
    assert re.search(NAME_PATTERN, f"a{chr(code)}b") is None


def test_id_takes_exactly_printable_ascii() -> None:
    taken = [code for code in range(0x300) if re.search(ID_PATTERN, chr(code))]
    assert taken == list(range(0x20, 0x7F))


@pytest.mark.parametrize("pattern", [ID_PATTERN, NAME_PATTERN])
def test_length_is_1_to_64_and_nothing_follows(pattern: str) -> None:
    assert [n for n in range(70) if re.search(pattern, "x" * n)] == list(range(1, 65))
    assert re.search(pattern, "x\n") is None


@pytest.mark.parametrize("pattern", [ID_PATTERN, NAME_PATTERN])
@pytest.mark.parametrize("text", ["lamp 1", "x\n", "a\u202eb", "", "é"])
def test_json_schema_reads_the_pattern_as_python_does(pattern: str, text: str) -> None:
    # The validator is written in Rust and has a regular expression engine of its own.
    assert jsonschema_rs.is_valid({"pattern": pattern}, text) is bool(re.search(pattern, text))
