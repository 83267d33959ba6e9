"""`/v1/drop-chart` over HTTP: an address for pages, bodies for the rest, three forms of one answer."""

import csv
import io
import re
import xml.etree.ElementTree as ET
from base64 import b64encode
from hashlib import sha256
from typing import Any

import pytest

from service.studies.drop_chart.study import MOST_CELLS, MOST_CELLS_TOGETHER
from tests import jobs
from tests.client import Client

ADDRESS = "/v1/drop-chart?conductor=14%20AWG&conductor=12+AWG&watts=20,60&feet=25,50,75&volts=12"

# What browsers send for a picture and for a page (seen in their documentation).
PICTURES = [
    "image/avif,image/webp,image/apng,image/svg+xml,image/*,*/*;q=0.8",
    "image/avif,image/webp,image/png,image/svg+xml,image/*;q=0.8,*/*;q=0.5",
    "image/avif,image/webp,*/*",
    "image/*",
    "image/svg+xml",
]
PAGES = "text/html,application/xhtml+xml,application/xml;q=0.9,image/avif,image/webp,*/*;q=0.8"


def body(**more: Any) -> dict[str, Any]:
    return {
        "cables": [{"cable": {"kind": "listed", "conductor": "14 AWG"}}],
        "powers": [jobs.quantity(20, "W")],
        "lengths": [jobs.feet(25)],
        "open_circuit": jobs.volts(12),
        **more,
    }


@pytest.mark.parametrize("accept", [None, "*/*", "application/json", "application/json, image/svg+xml;q=0.9"])
def test_json_is_the_form_for_programs(client: Client, accept: str | None) -> None:
    reply = client.get(ADDRESS, headers={} if accept is None else {"Accept": accept})
    assert reply.headers["content-type"] == "application/json"
    assert [cable["pointer"] for cable in reply.json()["cables"]] == ["?conductor/0", "?conductor/1"]


@pytest.mark.parametrize("accept", PICTURES)
def test_browsers_that_want_a_picture_get_one(client: Client, accept: str) -> None:
    reply = client.get(ADDRESS, headers={"Accept": accept})
    assert reply.headers["content-type"] == "image/svg+xml"
    assert ET.fromstring(reply.content).tag == "{http://www.w3.org/2000/svg}svg"  # noqa: S314  # ours


def test_a_browser_that_opens_the_address_gets_the_page(client: Client) -> None:
    reply = client.get(ADDRESS, headers={"Accept": PAGES})
    assert reply.headers["content-type"] == "text/html; charset=utf-8"
    assert reply.headers["content-disposition"] == 'inline; filename="drop-chart.html"'
    assert reply.headers["etag"] != client.get(ADDRESS).headers["etag"]


def test_the_values_are_a_file_that_a_spreadsheet_opens(client: Client) -> None:
    reply = client.get(ADDRESS, headers={"Accept": "text/csv"})
    assert reply.headers["content-type"] == "text/csv; charset=utf-8"
    assert reply.headers["content-disposition"] == 'attachment; filename="drop-chart.csv"'
    assert reply.text.count("\r\n") == reply.text.count("\n") == 13
    rows = list(csv.DictReader(io.StringIO(reply.text, newline="")))
    cells = [cell for cable in client.get(ADDRESS).json()["cables"] for cell in cable["cells"]]
    assert [float(row["lumped_end_v"]) for row in rows] == [
        cell["lumped"]["end_voltage"]["value"] for cell in cells
    ]
    assert {row["shortcut_basis"] for row in rows} == {"common practice, no published source"}
    assert min(float(row["shortcut_minus_evenly_spread_v"]) for row in rows) < 0


def test_a_collapsed_cell_of_the_values_has_no_number(client: Client) -> None:
    address = "/v1/drop-chart?conductor=18%20AWG&watts=200&feet=100&volts=12"
    [row] = csv.DictReader(io.StringIO(client.get(address, headers={"Accept": "text/csv"}).text))
    assert (row["lumped_end_v"], row["lumped_verdict"]) == ("", "collapsed")
    assert row["shortcut_minus_lumped_v"] == ""


def test_another_form_is_not_acceptable(client: Client) -> None:
    for reply in (
        client.get(ADDRESS, headers={"Accept": "text/plain"}),
        client.post("/v1/drop-chart", json=body(), headers={"Accept": "text/plain"}),
    ):
        assert reply.status_code == 406
        assert (
            "application/json, text/csv, image/svg+xml, text/html or application/pdf"
            in reply.json()["detail"]
        )
    assert client.get(ADDRESS, headers={"Accept": "image/png"}).headers["vary"] == "Accept"


@pytest.mark.parametrize(
    "accept", ["application/json", "text/csv", "image/svg+xml", "text/html", "application/pdf"]
)
def test_a_copy_that_is_still_good_is_not_sent_again(client: Client, accept: str) -> None:
    first = client.get(ADDRESS, headers={"Accept": accept})
    assert first.headers["vary"] == "Accept"
    assert first.headers["cache-control"] == "public, max-age=300"
    again = client.get(ADDRESS, headers={"Accept": accept, "If-None-Match": first.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")
    for name in ("etag", "vary", "cache-control", "content-security-policy"):
        assert again.headers[name] == first.headers[name]


def test_each_form_has_a_tag_of_its_own(client: Client) -> None:
    forms = ("application/json", "text/csv", "image/svg+xml")
    assert len({client.get(ADDRESS, headers={"Accept": form}).headers["etag"] for form in forms}) == 3


def test_the_policy_of_the_drawing_lets_in_its_own_style_and_nothing_else(client: Client) -> None:
    reply = client.get(ADDRESS, headers={"Accept": "image/*"})
    [style] = re.findall("<style>(.*)</style>", reply.text)
    digest = b64encode(sha256(style.encode()).digest()).decode()
    assert reply.headers["content-security-policy"] == (
        f"default-src 'none'; style-src 'sha256-{digest}'; frame-ancestors 'none'; sandbox"
    )
    assert reply.headers["x-content-type-options"] == "nosniff"


def test_every_parameter_to_change_is_named_at_once(client: Client) -> None:
    reply = client.get("/v1/drop-chart?conductor=14AWG&wats=3&watts=abc,-2&feet=1&metres=2&volts=99")
    problem = reply.json()
    assert (reply.status_code, problem["code"]) == (400, "request-invalid")
    assert [(error["code"], error["pointer"]) for error in problem["errors"]] == [
        ("unknown-name", "?conductor/0"),
        ("unknown-member", "?wats"),
        ("wrong-type", "?watts/0"),
        ("out-of-range", "?watts/1"),
        ("out-of-range", "?volts"),
        ("not-as-described", "?metres"),
    ]
    assert 'Did you mean "14 AWG"?' in problem["errors"][0]["detail"]
    assert 'Did you mean "watts"?' in problem["errors"][1]["detail"]


def test_an_address_has_at_most_six_conductors_and_twenty_loads_and_lengths(client: Client) -> None:
    numbers = ",".join(map(str, range(1, 21)))
    most = f"/v1/drop-chart?{'conductor=12%20AWG&' * 6}watts={numbers}&metres={numbers}&volts=12"
    assert len(client.get(most).json()["cables"][5]["cells"]) == 400
    over = most.replace("watts=", "conductor=12%20AWG&watts=21,").replace("metres=", "metres=21,")
    errors = client.get(over).json()["errors"]
    assert [(error["code"], error["pointer"]) for error in errors] == [
        ("too-many", "?conductor"),
        ("too-many", "?watts"),
        ("too-many", "?metres"),
    ]


def test_a_query_and_its_body_get_the_same_numbers(client: Client) -> None:
    address = (
        "/v1/drop-chart?conductor=12%20AWG&watts=40&metres=10,20&volts=15&nominal_volts=15&power_factor=0.8"
        "&temperature_degc=40&maximum_drop_percent=4"
    )
    request = {
        "cables": [{"cable": {"kind": "listed", "conductor": "12 AWG"}}],
        "powers": [jobs.quantity(40, "W")],
        "lengths": [jobs.quantity(10, "m"), jobs.quantity(20, "m")],
        "open_circuit": jobs.volts(15),
        "nominal_voltage": jobs.volts(15),
        "power_factor": 0.8,
        "conductor_temperature": jobs.quantity(40, "degC"),
        "limits": {"maximum_drop_percent": 4},
    }
    asked, sent = client.get(address).json(), client.post("/v1/drop-chart", json=request).json()
    own = {"request_sha256", "cables"}
    assert {k: v for k, v in asked.items() if k not in own} == {k: v for k, v in sent.items() if k not in own}
    assert asked["cables"][0]["cells"] == sent["cables"][0]["cells"]
    assert asked["request_sha256"] == sha256(address.partition("?")[2].encode()).hexdigest()


def test_names_and_ids_come_back(client: Client) -> None:
    cables = [{"id": "c-1", "name": "north bed", "cable": {"kind": "listed", "conductor": "14 AWG"}}]
    reply = client.post("/v1/drop-chart", json=body(id="q-1", title="Quote", cables=cables)).json()
    assert (reply["id"], reply["title"]) == ("q-1", "Quote")
    [cable] = reply["cables"]
    assert [cable[name] for name in ("id", "name", "conductor", "pointer")] == [
        "c-1",
        "north bed",
        "14 AWG",
        "/cables/0",
    ]


def test_a_chart_over_the_work_of_one_request_is_refused(client: Client) -> None:
    def of(cables: int, loads: int, lengths: int) -> dict[str, Any]:
        return body(
            cables=body()["cables"] * cables,
            powers=[jobs.quantity(20, "W")] * loads,
            lengths=[jobs.feet(25)] * lengths,
        )

    assert MOST_CELLS >= 2400
    assert client.post("/v1/drop-chart", json=of(12, 26, 40)).status_code == 200
    reply = client.post("/v1/drop-chart", json=of(12, 40, 40))
    assert (reply.status_code, reply.json()["code"]) == (422, "work-over-limit")
    assert f"19200 cells, a load and a length on one cable each; {MOST_CELLS}" in reply.json()["detail"]
    errors = client.post("/v1/drop-chart", json=of(13, 41, 41)).json()["errors"]
    assert [error["pointer"] for error in errors] == ["/cables", "/powers", "/lengths"]


def test_a_batch_answers_charts_of_its_own_size(client: Client) -> None:
    large = body(powers=[jobs.quantity(20, "W")] * 40, lengths=[jobs.feet(25)] * 40)
    assert client.post("/v1/drop-chart", json=large).status_code == 200
    items = [{"study": "drop-chart", "request": large}]
    (refused,) = client.post("/v1/batch", json={"items": items}).json()["items"]
    assert refused["problem"]["code"] == "work-over-limit"
    assert f"{MOST_CELLS_TOGETHER} are answered" in refused["problem"]["detail"]
