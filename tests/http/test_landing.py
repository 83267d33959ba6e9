import re

import pytest

from service.http.landing import FOLDER, PAGE_POLICY
from service.http.static_files import files_in
from tests.client import Client


def test_the_page_is_html_with_a_policy_of_its_own(client: Client) -> None:
    reply = client.get("/")
    assert reply.status_code == 200
    assert reply.headers["content-type"] == "text/html; charset=utf-8"
    assert reply.headers["content-security-policy"] == PAGE_POLICY
    assert reply.headers["x-content-type-options"] == "nosniff"


def test_the_policy_lets_nothing_in_from_elsewhere_and_nothing_inline() -> None:
    sources = {source for rule in PAGE_POLICY.split(";") for source in rule.split()[1:]}
    assert sources == {"'none'", "'self'", "'script'"}
    assert "require-trusted-types-for 'script'" in PAGE_POLICY


def test_the_page_leads_to_documentation_health_and_contract(client: Client) -> None:
    links = set(re.findall(r'href="(/[^"]*)"', client.get("/").text))
    assert {"/docs", "/openapi.json", "/health/ready"} <= links


def test_every_address_in_the_page_is_served_here(client: Client) -> None:
    text = (FOLDER / "index.html").read_text(encoding="utf-8")
    assert "//" not in text
    for address in re.findall(r'(?:href|src)="(/[^"]*)"', text):
        assert client.get(address).status_code == 200, address


def test_a_copy_that_is_still_good_is_not_sent_again_and_keeps_its_policy(client: Client) -> None:
    first = client.get("/")
    again = client.get("/", headers={"If-None-Match": first.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")
    assert again.headers["content-security-policy"] == PAGE_POLICY


@pytest.mark.parametrize("name", ["nothing.css", "..%2fdocs%2fpage.css"])
def test_only_files_of_the_page_are_served(client: Client, name: str) -> None:
    assert client.get(f"/embed/landing/{name}").status_code == 404


def test_nothing_in_the_files_needs_what_the_policy_forbids() -> None:
    for name, file in files_in(FOLDER).items():
        text = file.content.content.decode()
        assert not re.search(r"style=|<style|<script(?![^>]* src=)", text), name


def test_the_folder_holds_nothing_that_is_not_served() -> None:
    assert {path.name for path in FOLDER.iterdir()} == files_in(FOLDER).keys()
