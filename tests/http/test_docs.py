import re
from pathlib import Path

import pytest

from service.http.docs import FOLDER, PAGE_POLICY, files
from tests.client import Client

LARGEST = 40_000
"""Bytes of the whole page: it is read on a phone, in a garden."""

ASSETS = sorted(name for name in files() if name != "index.html")


def test_the_page_is_html_with_a_policy_of_its_own(client: Client) -> None:
    reply = client.get("/docs")
    assert reply.status_code == 200
    assert reply.headers["content-type"] == "text/html; charset=utf-8"
    assert reply.headers["content-security-policy"] == PAGE_POLICY
    assert reply.headers["x-content-type-options"] == "nosniff"


def test_the_policy_lets_nothing_in_from_elsewhere_and_nothing_inline() -> None:
    sources = {source for rule in PAGE_POLICY.split(";") for source in rule.split()[1:]}
    assert sources == {"'none'", "'self'", "data:"}
    assert PAGE_POLICY.startswith("default-src 'none'; ")


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


@pytest.mark.parametrize("path", ["/docs", *(f"/docs/{name}" for name in ASSETS)])
def test_a_copy_that_is_still_good_is_not_sent_again_and_keeps_its_policy(client: Client, path: str) -> None:
    first = client.get(path)
    again = client.get(path, headers={"If-None-Match": first.headers["etag"]})
    assert again.status_code == 304
    assert again.content == b""
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
    "name", ["nothing.js", "..%2fdocs.py", "%2e%2e%2f%2e%2e%2fapp.py", "index.html%00.js"]
)
def test_only_files_of_the_page_are_served(client: Client, name: str) -> None:
    reply = client.get(f"/docs/{name}")
    assert reply.status_code == 404
    assert reply.headers["content-type"] == "application/problem+json"
    assert reply.json()["code"] == "not-found"


def test_a_client_that_takes_no_page_is_refused(client: Client) -> None:
    assert client.get("/docs", headers={"Accept": "application/json"}).status_code == 406


def test_every_address_in_the_files_is_served_here(client: Client) -> None:
    for path in FOLDER.iterdir():
        text = path.read_text(encoding="utf-8").replace("http://www.w3.org/2000/svg", "")
        assert "//" not in re.sub(r"^\s*//.*$|(?<=\s)//(?= )", "", text, flags=re.MULTILINE), path.name
        addresses = re.findall(r'(?:href|src)="(/[^"]*)"', text)
        addresses += [f"/docs/{name}" for name in re.findall(r'from "\./([^"]+)"', text)]
        for address in addresses:
            assert client.get(address).status_code == 200, (path.name, address)


def test_nothing_in_the_files_needs_what_the_policy_forbids() -> None:
    for path in FOLDER.iterdir():
        text = path.read_text(encoding="utf-8")
        assert not re.search(
            r"innerHTML|outerHTML|insertAdjacentHTML|eval\(|new Function|style=|<style", text
        ), path
        assert not re.search(r"<script(?![^>]* src=)", text), path


def test_the_page_is_small() -> None:
    assert sum(len(file.content.content) for file in files().values()) < LARGEST


def test_the_folder_holds_nothing_that_is_not_served() -> None:
    assert {path.name for path in Path(FOLDER).iterdir()} == files().keys()
