"""The papers of a layout: the plan on each that is drawn on, and on none a price, a code or a pointer."""

import json
import re
from pathlib import Path

import pytest
from msgspec import convert

from service.sheets.drawing import WIDE, Words, breadth
from service.studies import STUDIES
from service.studies.least_cost_layout.drawing import NARROW, SIZE, numbers_in_words, plan_drawing
from service.studies.least_cost_layout.reply import NoLayoutFound
from service.studies.least_cost_layout.request import LeastCostLayoutRequest
from service.studies.least_cost_layout.sheet import layout_sheet
from tests import jobs
from tests.client import Client
from tests.jobs import Json
from tests.sheets.reading import HTML, PDF, Page, pdf_pages
from tests.studies.least_cost_layout.requests import fed_by, garden

PATH = "/v1/least-cost-layout"
EXAMPLE = Path(__file__).parents[3] / "openapi" / "examples" / "least_cost_layout.json"


def example() -> Json:
    request: Json = json.loads(EXAMPLE.read_bytes())
    return request


def page(client: Client, request: Json, *papers: str) -> Page:
    return Page(sheet(client, request, HTML, *papers))


def sheet(client: Client, request: Json, form: str, *papers: str) -> bytes:
    wanted = papers[0] if len(papers) == 1 else list(papers)
    reply = client.post(PATH, json={**request, "sheet": {"for": wanted}}, headers={"Accept": form})
    assert reply.status_code == 200, reply.text
    return reply.content


@pytest.mark.parametrize("paper", ["customer", "installer", "meter"])
def test_no_money_code_or_pointer_stands_on_a_paper(client: Client, paper: str) -> None:
    request = example()
    reply, told = jobs.answer(client, request, PATH), page(client, request, paper).text
    money = {*reply["costs"].values(), reply["bound"]["amount"], *(row["price"] for row in trenches(reply))}
    # What costs nothing, or as much as a round number of something else, is no price that was printed.
    assert not [each for each in money if re.search(rf"(?<![\d.]){re.escape(each)}(?![\d.])", told)]
    assert not any(word in told for word in ("USD", "/fixtures", "/routes", "sizes-between", "closed-form"))
    assert "This plan passes." in told


def trenches(reply: Json) -> list[Json]:
    found: list[Json] = reply["layout"]["trenches"]
    return found


def test_the_customers_page_is_one_page_with_the_plan(client: Client) -> None:
    many = garden(30, 2, mounts=2, effort=4_000, transformers=[fed_by(75, "92"), fed_by(150, "149")])
    for request in (example(), many):
        pages = pdf_pages(sheet(client, request, PDF, "customer"))
        assert len(pages) == 1
        for number in range(1, len(request["fixtures"]) + 1):
            assert re.search(rf"\b{number}\b", pages[0])
        assert "proposal" in pages[0]


def test_the_customer_gets_one_page_however_much_the_caller_has_to_say(client: Client) -> None:
    words = {"for": "customer", "title": "W" * 120, "lines": ["W" * 120] * 12, "paper": "letter"}
    many = garden(30, 2, mounts=2, effort=4_000, branching="chain", transformers=[fed_by(75, "92")])
    for request in (example(), many):
        request["fixtures"] = [each | {"name": "灯" * 60} for each in request["fixtures"]]
        reply = client.post(PATH, json={**request, "sheet": words}, headers={"Accept": PDF})
        assert reply.status_code == 200, reply.text
        [only] = pdf_pages(reply.content)
        assert "This plan" in only
        assert "licensed electrician" in only


def test_the_installers_list_has_every_piece_once_with_its_cut(client: Client) -> None:
    request = example()
    reply, told = jobs.answer(client, request, PATH), page(client, request, "installer")
    spans = [row for supply in reply["layout"]["supplies"] for run in supply["runs"] for row in run["spans"]]
    # One more stands in the head of the table.
    assert told.text.count("→") == len(spans) + 1
    for row in spans:
        assert f"{round(row['length']['value'], 2):g}" in told.text
    for number, fixture in enumerate(request["fixtures"], start=1):
        assert str(number) in told.text
        assert fixture["name"] in told.text
    for trench in trenches(reply):
        assert trench["id"] in told.text


def test_the_meter_has_the_stages_of_every_transformer_with_the_numbers_of_the_plan(client: Client) -> None:
    request = garden(12, 4, mounts=2, effort=3_000, transformers=[fed_by(75, "92.00")])
    for number, fixture in enumerate(request["fixtures"], start=1):
        fixture["name"] = f"lamp no {number}"
    supplies = jobs.answer(client, request, PATH)["layout"]["supplies"]
    assert len(supplies) > 1
    told = "\n".join(pdf_pages(sheet(client, request, PDF, "meter")))
    for number in range(1, len(supplies) + 1):
        assert f"Transformer {number}: " in told
    shown = re.findall(r"(\d+) lamp no (\d+)", told)
    assert len(shown) > 3
    assert all(number == name for number, name in shown)


def test_the_largest_effort_leaves_work_for_the_stages(client: Client) -> None:
    request = garden(40, 3, mounts=2, side=4.0, effort=60_000)
    assert jobs.answer(client, request, PATH)["status"] == "laid-out"
    assert "Stage 2" in page(client, request, "meter").text


def test_all_papers_are_one_document(client: Client) -> None:
    told = "\n".join(pdf_pages(sheet(client, example(), PDF, "customer", "installer", "meter", "record")))
    for title in ("Lighting plan", "Digging and wiring list", "Commissioning sheet", "Least-cost layout"):
        assert title in told


@pytest.mark.parametrize("paper", ["customer", "installer", "meter", "record"])
def test_where_nothing_passes_the_papers_say_so(client: Client, paper: str) -> None:
    request = garden(3, 1)
    request["routes"] = [each | {"length": jobs.feet(9_000)} for each in request["routes"]]
    told = page(client, request, paper).text
    assert "This plan does not pass." in told or "No layout passes" in told


def test_where_none_is_found_no_paper_says_that_limits_are_kept(client: Client) -> None:
    request = garden(4, 1, effort=1_000)
    for fixture in request["fixtures"]:
        fixture["window"] = jobs.window(9, 12)
    reply = jobs.answer(client, request, PATH) | {"findings": []}
    printed = layout_sheet(convert(request, LeastCostLayoutRequest), convert(reply, NoLayoutFound))
    assert "What would help" in repr(printed)
    assert "is kept" not in repr(printed)


@pytest.mark.parametrize("width", [WIDE, NARROW])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_what_is_written_on_a_plan_stays_on_it_and_covers_little_else(seed: int, width: float) -> None:
    request = garden(18, seed, mounts=2, effort=1_000)
    study = STUDIES["least-cost-layout"]
    reply = jobs.reply_to(study, json.dumps(request).encode())
    drawing = plan_drawing(convert(request, LeastCostLayoutRequest), reply, width)
    words = [part for part in drawing.parts if isinstance(part, Words)]
    boxes = [extent(part) for part in words]
    assert all(left >= 0.0 and right <= width for left, right, _ in boxes)
    over = [
        (words[one].text, words[other].text)
        for one in range(len(boxes))
        for other in range(one)
        if abs(boxes[one][2] - boxes[other][2]) < SIZE
        and boxes[one][0] < boxes[other][1]
        and boxes[other][0] < boxes[one][1]
    ]
    assert len(over) <= (0 if width == WIDE else 3), over


def extent(part: Words) -> tuple[float, float, float]:
    wide = breadth(part.text, part.size, bold=part.bold)
    left = part.x - {"start": 0.0, "middle": 0.5, "end": 1.0}[part.anchor] * wide
    return left, left + wide, part.y


def test_numbers_in_a_row_are_told_by_their_ends() -> None:
    assert numbers_in_words([4, 1, 2, 3, 7]) == "1–4, 7"
    assert numbers_in_words([]) == ""
    assert numbers_in_words([5]) == "5"
