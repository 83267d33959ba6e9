from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.access.keys import BROWSER_PREFIX, SECRET_PREFIX, BrowserKey, KeysError, fresh_key, read_keys
from service.access.origins import read_origin
from tests.access.gates import BROWSER_KEY, KEY, RING, SHOP, browser_entry, entry, hashed

STUDIES = ("voltage-drop", "reach", "batch")


def mistakes_of(text: str) -> list[str]:
    with pytest.raises(KeysError) as caught:
        read_keys(text, STUDIES)
    return caught.value.mistakes


def test_a_key_is_found_by_its_hash() -> None:
    ring = read_keys(RING, STUDIES)
    found = ring.find(KEY.encode())
    assert found is not None
    assert found.name == "quoting-desk"
    assert ring.find(b"guess") is None


def test_sha256_is_that_of_the_standard() -> None:
    # FIPS 180-2, appendix B.1: the hash of "abc".
    digest = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert read_keys(f'[[key]]\nname = "a"\nsha256 = "{digest}"', STUDIES).find(b"abc") is not None


def test_a_key_for_pages_knows_its_origins_and_studies() -> None:
    key = read_keys(RING, STUDIES).find(BROWSER_KEY.encode())
    assert isinstance(key, BrowserKey)
    assert key.origins == {SHOP}
    assert key.studies == {"voltage-drop"}


def test_no_hash_stands_in_what_is_printed_of_a_key() -> None:
    printed = repr(read_keys(RING, STUDIES))
    assert hashed(KEY) not in printed
    assert repr(bytes.fromhex(hashed(KEY))) not in printed


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "There is no key."),
        ("a = 1\nname = x", "not TOML at line 2, column 8"),
        ("\x00", "not TOML"),
        ("a = " + "[" * 5_000, "not TOML"),
        ('[[keys]]\nname = "a"', "outside the tables"),
        ('[key]\nname = "a"', "key is written as [[key]]"),
        ("[[key]]", "name is missing"),
        (entry("Quoting", KEY), "name must be"),
        (entry("quoting\\u000a", KEY), "name must be"),
        (entry("quoting", KEY) + "role = 'all'", "more than name, sha256"),
        (f'[[key]]\nname = "quoting"\nsha256 = "{KEY}"', "never the key itself"),
        (entry("quoting", KEY) + entry("quoting", BROWSER_KEY), "the same name"),
        (entry("quoting", KEY) + entry("second", KEY), "the same sha256"),
        (entry("quoting", KEY) + browser_entry("shop", KEY, SHOP, "reach"), "the same sha256"),
        (browser_entry("shop", KEY, "null", "reach"), "neither null nor *"),
        (browser_entry("shop", KEY, "*", "reach"), "neither null nor *"),
        (browser_entry("shop", KEY, SHOP + "/page", "reach"), "no path"),
        (browser_entry("shop", KEY, SHOP, "batch"), "batch would ask all of them"),
        (browser_entry("shop", KEY, SHOP, "quote"), "reach, voltage-drop"),
        (entry("quoting", KEY).replace('"', "'''").replace("sha256 = '''", "sha256 = 5 #"), "sha256 must be"),
    ],
)
def test_what_cannot_be_used_is_said_without_quoting_it(text: str, words: str) -> None:
    said = " ".join(mistakes_of(text))
    assert words in said
    for quoted in (KEY, hashed(KEY), "Quoting", "role"):
        assert quoted not in said


def test_every_mistake_is_told_at_once() -> None:
    assert len(mistakes_of('[[key]]\nname = "A"\n[[browser_key]]\nname = "shop"')) == 5


@given(st.text(max_size=60))
def test_no_text_raises_anything_but_a_sentence(text: str) -> None:
    with pytest.raises(KeysError):
        read_keys(text, STUDIES)


@pytest.mark.parametrize(
    ("text", "origin"),
    [
        # HTML standard, "serialization of an origin"; URL standard: usual ports are left out.
        ("https://shop.example", "https://shop.example"),
        ("HTTPS://Shop.Example:443", "https://shop.example"),
        ("http://localhost:3000", "http://localhost:3000"),
        ("http://[::1]:80", "http://[::1]"),
        ("https://shop.example:80", "https://shop.example:80"),
    ],
)
def test_an_origin_is_written_as_a_browser_does(text: str, origin: str) -> None:
    assert read_origin(text) == origin


@pytest.mark.parametrize(
    "text",
    ["", "null", "*", "shop.example", "https://", "https://*.shop.example", "https://shop.example/", "ftp://a.example",
     "https://me@shop.example", "https://shop.example:0", "https://shop.example:65536", "https://a.example\n",
     "https://a b", "https://[::1", "https://b\u00fccher.example"],
)  # fmt: skip
def test_what_is_no_origin_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="origins such as"):
        read_origin(text)


MAKERS: list[Callable[[], tuple[str, str]]] = [
    lambda: fresh_key("quoting", known=()),
    lambda: fresh_key("shop", [SHOP], ["reach"], known=STUDIES),
]


@pytest.mark.parametrize("make", MAKERS)
def test_a_fresh_key_is_good_with_the_lines_that_come_with_it(make: Callable[[], tuple[str, str]]) -> None:
    key, lines = make()
    found = read_keys(lines, STUDIES).find(key.encode())
    assert found is not None
    assert isinstance(found, BrowserKey) == key.startswith(BROWSER_PREFIX)
    assert key not in lines


def test_a_fresh_key_is_long_random_and_recognised() -> None:
    keys = {fresh_key("quoting", known=())[0] for _ in range(100)}
    assert len(keys) == 100
    # 256 random bits, written in 43 characters (RFC 4648, section 5); all fit a b64token (RFC 6750).
    assert all(key.startswith(SECRET_PREFIX) and len(key) == len(SECRET_PREFIX) + 43 for key in keys)


@pytest.mark.parametrize(
    ("origins", "studies"), [([SHOP], []), ([], ["reach"]), (["null"], ["reach"]), ([SHOP], ["batch"])]
)
def test_a_key_for_pages_needs_origins_and_studies(origins: list[str], studies: list[str]) -> None:
    with pytest.raises(KeysError):
        fresh_key("shop", origins, studies, known=STUDIES)
