"""Which form is answered, under which header fields, and that it is the same every time."""

import html
import re
import subprocess
import sys
from base64 import b64encode
from hashlib import sha256
from typing import Any

import pytest

from tests.client import Client
from tests.sheets.reading import HTML, PDF, SVG
from tests.sheets.studies import EXAMPLES, IDS, STUDIES, Printed

STUDY = STUDIES[0]
BROWSER = "text/html,application/xhtml+xml,application/xml;q=0.9,image/avif,image/webp,*/*;q=0.8"


def asked(client: Client, study: Printed, accept: str | None, **more: str) -> Any:
    headers = {**({} if accept is None else {"Accept": accept}), **more}
    return client.post(study.path, json=study.request(), headers=headers)


@pytest.mark.parametrize("study", STUDIES, ids=IDS)
@pytest.mark.parametrize("accept", [None, "*/*", "application/json", "application/json, text/html;q=0.9"])
def test_json_is_what_programs_get(client: Client, study: Printed, accept: str | None) -> None:
    reply = asked(client, study, accept)
    assert reply.headers["content-type"] == "application/json"
    assert reply.headers["vary"] == "Accept"


@pytest.mark.parametrize("study", STUDIES, ids=IDS)
@pytest.mark.parametrize(("form", "kind"), [(HTML, "inline"), (PDF, "attachment"), (SVG, "inline")])
def test_a_form_is_answered_where_it_is_offered(client: Client, study: Printed, form: str, kind: str) -> None:
    reply = asked(client, study, form)
    if form == SVG and not study.drawn:
        assert reply.status_code == 406
        offered = reply.json()["detail"].rpartition("answers in ")[2].replace(" or ", ", ")
        assert offered.startswith("application/json, text/html, application/pdf")
        return
    assert reply.headers["content-type"].partition(";")[0] == form
    ending = {HTML: "html", PDF: "pdf", SVG: "svg"}[form]
    name = study.path.rpartition("/")[2]
    assert reply.headers["content-disposition"] == f'{kind}; filename="{name}.{ending}"'
    assert reply.headers["vary"] == "Accept"
    assert reply.headers["x-content-type-options"] == "nosniff"


@pytest.mark.parametrize("study", STUDIES, ids=IDS)
def test_a_browser_gets_the_page(client: Client, study: Printed) -> None:
    assert asked(client, study, BROWSER).headers["content-type"].startswith("text/html")


def test_a_mistake_is_a_problem_in_every_form(client: Client) -> None:
    for form in (HTML, PDF, SVG):
        reply = client.post(STUDY.path, json={}, headers={"Accept": form})
        assert (reply.status_code, reply.headers["content-type"]) == (400, "application/problem+json")


@pytest.mark.parametrize("form", [HTML, SVG])
def test_a_page_may_load_and_run_nothing(client: Client, form: str) -> None:
    reply = asked(client, STUDY, form)
    policy = reply.headers["content-security-policy"]
    assert policy.startswith("default-src 'none'; style-src 'sha256-")
    assert policy.endswith("frame-ancestors 'none'; sandbox")
    assert "unsafe" not in policy


@pytest.mark.parametrize("study", STUDIES, ids=IDS)
@pytest.mark.parametrize("form", [HTML, SVG])
def test_the_policy_names_the_only_style_there_is(client: Client, study: Printed, form: str) -> None:
    reply = asked(client, study, form)
    if reply.status_code == 406:
        return
    [style] = re.findall(r"<style>(.*?)</style>", reply.text, re.DOTALL)
    told = b64encode(sha256(html.unescape(style).encode()).digest()).decode()
    assert f"'sha256-{told}'" in reply.headers["content-security-policy"]
    assert 'style="' not in reply.text


def test_what_is_only_printed_changes_nothing_in_json(client: Client) -> None:
    request = STUDY.request()
    plain = client.post(STUDY.path, json=request).json()
    words = {"title": "Heron Court", "lines": ["Fernhill Garden Lights", ""], "paper": "a4"}
    said = client.post(STUDY.path, json={**request, "sheet": words}).json()
    assert plain.pop("request_sha256") != said.pop("request_sha256")
    assert plain == said


@pytest.mark.parametrize(
    "words",
    [
        {"title": ""},
        {"title": "a\u202eb"},
        {"lines": ["one\ntwo"]},
        {"lines": ["x"] * 13},
        {"lines": ["x" * 121]},
        {"paper": "a5"},
        {"logo": "x"},
    ],
)
def test_what_cannot_be_printed_is_refused(client: Client, words: Any) -> None:
    reply = client.post(STUDY.path, json={**STUDY.request(), "sheet": words})
    assert reply.status_code == 400
    assert reply.json()["errors"][0]["pointer"].startswith("/sheet/")


PROGRAM = """
import asyncio, hashlib, httpx, sys
from service.app import app
async def ask():
    async with httpx.AsyncClient(transport=httpx.ASGITransport(app=app), base_url="http://test") as client:
        headers = {"Content-Type": "application/json", "Accept": sys.argv[1]}
        body = open(sys.argv[2], "rb").read()
        return await client.post("/v1/voltage-drop", content=body, headers=headers)
print(hashlib.sha256(asyncio.run(ask()).content).hexdigest())
"""


@pytest.mark.parametrize("form", [HTML, PDF, SVG])
def test_another_process_at_another_time_writes_the_same_bytes(form: str) -> None:
    file = str(EXAMPLES / "voltage_drop.json")
    command = [sys.executable, "-c", PROGRAM, form, file]
    seen = {
        subprocess.run(command, capture_output=True, check=True, text=True).stdout.splitlines()[-1]  # noqa: S603
        for _ in range(2)
    }
    assert len(seen) == 1


def test_the_program_that_draws_says_nothing_where_no_decoder_of_pictures_is_installed() -> None:
    # None in the table of modules is what Python has for one that cannot be imported.
    program = "import sys; sys.modules['PIL'] = None; import service.sheets.pdf"
    ended = subprocess.run(  # noqa: S603  # this Python, with two imports
        [sys.executable, "-c", program], capture_output=True, check=True, timeout=60
    )
    assert (ended.stdout, ended.stderr) == (b"", b"")
