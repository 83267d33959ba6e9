"""Bodies that are not as they should be, each with its refusal."""

import json

import pytest

from service import intake
from service.problems import CATALOGUE, ERROR_KINDS, Refused
from tests.intake.samples import Lone, Path, Stake

STAKE = '{"at": {"value": 30, "unit": "ft"}, "load": {"kind": "lamp", "power": {"value": 3, "unit": "W"}}}'
PATH = f'{{"conductor": "12 AWG", "stakes": [{STAKE}]'


def refusal(body: bytes | str, kind: type = Path) -> Refused:
    with pytest.raises(Refused) as caught:
        intake.decode(body if isinstance(body, bytes) else body.encode(), kind)
    return caught.value


UNREADABLE = [
    ("nothing", b"", "empty-body"),
    ("white space", b" \n\t", "empty-body"),
    ("byte order mark", b"\xef\xbb\xbf{}", "byte-order-mark"),
    ("byte order mark alone", b"\xef\xbb\xbf", "byte-order-mark"),
    ("UTF-16 with its mark", '{"a": 1}'.encode("utf-16"), "not-utf-8"),
    ("UTF-16 without", '{"a": 1}'.encode("utf-16-le"), "malformed-json"),
    ("Latin-1", '{"name": "café"}'.encode("latin-1"), "not-utf-8"),
    ("encoded surrogate", b'{"name": "\xed\xa0\x80"}', "not-utf-8"),
    ("trailing comma", b'{"a": 1,}', "malformed-json"),
    ("cut short", b'{"stakes": [', "malformed-json"),
    ("two documents", b"{} {}", "malformed-json"),
    ("comment", b"{} // none", "malformed-json"),
    ("single quotes", b"{'a': 1}", "malformed-json"),
    ("leading zero", b'{"count": 01}', "malformed-json"),
    ("raw NUL in a text", b'{"price": "\x00"}', "malformed-json"),
    ("raw line break in a text", b'{"price": "a\nb"}', "malformed-json"),
    ("high half of a pair", rb'{"price": "\ud800"}', "malformed-json"),
    ("low half of a pair in a name", rb'{"\udc00": 1}', "malformed-json"),
    ("10,000 open lists", b"[" * 10_000, "nesting-too-deep"),
    ("10,000 lists", b"[" * 10_000 + b"]" * 10_000, "nesting-too-deep"),
    ("100,000 objects", b'{"a":' * 100_000, "nesting-too-deep"),
    ("65 lists", b"[" * 65 + b"]" * 65, "nesting-too-deep"),
    ("65 lists under an unknown member", b'{"a":' + b"[" * 65 + b"]" * 65 + b"}", "nesting-too-deep"),
]


@pytest.mark.parametrize(
    ("body", "code"), [case[1:] for case in UNREADABLE], ids=[case[0] for case in UNREADABLE]
)
def test_unreadable_body_is_refused_with_its_code(body: bytes, code: str) -> None:
    refused = refusal(body)
    assert (refused.code, refused.status) == (code, 400)
    assert CATALOGUE[code].remedy


def test_malformed_json_names_line_and_column() -> None:
    assert "line 2, column 10" in refusal(b'{\n"count": one}').detail


UNSOUND = [
    ("NaN", PATH + ', "spare": NaN}', "number-out-of-range", "/spare"),
    ("minus infinity", PATH + ', "spare": -Infinity}', "number-out-of-range", "/spare"),
    ("1e999", PATH + ', "spare": 1e999}', "number-out-of-range", "/spare"),
    ("400 digits", PATH + f', "spare": {"9" * 400}}}', "number-out-of-range", "/spare"),
    ("100,000 digits", PATH + f', "count": {"9" * 100_000}}}', "number-out-of-range", "/count"),
    ("1e999 in an unknown member", PATH + ', "x": [0, 1e999]}', "number-out-of-range", "/x/1"),
    ("repeated member", PATH + ', "lit": true, "lit": true}', "duplicate-member", "/lit"),
    ("repeated by an escape", PATH + ', "lit": true, "l\\u0069t": true}', "duplicate-member", "/lit"),
    ("repeated tag", '{"load": {"kind": "lamp", "kind": "pump"}}', "duplicate-member", "/load/kind"),
    ("repeated unknown member", '{"a": 1, "a": 1}', "duplicate-member", "/a"),
    ("repeated, name with a slash", '{"a/b~": 1, "a/b~": 1}', "duplicate-member", "/a~1b~0"),
]


@pytest.mark.parametrize(
    ("body", "code", "pointer"), [case[1:] for case in UNSOUND], ids=[case[0] for case in UNSOUND]
)
def test_json_that_readers_disagree_about_is_refused_with_its_place(
    body: str, code: str, pointer: str
) -> None:
    refused = refusal(body)
    assert refused.code == code
    assert [(error.code, error.pointer) for error in refused.errors] == [(code, pointer)]


def test_nan_is_called_no_json() -> None:
    assert "NaN is not JSON" in refusal('{"spare": NaN}').detail


UNFIT = [
    ("a list", "[]", ("wrong-type", "")),
    ("null", "null", ("null-not-allowed", "")),
    ("number as text", PATH + ', "spare": "12"}', ("wrong-type", "/spare")),
    ("true as number", PATH + ', "spare": true}', ("wrong-type", "/spare")),
    ("true as whole number", PATH + ', "count": true}', ("wrong-type", "/count")),
    ("1 as true", PATH + ', "lit": 1}', ("wrong-type", "/lit")),
    ("fraction as whole number", PATH + ', "count": 1.5}', ("wrong-type", "/count")),
    ("null for an optional member", PATH + ', "lit": null}', ("null-not-allowed", "/lit")),
    ("number below", PATH + ', "spare": -5e-324}', ("out-of-range", "/spare")),
    ("number above", PATH + ', "count": 10}', ("out-of-range", "/count")),
    ("text for a quantity", PATH + ', "secondary": "12 V"}', ("wrong-type", "/secondary")),
    ("number for a quantity", PATH + ', "secondary": 12}', ("bare-number", "/secondary")),
    ("number for a temperature", PATH + ', "temperature": 20}', ("bare-number", "/temperature")),
    ("quantity without unit", PATH + ', "secondary": {"value": 12}}', ("missing-member", "/secondary/unit")),
    (
        "temperature without unit",
        PATH + ', "temperature": {"value": 1}}',
        ("missing-member", "/temperature/unit"),
    ),
    (
        "temperature in kelvin",
        PATH + ', "temperature": {"value": 1, "unit": "K"}}',
        ("wrong-unit", "/temperature/unit"),
    ),
    (
        "amperes for volts",
        PATH + ', "secondary": {"value": 12, "unit": "A"}}',
        ("wrong-dimension", "/secondary/unit"),
    ),
    (
        "mains for the secondary",
        PATH + ', "secondary": {"value": 120, "unit": "V"}}',
        ("secondary-is-mains", "/secondary/value"),
    ),
    ("pattern with a line break behind it", PATH + ', "price": "12.50\\n"}', ("pattern-mismatch", "/price")),
    ("unknown member", PATH + ', "lid": true}', ("unknown-member", "/lid")),
    ("too few", '{"conductor": "12 AWG", "stakes": []}', ("too-few", "/stakes")),
    ("too many", f'{{"conductor": "12 AWG", "stakes": [{", ".join([STAKE] * 4)}]}}', ("too-many", "/stakes")),
    ("text among lists and names", PATH + ', "either": "nine"}', ("unknown-name", "/either")),
    ("object among lists and names", PATH + ', "either": {}}', ("wrong-type", "/either")),
    ("fourth of three levels", PATH + ', "level": 4}', ("unknown-name", "/level")),
    ("true as level 1", PATH + ', "level": true}', ("unknown-name", "/level")),
]


@pytest.mark.parametrize(("body", "expected"), [case[1:] for case in UNFIT], ids=[case[0] for case in UNFIT])
def test_body_that_does_not_fit_is_refused_with_code_and_place(body: str, expected: tuple[str, str]) -> None:
    refused = refusal(body)
    assert (refused.code, refused.status) == ("request-invalid", 400)
    assert [(error.code, error.pointer) for error in refused.errors] == [expected]
    assert refused.errors[0].code in ERROR_KINDS


def stake_errors(**changes: object) -> list[tuple[str, str]]:
    refused = refusal(json.dumps(json.loads(STAKE) | changes), Stake)
    return [(error.code, error.pointer) for error in refused.errors]


def test_all_errors_come_at_once_in_document_order() -> None:
    body = '{"stakes": [{"load": {"kind": "lmap"}, "at": 3, "nmae": 1}], "lit": "yes"}'
    assert [(error.code, error.pointer) for error in refusal(body).errors] == [
        ("unknown-name", "/stakes/0/load/kind"),
        ("bare-number", "/stakes/0/at"),
        ("unknown-member", "/stakes/0/nmae"),
        ("wrong-type", "/lit"),
        ("missing-member", "/conductor"),
    ]


def test_required_member_that_is_null_is_not_told_to_go() -> None:
    detail = refusal(json.dumps(json.loads(STAKE) | {"at": None}), Stake).errors[0].detail
    assert "out instead" not in detail
    assert stake_errors(at=None) == [("null-not-allowed", "/at")]


@pytest.mark.parametrize(
    "name", ["a\u0000b", "a\nb", "a\u0085b", "a\u202eb", "a\u2066b", "a\u200eb", "lamp\n"]
)
def test_name_that_reads_as_something_else_is_refused(name: str) -> None:
    assert stake_errors(name=name) == [("pattern-mismatch", "/name")]


def test_name_in_any_script_passes() -> None:
    for name in ("Apfelbaum, links", "梨の木", "شجرة", "🌳", "x" * 64):
        assert intake.decode(json.dumps(json.loads(STAKE) | {"name": name}).encode(), Stake).name == name


def test_texts_are_measured_in_characters() -> None:
    assert stake_errors(name="é" * 65) == [("too-long", "/name")]
    assert stake_errors(id="") == [("too-short", "/id")]
    assert stake_errors(id="é") == [("pattern-mismatch", "/id")]


@pytest.mark.parametrize("count", [101, 5_000])
def test_list_of_errors_ends_with_a_word_about_the_rest(count: int) -> None:
    errors = refusal(json.dumps({f"member-{i}": i for i in range(count)})).errors
    assert len(errors) == 101
    assert errors[-1].code == "more-errors"


def test_list_of_repeated_members_is_capped_too() -> None:
    body = "[" + ", ".join(['{"a": 1, "a": 2}'] * 5_000) + "]"
    assert len(refusal(body).errors) == 101


def test_very_long_member_name_is_not_repeated_in_the_reply() -> None:
    refused = refusal(json.dumps({"x" * 100_000: {"a": [1e308] * 9}}))
    assert sum(len(error.pointer) + len(error.detail) for error in refused.errors) < 2_000


def test_sound_values_at_the_edges_pass() -> None:
    path = intake.decode((PATH + ', "spare": -0, "count": 9, "price": "0.00"}').encode(), Path)
    assert path.spare == 0
    assert intake.decode((PATH + ', "spare": 5e-324}').encode(), Path).spare == 5e-324
    assert intake.decode((PATH + ', "spare": null}').encode(), Path).spare is None


def test_text_with_colons_and_escapes_is_not_taken_for_a_repeat() -> None:
    stake = json.loads(STAKE) | {"name": 'a:b "c:d" \\u003a : \u00e9'}
    for ascii_only in (True, False):
        body = json.dumps(stake, ensure_ascii=ascii_only).encode()
        assert intake.decode(body, Stake).name == stake["name"]


def test_what_the_walker_cannot_see_is_told_in_the_words_of_msgspec() -> None:
    # A map is no part of any message, so the walker does not know it.
    refused = refusal('{"a": {"b": "c"}}', dict[str, dict[str, float]])
    assert [(error.code, error.pointer) for error in refused.errors] == [("not-as-described", "")]
    assert "`float`" in refused.detail


def test_tagged_message_outside_a_union_may_come_without_its_tag() -> None:
    assert intake.decode(b'{"name": "a"}', Lone) == intake.decode(b'{"kind": "lone", "name": "a"}', Lone)
    assert refusal(b'{"kind": "alone", "name": "a"}', Lone).errors[0].pointer == "/kind"
    assert refusal(b'{"name": "a", "name": "b"}', Lone).code == "duplicate-member"
