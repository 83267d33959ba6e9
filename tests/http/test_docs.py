"""The pages of the service itself, documentation and landing page, each with the files that it loads."""

import re
from pathlib import Path

import pytest

from service.http import docs, landing
from service.http.docs import FOLDER, files
from service.http.static_files import PAGE_POLICY, files_in
from tests.client import Client

LARGEST = 40_000
"""Bytes of the whole page: it is read on a phone, in a garden."""

ASSETS = sorted(name for name in files() if name != "index.html")
POLICIES = {"/docs": docs.DOCS_POLICY, "/": PAGE_POLICY.format("'none'")}
FOLDERS = {docs.FOLDER: set(files()), landing.FOLDER: set(files_in(landing.FOLDER))}

each_page = pytest.mark.parametrize("page", POLICIES)
each_folder = pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder.name)


@each_page
def test_the_page_is_html_with_a_policy_of_its_own(client: Client, page: str) -> None:
    reply = client.get(page)
    assert reply.status_code == 200
    assert reply.headers["content-type"] == "text/html; charset=utf-8"
    assert reply.headers["content-security-policy"] == POLICIES[page]
    assert reply.headers["x-content-type-options"] == "nosniff"


@pytest.mark.parametrize(("page", "more"), [("/docs", "data:"), ("/", "'script'")])
def test_the_policy_lets_nothing_in_from_elsewhere_and_nothing_inline(page: str, more: str) -> None:
    sources = {source for rule in POLICIES[page].split(";") for source in rule.split()[1:]}
    assert sources == {"'none'", "'self'", more}
    assert POLICIES[page].startswith("default-src 'none'; ")


def test_the_landing_page_needs_trusted_types() -> None:
    assert "require-trusted-types-for 'script'" in POLICIES["/"]


@pytest.mark.parametrize(
    ("ending", "media_type"),
    [
        (".css", "text/css; charset=utf-8"),
        (".js", "text/javascript; charset=utf-8"),
        (".svg", "image/svg+xml"),
    ],
)
def test_each_file_has_its_media_type_and_may_load_nothing(
    client: Client, ending: str, media_type: str
) -> None:
    names = [name for name in ASSETS if name.endswith(ending)]
    assert names
    for name in names:
        reply = client.get(f"/docs/{name}")
        assert reply.status_code == 200
        assert reply.headers["content-type"] == media_type
        assert reply.headers["content-security-policy"].startswith("default-src 'none'; ")
        assert reply.content == (FOLDER / name).read_bytes()


@pytest.mark.parametrize("path", [*POLICIES, *(f"/docs/{name}" for name in ASSETS)])
def test_a_copy_that_is_still_good_is_not_sent_again_and_keeps_its_policy(client: Client, path: str) -> None:
    first = client.get(path)
    again = client.get(path, headers={"If-None-Match": first.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")
    for name in ("etag", "cache-control", "content-security-policy"):
        assert again.headers[name] == first.headers[name]
    assert client.get(path, headers={"If-None-Match": '"another"'}).status_code == 200


@pytest.mark.parametrize("path", ["/docs", "/docs/page.js"])
def test_head_has_the_header_fields_of_get(client: Client, path: str) -> None:
    head, get = client.request("HEAD", path), client.get(path)
    assert head.content == b""
    assert head.headers["content-length"] == str(len(get.content))
    assert head.headers["etag"] == get.headers["etag"]


@pytest.mark.parametrize(
    "path",
    [
        *(f"/docs/{name}" for name in ("nothing.js", "..%2fdocs.py", "%2e%2e%2f%2e%2e%2fapp.py")),
        "/docs/index.html%00.js",
        "/embed/landing/nothing.css",
        "/embed/landing/..%2fdocs%2fpage.css",
    ],
)
def test_only_files_of_the_page_are_served(client: Client, path: str) -> None:
    reply = client.get(path)
    assert (reply.status_code, reply.json()["code"]) == (404, "not-found")
    assert reply.headers["content-type"] == "application/problem+json"


def test_a_client_that_takes_no_page_is_refused(client: Client) -> None:
    assert client.get("/docs", headers={"Accept": "application/json"}).status_code == 406


def test_the_landing_page_leads_to_documentation_health_and_contract(client: Client) -> None:
    links = set(re.findall(r'href="(/[^"]*)"', client.get("/").text))
    assert {"/docs", "/openapi.json", "/health/ready"} <= links


@each_folder
def test_every_address_in_the_files_is_served_here(client: Client, folder: Path) -> None:
    for path in folder.iterdir():
        text = path.read_text(encoding="utf-8").replace("http://www.w3.org/2000/svg", "")
        assert "//" not in re.sub(r"^\s*//.*$|(?<=\s)//(?= )", "", text, flags=re.MULTILINE), path.name
        addresses = re.findall(r'(?:href|src)="(/[^"]*)"', text)
        addresses += [f"/docs/{name}" for name in re.findall(r'from "\./([^"]+)"', text)]
        for address in addresses:
            assert client.get(address).status_code == 200, (path.name, address)


@each_folder
def test_nothing_in_the_files_needs_what_the_policy_forbids(folder: Path) -> None:
    for path in folder.iterdir():
        text = path.read_text(encoding="utf-8")
        assert not re.search(
            r"innerHTML|outerHTML|insertAdjacentHTML|eval\(|new Function|style=|<style", text
        ), path
        assert not re.search(r"<script(?![^>]* src=)", text), path


def test_the_page_is_small() -> None:
    assert sum(len(file.content.content) for file in files().values()) < LARGEST


@each_folder
def test_the_folder_holds_nothing_that_is_not_served(folder: Path) -> None:
    assert {path.name for path in folder.iterdir()} == FOLDERS[folder]
