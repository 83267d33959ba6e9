"""Names under which the service answers: RFC 9110, sections 7.2 (Host) and 15.5.20 (421)."""

from typing import Any

import pytest

from service.access.origins import host_of, read_host
from tests.access.gates import SHOP, opened


@pytest.mark.parametrize(
    ("field", "host"),
    [
        (b"lamp.example", "lamp.example"),
        (b"LAMP.example:8080", "lamp.example"),
        (b"lamp.example:", "lamp.example"),  # RFC 3986, section 3.2.3: the port may be empty
        (b"10.0.0.5:80", "10.0.0.5"),
        (b"[::1]:8080", "[::1]"),
        (b"[0:0:0:0:0:0:0:1]", "[::1]"),  # RFC 5952: one form of each address
        (b"[2001:DB8::1]", "[2001:db8::1]"),
    ],
)
def test_a_host_is_read_without_its_port(field: bytes, host: str) -> None:
    assert host_of(field) == host


@pytest.mark.parametrize(
    "field",
    [None, b"", b"::1", b"[::1", b"[::g]", b"[fe80::1%25en0]", b"a@lamp.example", b"lamp.example/x", b"a b",
     b"lamp.example:80:80", b"lamp.example\n", b"lamp.example,evil.example", b"caf\xc3\xa9.example", b"a..b"],
)  # fmt: skip
def test_what_is_no_host_is_none(field: bytes | None) -> None:
    assert host_of(field) is None


@pytest.mark.parametrize("text", ["", "*", "lamp.example:80", "https://lamp.example", "::1", "a b", "lamp\n"])
def test_an_operator_lists_hosts_without_ports(text: str) -> None:
    with pytest.raises(ValueError, match=r"\S"):
        read_host(text)


LISTED = ("lamp.example", "[::1]")


@pytest.mark.parametrize("host", ["lamp.example", "lamp.example:8443", "Lamp.Example", "[::1]:8080"])
def test_a_listed_host_is_answered(host: str) -> None:
    assert opened(allowed_hosts=LISTED).get("/v1/units", headers={"Host": host}).status_code == 200


@pytest.mark.parametrize(
    "host", ["evil.example", "lamp.example.evil.example", "", "lamp.example@evil.example", "127.0.0.1"]
)
def test_another_host_is_misdirected(host: str) -> None:
    service = opened(allowed_hosts=LISTED)
    for path in ("/v1/units", "/openapi.json", "/docs", "/nothing", "/health/../v1/units"):
        reply = service.get(path, headers={"Host": host})
        assert (reply.status_code, reply.json()["code"]) == (421, "host-not-served")


def test_two_hosts_are_none() -> None:
    headers: Any = [("Host", "lamp.example"), ("Host", "evil.example")]
    assert opened(allowed_hosts=LISTED).get("/v1/units", headers=headers).status_code == 421


def test_a_host_that_the_proxy_claims_is_not_looked_at() -> None:
    headers = {"Host": "evil.example", "X-Forwarded-Host": "lamp.example", "Forwarded": "host=lamp.example"}
    assert opened(allowed_hosts=LISTED).get("/v1/units", headers=headers).status_code == 421


def test_health_is_answered_under_any_host() -> None:
    # A probe of the kubelet calls by the address of the pod.
    reply = opened(allowed_hosts=LISTED).get("/health/ready", headers={"Host": "10.1.2.3:8080"})
    assert reply.status_code == 200


def test_a_preflight_goes_to_a_listed_host_only() -> None:
    headers = {"Host": "evil.example", "Origin": SHOP, "Access-Control-Request-Method": "POST"}
    service = opened(allowed_hosts=LISTED, allowed_origins=(SHOP,))
    assert service.request("OPTIONS", "/v1/reach", headers=headers).status_code == 421
