"""The document as a client gets it: compressed, kept by its tag, and with the operator's address."""

from dataclasses import replace
from typing import Any

import pytest
from openapi_spec_validator import OpenAPIV31SpecValidator

from service.app import app, build
from service.settings import Settings, SettingsError, read_settings
from tests.client import Client

PLAIN = {"Accept-Encoding": "identity"}


@pytest.mark.parametrize("path", ["/openapi.json", "/schemas/voltage-drop.json"])
def test_what_the_contract_is_comes_compressed_where_asked_for_and_can_be_kept(path: str) -> None:
    client = Client(app)
    plain, packed = (
        client.get(path, headers={"Accept-Encoding": each}) for each in ("identity", "br, gzip;q=0.5")
    )
    assert packed.content == plain.content  # the client has undone it
    assert (packed.headers["content-encoding"], "content-encoding" in plain.headers) == ("gzip", False)
    assert int(packed.headers["content-length"]) < len(plain.content) / 4
    assert {reply.headers["vary"] for reply in (plain, packed)} == {"Accept-Encoding"}
    assert plain.headers["etag"] != packed.headers["etag"]
    for reply, coding in ((plain, "identity"), (packed, "gzip")):
        fields = {"Accept-Encoding": coding, "If-None-Match": reply.headers["etag"]}
        again = client.get(path, headers=fields)
        assert (again.status_code, again.content) == (304, b"")


@pytest.mark.parametrize(
    ("contact", "member"),
    [("lamps@garden.example", "email"), ("https://garden.example/help?a=1", "url"), ("", None)],
)
def test_the_operator_stands_in_the_document_where_named(contact: str, member: str | None) -> None:
    settings = read_settings({"LASTLAMP_CONTACT": contact})
    assert settings == replace(Settings(), contact=contact)
    document: Any = Client(build(settings)).get("/openapi.json", headers=PLAIN).json()
    assert document["info"].get("contact") == (None if member is None else {member: contact})
    assert "license" not in document["info"]
    assert list(OpenAPIV31SpecValidator(document).iter_errors()) == []


@pytest.mark.parametrize(
    "contact", ["Marta", "a@b", "javascript:alert(1)", "https://", "a@b.example\n", "x y@z.org"]
)
def test_a_contact_that_is_no_address_refuses_the_start(contact: str) -> None:
    with pytest.raises(SettingsError, match=r"LASTLAMP_CONTACT is .* must be an e-mail address"):
        read_settings({"LASTLAMP_CONTACT": contact})
