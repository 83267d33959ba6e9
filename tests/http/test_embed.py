"""The calculator's files: who may load them, how long they are kept, and that none changes once released."""

import base64
import hashlib
import json
import re
from pathlib import Path
from typing import Any, Final

import pytest

from service import tables
from service.app import build
from service.findings.cautions import CAUTIONS
from service.http.embed import CONFIGURE, FOLDER, FRAME, files_of, newest, versions
from service.http.static_files import PAGE_POLICY, files_in
from service.settings import read_settings
from service.studies.catalogue import assumption_kinds, finding_kinds
from service.studies.gauge_recommendation.remedy_kinds import REMEDY_KINDS
from tests.client import Client

FINDINGS = finding_kinds()
ASSUMPTIONS = assumption_kinds()

LARGEST: Final = 26_624
"""Bytes of the script as a browser fetches it, compressed: phones load it, on other people's pages."""

RELEASED: Final = json.loads((Path(__file__).parent / "released_embed.json").read_text())
CURRENT: Final = FOLDER / newest()
SCRIPT: Final = (CURRENT / "calculator.js").read_text(encoding="utf-8")
WORDS: Final = {
    path.stem: json.loads(path.read_text(encoding="utf-8")) for path in CURRENT.glob("words.*.json")
}
CODED: Final = ("findings", "remedies", "assumptions", "cautions")


def sri(content: bytes) -> str:
    """The hash as the W3C's Subresource Integrity writes it, computed here for itself."""
    return "sha384-" + base64.b64encode(hashlib.sha384(content).digest()).decode()


def leaves(texts: Any, path: str = "") -> dict[str, str]:
    """Every text by its path."""
    if isinstance(texts, str):
        return {path: texts}
    return {key: text for name, part in texts.items() for key, text in leaves(part, f"{path}/{name}").items()}


def test_a_released_file_never_changes() -> None:
    shown = {
        f"{version}/{name}": file.integrity
        for version in versions()
        for name, file in files_of(version).items()
    }
    assert {name: shown.get(name) for name in RELEASED} == RELEASED
    assert shown.keys() == RELEASED.keys(), "A new file is added to released_embed.json when it is released."


def test_the_manifest_gives_the_hash_of_every_file(client: Client) -> None:
    manifest = client.get("/embed/manifest.json").json()
    assert manifest["newest"] == {"v1": newest()}
    assert [row["version"] for row in manifest["versions"]] == list(versions())
    for row in manifest["versions"]:
        assert f"/embed/{row['version']}/calculator.js" in [file["path"] for file in row["files"]]
        for file in row["files"]:
            content = client.get(file["path"]).content
            assert (file["integrity"], file["bytes"]) == (sri(content), len(content))


def test_a_full_version_is_kept_for_ever_and_the_newest_for_minutes(client: Client) -> None:
    full, short = client.get(f"/embed/{newest()}/calculator.js"), client.get("/embed/v1/calculator.js")
    assert full.headers["cache-control"] == "public, max-age=31536000, immutable"
    assert short.headers["cache-control"] == "public, max-age=300"
    assert full.content == short.content


@pytest.mark.parametrize("name", sorted(files_of(newest())))
def test_any_page_may_load_every_file(client: Client, name: str) -> None:
    reply = client.get(f"/embed/v1/{name}", headers={"Origin": "https://shop.example"})
    assert reply.status_code == 200
    assert reply.headers.get_list("access-control-allow-origin") == ["*"]
    assert reply.headers["cross-origin-resource-policy"] == "cross-origin"
    assert reply.headers["x-content-type-options"] == "nosniff"


def test_a_copy_that_is_still_good_is_not_sent_again(client: Client) -> None:
    etag = client.get("/embed/v1/calculator.js").headers["etag"]
    again = client.get("/embed/v1/calculator.js", headers={"If-None-Match": etag})
    assert (again.status_code, again.content) == (304, b"")
    assert again.headers["cross-origin-resource-policy"] == "cross-origin"


@pytest.mark.parametrize(
    "path",
    ["/embed/v1/nothing.js", "/embed/v2/calculator.js", "/embed/frame/..%2fcalculator.js", "/embed/0/x"],
)
def test_what_is_not_released_is_not_found(client: Client, path: str) -> None:
    reply = client.get(path)
    assert (reply.status_code, reply.json()["code"]) == (404, "not-found")


def test_the_script_is_small_on_the_wire(client: Client) -> None:
    reply = client.get("/embed/v1/calculator.js", headers={"Accept-Encoding": "br, gzip"})
    assert reply.headers["content-encoding"] == "gzip"
    assert int(reply.headers["content-length"]) <= LARGEST
    assert reply.text == SCRIPT


@pytest.mark.parametrize(
    ("accepted", "sent"),
    [
        ("gzip", True),
        ("deflate, gzip;q=0.5", True),
        ("gzip;q=0", False),
        ("gzip; q=0.000", False),
        ("br", False),
    ],
)
def test_a_file_is_compressed_for_who_can_read_it(client: Client, accepted: str, *, sent: bool) -> None:
    reply = client.get("/embed/v1/calculator.js", headers={"Accept-Encoding": accepted})
    assert (reply.headers.get("content-encoding") == "gzip") is sent
    assert "Accept-Encoding" in reply.headers["vary"]
    assert reply.text == SCRIPT


def test_the_two_forms_of_a_file_have_each_a_tag(client: Client) -> None:
    plain, compressed = (
        client.get("/embed/v1/calculator.css", headers={"Accept-Encoding": coding}).headers["etag"]
        for coding in ("identity", "gzip")
    )
    assert plain != compressed
    again = client.get(
        "/embed/v1/calculator.css", headers={"Accept-Encoding": "gzip", "If-None-Match": compressed}
    )
    assert (again.status_code, again.headers["etag"]) == (304, compressed)


def test_the_script_needs_nothing_that_a_strict_policy_forbids() -> None:
    forbidden = (
        r"innerHTML|outerHTML|insertAdjacentHTML|eval\(|new Function|document\.write|style=|\.style\b|cssText"
    )
    assert not re.search(forbidden, SCRIPT)


def test_the_style_knows_start_and_end_but_no_left_and_right() -> None:
    style = (CURRENT / "calculator.css").read_text(encoding="utf-8")
    assert not re.search(
        r"(?<!\w)(left|right)\b|(margin|padding|border)-(top|bottom)|[^-]\b(width|height):", style
    )


def test_the_script_keeps_nothing() -> None:
    assert not re.search(r"localStorage|sessionStorage|indexedDB|document\.cookie|caches\.", SCRIPT)


def test_the_script_names_no_address_but_that_of_its_namespace() -> None:
    assert set(re.findall(r"https?://[^\"'`\s]+", SCRIPT)) == {"http://www.w3.org/2000/svg"}


def test_the_script_believes_its_companions_by_their_hashes() -> None:
    stated = dict(re.findall(r'^  "((?:calculator|words)[^"]+)": "(sha384-[^"]+)"', SCRIPT, re.MULTILINE))
    assert stated == {name: sri((CURRENT / name).read_bytes()) for name in stated}
    assert stated.keys() == {"calculator.css", *(f"{name}.json" for name in WORDS)}


RETIRED = {"circuit-limit-default"}
"""Codes that no reply has any more, of which a released calculator knows the words."""


def test_the_conductors_on_offer_are_those_in_which_cable_is_laid() -> None:
    stated = re.findall(r'^  (?:us|metric): \["(.+)"\]', SCRIPT, re.MULTILINE)
    offered = {size for row in stated for size in row.split('", "')}
    assert offered == set(tables.CABLE_SIZES)


@pytest.mark.parametrize("language", sorted(WORDS))
def test_words_are_keyed_by_codes_that_the_service_knows(language: str) -> None:
    known: tuple[dict[str, Any], ...] = (FINDINGS, REMEDY_KINDS, ASSUMPTIONS, CAUTIONS)
    for name, codes in zip(CODED, known, strict=True):
        assert set(WORDS[language][name]) <= {*codes, *RETIRED}, name
    assert set(WORDS[language]["cautions"]) == set(CAUTIONS)


@pytest.mark.parametrize("language", sorted(WORDS))
def test_every_language_has_every_word_and_fills_in_the_same_parts(language: str) -> None:
    texts, others = leaves(WORDS[language]), leaves(WORDS["words.de"])
    assert texts.keys() == others.keys()
    for key, text in texts.items():
        parts = set(re.findall(r"\{\w+\}", text))
        # A sentence may leave out where something is, or of what, but it may not wait for what nobody gives.
        if key.startswith("/findings/"):
            template = FINDINGS[key.removeprefix("/findings/")].template
            # The limit is given beside the parts; where it is not, the service's English is shown.
            assert parts <= set(re.findall(r"\{\w+\}", template)) | {"{where}", "{limit}"}, key
        else:
            assert parts == set(re.findall(r"\{\w+\}", others[key])), key
        assert text.strip(), key


def test_without_an_origin_the_frame_is_closed_and_says_how_to_open_it(client: Client) -> None:
    reply = client.get("/embed/frame")
    assert reply.headers["content-security-policy"].endswith("frame-ancestors 'none'")
    assert "LASTLAMP_FRAME_ANCESTORS=" in reply.text
    assert "<script" not in reply.text


def test_a_named_origin_may_frame_the_calculator() -> None:
    settings = read_settings({"LASTLAMP_FRAME_ANCESTORS": "https://shop.example, https://www.shop.example"})
    reply = Client(build(settings)).get("/embed/frame")
    policy = reply.headers["content-security-policy"]
    assert policy.endswith("frame-ancestors https://shop.example https://www.shop.example")
    assert "'unsafe" not in policy
    assert "require-trusted-types-for 'script'" in policy


@pytest.mark.parametrize("page", [FRAME, CONFIGURE])
def test_the_files_of_the_pages_are_served_and_nothing_stands_inline(client: Client, page: Path) -> None:
    inline = r"<script(?![^>]* src=)|style=|<style|innerHTML"
    for name in files_in(page):
        reply = client.get(f"/embed/{page.name}/{name}")
        assert reply.status_code == 200, name
        # One file writes a script element as text, for a site to copy.
        assert not re.search(inline, reply.text.replace("`<script", "")), name


def test_the_page_that_writes_the_snippet_may_not_be_framed(client: Client) -> None:
    reply = client.get("/embed/configure")
    assert reply.status_code == 200
    assert reply.headers["content-security-policy"].endswith("frame-ancestors 'none'")
    assert "'unsafe" not in reply.headers["content-security-policy"]


def test_a_page_has_no_files_of_another(client: Client) -> None:
    assert client.get("/embed/frame/configure.js").status_code == 404


def test_the_meter_page_loads_the_files_of_its_own_version_under_the_policy_of_the_other_pages(
    client: Client,
) -> None:
    for version in (newest(), "v1"):
        reply = client.get(f"/embed/{version}/meter")
        assert reply.status_code == 200
        assert reply.headers["content-security-policy"] == PAGE_POLICY.format("'none'")
        assert reply.headers["cache-control"] == "no-cache"
        assert reply.headers["x-content-type-options"] == "nosniff"
        assert {'href="meter.css"', 'src="meter.js"'} <= set(
            re.findall(r'(?:href|src)="meter[^"]*"', reply.text)
        )
    assert not re.search(r"<script(?![^>]* src=)|style=|<style|innerHTML", reply.text)


def test_a_version_from_before_the_meter_page_has_none(client: Client) -> None:
    assert client.get("/embed/1.0.0/meter").status_code == 404
    assert client.get("/embed/9.9.9/meter").status_code == 404


def test_the_meter_page_keeps_nothing_and_makes_no_markup_of_texts() -> None:
    script = (CURRENT / "meter.js").read_text(encoding="utf-8")
    assert not re.search(r"localStorage|sessionStorage|indexedDB|document\.cookie|caches\.", script)
    assert not re.search(r"innerHTML|outerHTML|insertAdjacentHTML|eval\(|new Function|\.style\b", script)
    assert not re.search(r"https?://", script)
