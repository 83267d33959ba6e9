"""Whose request it is: the peer, or what proxies that are trusted add to X-Forwarded-For.

Addresses are those for documentation (RFC 5737, RFC 3849) and private ones (RFC 1918, RFC 4193).
"""

from ipaddress import ip_address

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.access.client_address import NOBODY, ClientAddresses, read_network

INSIDE = ("10.0.0.0/8", "fd00::/8")
PROXY = "10.0.0.1"


def client(peer: str | None, *lines: str, trusted: tuple[str, ...] = INSIDE) -> str:
    headers = [(b"host", b"lamp.example"), *((b"x-forwarded-for", line.encode("latin-1")) for line in lines)]
    return ClientAddresses(trusted).client(peer, headers)


@pytest.mark.parametrize(
    "forged", ["192.0.2.1", "127.0.0.1", "10.0.0.9", "", "nonsense", "unknown, 10.0.0.1"]
)
def test_what_a_peer_claims_that_is_not_trusted_changes_nothing(forged: str) -> None:
    assert client("198.51.100.7", forged) == "198.51.100.7"
    assert client(PROXY, forged, trusted=()) == PROXY


def test_a_trusted_proxy_names_the_client() -> None:
    assert client(PROXY, "192.0.2.1") == "192.0.2.1"
    assert client("fd00::1", "192.0.2.1") == "192.0.2.1"


def test_without_the_field_the_proxy_is_the_client() -> None:
    assert client(PROXY) == PROXY


def test_what_stands_left_of_the_first_untrusted_hop_may_be_forged_and_is_not_looked_at() -> None:
    assert client(PROXY, "203.0.113.9, 198.51.100.7") == "198.51.100.7"
    assert client(PROXY, "10.0.0.5, 198.51.100.7") == "198.51.100.7"


def test_trusted_hops_are_passed_over() -> None:
    assert client(PROXY, "198.51.100.7, 10.0.0.3, fd00::2,10.0.0.2") == "198.51.100.7"


def test_where_all_hops_are_trusted_the_first_of_them_asked() -> None:
    assert client(PROXY, "10.0.0.9, 10.0.0.3") == "10.0.0.9"


def test_several_lines_are_one_list() -> None:
    # RFC 9110, section 5.3: in the order in which they were received.
    assert client(PROXY, "203.0.113.9", "198.51.100.7") == "198.51.100.7"
    assert client(PROXY, "198.51.100.7", "10.0.0.3, 10.0.0.2") == "198.51.100.7"


@pytest.mark.parametrize(
    "malformed",
    [
        "",
        "unknown",
        "_hidden",
        "198.51.100",
        "198.51.100.07",
        "1.2.3.4.5",
        "::g",
        "[::1",
        "1.2.3.4:",
        "a:b:c:1",
        "1.2.3.4 5.6.7.8",
        "fe80::1%eth0",
        "\xb2.2.2.2",
        "198.51.100.7\x00",
        "0x7f.1",
        "[198.51.100.7]x",
        "1.2.3.4:123456",
        "[::1]:x",
        '"[2001:db8::1]"',
        "for=198.51.100.7",
        "9" * 5_000,
    ],
)
def test_an_entry_that_is_no_address_ends_the_walk_at_the_hop_that_passed_it_on(malformed: str) -> None:
    assert client(PROXY, f"198.51.100.7, {malformed}") == PROXY
    assert client(PROXY, f"198.51.100.7, {malformed}, 10.0.0.2") == "10.0.0.2"
    assert client(PROXY, "198.51.100.7", malformed) == PROXY


@pytest.mark.parametrize(
    ("entry", "address"),
    [
        ("198.51.100.7:52011", "198.51.100.7"),
        ("[2001:db8::7]:52011", "2001:db8::/64"),
        ("[2001:db8::7]", "2001:db8::/64"),
        ("2001:DB8::7", "2001:db8::/64"),
        ("\t 198.51.100.7 \t", "198.51.100.7"),
    ],
)
def test_an_entry_may_have_a_port(entry: str, address: str) -> None:
    assert client(PROXY, entry) == address


def test_addresses_of_one_subscriber_are_one_client() -> None:
    # RFC 6177: a site gets a /64 at least.
    assert client("2001:db8:0:1::1") == client("2001:db8:0:1:ffff:ffff:ffff:ffff") == "2001:db8:0:1::/64"
    assert client("2001:db8:0:2::1") != client("2001:db8:0:1::1")


def test_an_ipv4_address_inside_ipv6_is_the_ipv4_address() -> None:
    # RFC 4291, section 2.5.5.2: as a socket for both families shows peers.
    assert client("::ffff:198.51.100.7") == "198.51.100.7"
    assert client("::ffff:10.0.0.1", "::ffff:198.51.100.7") == "198.51.100.7"
    assert client("::ffff:198.51.100.7") != client("::ffff:198.51.100.8")


@pytest.mark.parametrize("peer", [None, "", "nowhere", "testclient"])
def test_a_peer_without_an_address_is_nobody_and_is_trusted_with_nothing(peer: str | None) -> None:
    assert client(peer, "198.51.100.7") == NOBODY


def test_a_link_local_peer_is_told_apart_from_no_other_of_its_link() -> None:
    assert client("fe80::1%eth0") == "fe80::/64"


@given(st.lists(st.text(st.characters(max_codepoint=255), max_size=60), max_size=6))
def test_no_field_whatever_raises_or_makes_a_client_of_anything_but_an_address(lines: list[str]) -> None:
    found = client(PROXY, *lines)
    assert ip_address(found.removesuffix("/64"))


@given(st.lists(st.sampled_from(["10.0.0.2", "fd00::2", "198.51.100.7", "203.0.113.9", "x", ""]), max_size=8))
def test_what_a_client_puts_before_its_own_address_never_matters(forged: list[str]) -> None:
    # The last entry is the one that the trusted proxy wrote.
    assert client(PROXY, ", ".join([*forged, "192.0.2.1"])) == "192.0.2.1"


def test_a_very_long_list_is_walked_no_further_than_to_the_client() -> None:
    assert client(PROXY, "198.51.100.7, " * 1_000 + "192.0.2.1") == "192.0.2.1"


@pytest.mark.parametrize(
    ("text", "network"),
    [
        ("10.0.0.0/8", "10.0.0.0/8"),
        ("10.0.0.5", "10.0.0.5/32"),
        ("FD00::/8", "fd00::/8"),
        ("::1", "::1/128"),
        ("172.16.0.0/255.240.0.0", "172.16.0.0/12"),
    ],
)
def test_a_network_is_read_into_its_one_form(text: str, network: str) -> None:
    assert read_network(text) == network


@pytest.mark.parametrize(
    "text",
    ["", "*", "all", "0.0.0.0/0", "::/0", "10.0.0.5/8", "::ffff:10.0.0.0/104", "10.0.0.0/33", "fe80::1%eth0"],
)
def test_what_is_no_network_or_every_address_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="networks or addresses such as"):
        read_network(text)
