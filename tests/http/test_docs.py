"""The pages of the service itself, documentation and landing page, each with the files that it loads."""

import json
import re
from pathlib import Path
from typing import Any

import pytest

from service.app import app
from service.http import docs, guide, landing
from service.http.docs import FOLDER, html_of
from service.http.static_files import PAGE_POLICY, files_in
from service.studies import STUDIES
from service.studies.catalogue import finding_kinds
from tests.client import Client
from tests.test_words import AVOIDED

LARGEST = 40_000
"""Bytes of the whole page: it is read on a phone, in a garden."""

ASSETS = sorted(name for name in files_in(FOLDER) if name != "reference.html")
POLICIES = {
    **dict.fromkeys(["/docs", "/docs/reference", "/docs/voltage-drop", "/docs/garden"], docs.DOCS_POLICY),
    "/": PAGE_POLICY.format("'none'"),
}
FOLDERS = {folder: set(files_in(folder)) for folder in (docs.FOLDER, landing.FOLDER)}
TEXTS = {"/docs.md": "text/markdown", "/llms.txt": "text/plain", "/docs/search.json": "application/json"}

AS_SHOWN = {"Accept": "application/json", "X-Request-ID": "example-request"}
"""The header fields with which the examples of the document are asked."""

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


@pytest.mark.parametrize("path", [*POLICIES, *TEXTS, *(f"/docs/{name}" for name in ASSETS)])
def test_a_copy_that_is_still_good_is_not_sent_again_and_keeps_its_policy(client: Client, path: str) -> None:
    first = client.get(path)
    again = client.get(path, headers={"If-None-Match": first.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")
    for name in ("etag", "cache-control", "content-security-policy"):
        assert again.headers[name] == first.headers[name]
    assert client.get(path, headers={"If-None-Match": '"another"'}).status_code == 200


@pytest.mark.parametrize("path", ["/docs", "/docs/page.js", "/docs/voltage-drop", *TEXTS])
def test_head_has_the_header_fields_of_get(client: Client, path: str) -> None:
    plain = {"Accept-Encoding": "identity"}
    head, get = client.request("HEAD", path, headers=plain), client.get(path, headers=plain)
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
    assert sum(len(file.content.content) for file in files_in(FOLDER).values()) < LARGEST


@each_folder
def test_the_folder_holds_nothing_that_is_not_served(folder: Path) -> None:
    assert {path.name for path in folder.iterdir()} == FOLDERS[folder]


@pytest.fixture(scope="module")
def contract() -> Any:
    return Client(app).get("/openapi.json").json()


@pytest.fixture(scope="module")
def pages(contract: Any) -> list[guide.Chapter]:
    return guide.pages(contract)


@pytest.mark.parametrize(("path", "media_type"), TEXTS.items())
def test_the_texts_are_served_compressed_where_that_is_taken(
    client: Client, path: str, media_type: str
) -> None:
    plain = client.get(path, headers={"Accept-Encoding": "identity"})
    compressed = client.get(path, headers={"Accept-Encoding": "gzip"})
    assert plain.headers["content-type"].partition(";")[0] == media_type
    assert (plain.headers.get("content-encoding"), compressed.headers["content-encoding"]) == (None, "gzip")
    assert plain.text == compressed.text
    assert plain.headers["etag"] != compressed.headers["etag"]
    assert plain.headers["content-security-policy"].endswith("sandbox")


def test_every_study_has_a_page_with_its_address_and_what_the_trade_calls_it(
    pages: list[guide.Chapter],
) -> None:
    texts = {page.name: page.text for page in pages}
    for name, study in STUDIES.items():
        assert f"`POST /v1/{name}`" in texts[name]
        assert study.description.trade_names
        for called in study.description.trade_names:
            assert called in texts[name]


def test_every_study_stands_once_in_the_short_list_and_whole_in_the_one_file(client: Client) -> None:
    short, whole = client.get("/llms.txt").text, client.get("/docs.md").text
    for name, study in STUDIES.items():
        assert short.count(f"`POST /v1/{name}`. {study.description.question}") == 1
        assert whole.count(f"\n# {study.description.summary}\n") == 1
    assert short.startswith("# Lastlamp\n\n> ")


def test_every_finding_is_on_its_page(pages: list[guide.Chapter]) -> None:
    [text] = [page.text for page in pages if page.name == "findings"]
    for code, kind in finding_kinds().items():
        assert f"### {code}\n\n{kind.meaning}\n" in text


def test_every_link_leads_to_a_page_and_to_a_heading_on_it(
    client: Client, pages: list[guide.Chapter]
) -> None:
    sources = {page.address: client.get(page.address).text for page in pages}
    links = {link for text in sources.values() for link in re.findall(r'href="([^"]+)"', text)}
    links |= {
        link
        for path in ("/docs.md", "/llms.txt")
        for link in re.findall(r"\]\(([^)]+)\)", client.get(path).text)
    }
    links |= {entry["address"] for entry in client.get("/docs/search.json").json()}
    schemas = client.get("/openapi.json").json()["components"]["schemas"]
    assert len(links) > 100
    for link in sorted(links - {"#content"}):
        address, _, anchor = link.partition("#")
        assert client.get(address).status_code == 200, link
        if address == "/docs/reference" and anchor:
            # Its headings are written by a script; tests/browser looks at them.
            assert anchor.removeprefix("type-") in schemas
        elif anchor:
            assert f'id="{anchor}"' in sources[address], link


def test_no_page_has_a_heading_twice(pages: list[guide.Chapter], client: Client) -> None:
    for page in pages:
        names = re.findall(r' id="([^"]+)"', client.get(page.address).text)
        assert len(names) == len(set(names)), page.name


def test_what_the_pages_show_is_answered_as_they_show_it(client: Client, contract: Any) -> None:
    shown = 0
    for page in guide.pages(contract):
        if f"/v1/{page.name}" not in contract["paths"]:
            continue
        blocks = [json.loads(block) for block in re.findall(r"```json\n(.*?)\n```", page.text, re.DOTALL)]
        for sent, back in zip(blocks[::2], blocks[1::2], strict=True):
            reply = client.post(f"/v1/{page.name}", json=sent, headers=AS_SHOWN)
            assert reply.status_code == 200
            # The digest is that of the bytes, which are indented otherwise in the file.
            assert guide.shortened(reply.json()) == back
            shown += 1
    assert shown > 12


def test_each_step_of_the_garden_has_the_sentence_of_its_answer(contract: Any) -> None:
    [garden] = [page.text for page in guide.pages(contract) if page.name == "garden"]
    said = [line for line in (guide.GARDEN / "README.md").read_text().splitlines() if line.startswith("> ")]
    assert len(said) == len(list(guide.GARDEN.glob("[0-9]-*.json")))
    assert all(f"{line}\n" in garden for line in said)
    assert "](" not in garden


@pytest.mark.parametrize("path", ["/docs.md", "/llms.txt"])
def test_the_texts_use_the_words_of_the_trade(client: Client, path: str) -> None:
    text = client.get(path).text.lower()
    assert [phrase for phrase in AVOIDED if phrase in text] == []


def test_a_text_never_becomes_markup() -> None:
    hostile = (
        '## <b>x</b>\n\n<script>alert(1)</script> `<i>` [<u>](/docs"onclick=x)\n\n'
        "- **<s>**\n\n| <td> |\n|---|\n| </td> |"
    )
    written = html_of(hostile, guide.anchor)
    assert not re.search(r"<(?!/?(h2|p|code|ul|li|strong|a|table|thead|tbody|tr|t[hd])\b)", written)
    assert "<script" not in written
    assert '"onclick' not in written


def test_the_search_finds_each_study_by_every_name_of_the_trade(client: Client) -> None:
    entries = client.get("/docs/search.json").json()
    for study in STUDIES.values():
        [first] = [entry for entry in entries if entry["title"] == entry["page"] == study.description.summary]
        assert all(called in first["text"] for called in study.description.trade_names)
