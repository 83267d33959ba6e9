"""A quote on paper: what the customer signs, what the installer picks, cuts and joins by, and the record."""

import copy
import json
import re
from collections.abc import Iterator
from decimal import Decimal
from io import BytesIO
from pathlib import Path
from typing import Any, Final

import pytest
from pypdf import PdfReader

from service.app import app
from tests import jobs
from tests.client import Client
from tests.contract.matrix.parts import FORMS, LOADS, SCALES, SUPPLIES, wiring_of
from tests.contract.matrix.quotes import CATALOGUES, part_with, placed
from tests.jobs import Json
from tests.sheets.reading import HTML, PDF, Page, numbers_in, page_of, pdf_text, printed, squeezed
from tests.sheets.test_same_as_json import is_printed, quantities
from tests.studies.quote.quotes import PATH, lamp, money, part, quote, spools, wired

CLIENT = Client(app)
EXAMPLE: Json = json.loads(Path("openapi/examples/quote.json").read_text(encoding="utf-8"))

COSTS: Final = {"supplies": "145.37", "fixtures": "89.53", "joints": "2.43"}
SPOOLS: Final = ("60.11", "140.17", "260.29")
UPLIFTS: Final = [
    {"class": "supplies", "kind": "margin", "percent": 31.7},
    {"class": "cables", "kind": "markup", "percent": 43.9},
    {"class": "fixtures", "kind": "margin", "percent": 28.3},
    {"class": "joints", "kind": "markup", "percent": 51.1},
]
"""Costs and percentages of which none is a number of the answer as well."""


def garden(*, watts: float = 8, **more: Any) -> Json:
    """The worked example with such costs, in two ways to cut it, and with all that a bill may have."""
    request = copy.deepcopy(EXAMPLE)
    joined = request["alternatives"][0]
    (kind,) = joined["parts"][0]["wiring"]["fixture_types"]
    kind["name"] = "path light"
    kind["load"]["power"]["value"] = watts
    keep = {"keep_from": {"value": 5, "unit": "ft"}}
    whole = {**joined, "id": "whole", "name": "In one piece", "cutting": {"joints": "nowhere", **keep}}
    request["alternatives"] = [joined, whole]
    catalogue = request["catalogue"]
    for goods, cost in COSTS.items():
        catalogue[goods][0]["price"]["amount"] = cost
    (cable,) = catalogue["cables"]
    for spool, cost in zip(cable["price"]["spools"], SPOOLS, strict=True):
        spool["amount"] = cost
    cable["on_hand"] = [{"length": {"value": 60, "unit": "ft"}, "count": 2}]
    request["cutting"] |= keep
    request["allowances"] = {"slack_percent": 3, "at_fixture": {"value": 1, "unit": "ft"}}
    request["money"] |= {
        "uplift": UPLIFTS,
        "prepaid": "250",
        "adjustments": [
            {"kind": "allowance", "name": "Spring", "percent": 5, "tax": "goods"},
            {"kind": "charge", "name": "Delivery", "amount": "19.90", "tax": "work"},
            {"kind": "allowance", "name": "Volume", "amount": "5", "line": "L-8"},
        ],
    }
    request["terms"]["lines"] = ["Payment within 30 days.", "", "Work is guaranteed for two years."]
    return {**request, **more}


def alone(request: Json) -> Json:
    """The same with its first alternative alone."""
    return {**request, "alternatives": request["alternatives"][:1]}


def asking(request: Json, *papers: str, **words: Any) -> Json:
    """The same, printed for whom it is said, or for nobody in particular."""
    named = {"for": list(papers)} if papers else {}
    return {**request, "sheet": {"lines": ["Fernhill Garden Lights"], **named, **words}}


def told(request: Json) -> list[str]:
    """The text of the page and of the document."""
    return [page_of(CLIENT, PATH, request).text, " ".join(pdf_text(CLIENT, PATH, request).split())]


def reply_to(request: Json) -> Json:
    return jobs.answer(CLIENT, request, PATH)


REQUESTS: Final = {"two ways": garden(), "one way": alone(garden())}


@pytest.mark.parametrize("show", ["prices", "total"])
@pytest.mark.parametrize("request_body", REQUESTS.values(), ids=REQUESTS.keys())
def test_no_cost_and_no_percentage_of_it_is_handed_to_a_customer(request_body: Json, show: str) -> None:
    costs = {float(cost) for cost in (*COSTS.values(), *SPOOLS)}
    percents = {each["percent"] for each in UPLIFTS}
    asked = asking(request_body, show=show)
    for text in told(asked):
        assert not (costs | percents) & numbers_in(text)
        assert not re.search(r"\b(cost|costs|margin|mark-?up|uplift)\b", text, re.IGNORECASE)
    source = printed(CLIENT, PATH, asked, HTML).decode()
    assert not [each for each in (*COSTS.values(), *SPOOLS) if each in source]


@pytest.mark.parametrize("paper", ["installer", "record"])
def test_no_cost_stands_on_any_other_paper(paper: str) -> None:
    costs = {float(cost) for cost in (*COSTS.values(), *SPOOLS)} | {each["percent"] for each in UPLIFTS}
    for text in told(asking(garden(), paper)):
        assert not costs & numbers_in(text)


def test_what_is_searched_for_would_be_found() -> None:
    request = garden()
    request["terms"]["lines"] = ["We pay 89.53 for each."]
    assert all(89.53 in numbers_in(text) for text in told(asking(request)))


@pytest.mark.parametrize("paper", ["customer", "installer"])
@pytest.mark.parametrize("request_body", REQUESTS.values(), ids=REQUESTS.keys())
def test_no_code_pointer_or_hash_stands_where_people_read(request_body: Json, paper: str) -> None:
    listed = [CLIENT.get(path).json() for path in ("/v1/findings", "/v1/assumptions")]
    codes = set(re.findall(r'"code": ?"([a-z0-9]+(?:-[a-z0-9]+)+)"', json.dumps(listed)))
    assert {"joint-in-run", "no-slack"} <= codes
    reply = reply_to(request_body)
    sources = {each["code"] for each in reply["sources"]}
    for text in told(asking(request_body, paper)):
        assert not {code for code in codes | sources if re.search(rf"(?<![\w-]){code}(?![\w-])", text)}
        assert not re.search(r"/(alternatives|catalogue|wiring|supply|money)\b", text)
        assert reply["request_sha256"][:12] not in text
        assert "`" not in text


def test_a_customer_reads_names_and_no_stock_numbers() -> None:
    for text in told(asking(garden())):
        assert not [item for item in ("T-150", "C-12", "L-8", "J-1", "XRL", "C62", "HUR") if item in text]
        assert "12 AWG pair, spool of 100 ft" in text


def test_the_customers_page_is_what_is_printed_where_nothing_is_said() -> None:
    plain = page_of(CLIENT, PATH, asking(garden())).tables
    assert plain == page_of(CLIENT, PATH, asking(garden(), "customer")).tables
    assert "This answer" not in plain


def test_a_customer_who_has_paid_more_reads_how_much_more() -> None:
    request = alone(garden())
    request["money"]["prepaid"] = "9999999999999.99"
    (bill,) = reply_to(request)["bills"]
    assert bill["payable"].startswith("-")
    for text in told(asking(request)):
        assert f"tax included; {bill['payable'][1:]} USD more is paid already." in text


def test_a_customer_reads_the_price_and_the_weakest_lamp_in_a_sentence_each() -> None:
    request = alone(garden())
    (bill,) = reply_to(request)["bills"]
    lamp_v = bill["electrical"][0]["weakest"]["voltage"]["value"]
    for text in told(asking(request)):
        assert f"This job comes to {bill['total']} USD, tax included; {bill['payable']} USD of it" in text
        assert (
            f"This plan passes. The weakest lamp, path light at 150 ft of north, gets {lamp_v:.2f} V." in text
        )
        assert "Valid until" in text
        assert "2026-06-03" in text
        assert "Payment within 30 days." in text


@pytest.mark.parametrize("paper", ["customer", "record"])
@pytest.mark.parametrize(
    ("days", "words"),
    [
        (30, "for 30 days from the day of issue"),
        (1, "for 1 day from the day of issue"),
        (0, "on the day of issue"),
    ],
)
def test_so_many_days_are_printed_where_nobody_says_from_when(days: int, words: str, paper: str) -> None:
    request = garden(terms={"valid_days": days})
    reply = reply_to(request)
    assert (reply["valid_days"], "valid_until" in reply) == (days, False)
    for text in told(asking(request, paper)):
        assert words in text
        assert "Valid until" not in text


@pytest.mark.parametrize("place", [0, 1])
def test_every_line_and_sum_of_a_bill_is_that_of_the_json(place: int) -> None:
    bill = reply_to(garden())["bills"][place]
    page = page_of(CLIENT, PATH, asking(garden()))
    rows = page.table(bill["name"])
    for line, row in zip(bill["lines"], rows, strict=True):
        assert row["Line"] == str(line["line"])
        assert row["What"].startswith(line["name"])
        assert (row["Quantity"], row["Price [USD]"]) == (line["quantity"], line["unit_price"])
        assert row["Amount [USD]"] == line["net"]
        assert row["Tax"] == {"goods": "8.25 %", "work": "0 %"}[line["tax"]]
    [of_lamps] = [row["What"] for row in rows if row["What"].startswith("Path light")]
    assert of_lamps == "Path light 8 W; less 5.00 USD, Volume"
    sums = {row["Sum"]: row["Amount [USD]"] for row in page.table(bill["name"], 1)}
    spring, delivery = bill["adjustments"]
    goods, work = bill["taxes"]
    assert sums == {
        "Sum of the lines": bill["line_total"],
        f"Less Spring, 5 % of {spring['base']}": f"-{spring['amount']}",
        "Plus Delivery": delivery["amount"],
        "Without tax": bill["net"],
        f"Sales tax, 8.25 % of {goods['taxable']}": goods["tax"],
        f"Tax, 0 % of {work['taxable']}": work["tax"],
        "Total": bill["total"],
        "Already paid": "-250.00",
        "To pay": bill["payable"],
    }


def test_the_total_alone_says_neither_prices_nor_hours() -> None:
    request = asking(garden(), show="total")
    bills = reply_to(garden())["bills"]
    hidden = {
        amount for bill in bills for line in bill["lines"] for amount in (line["unit_price"], line["net"])
    }
    hidden |= {tax["taxable"] for bill in bills for tax in bill["taxes"]}
    hidden |= {line["quantity"] for bill in bills for line in bill["lines"] if "." in line["quantity"]}
    for text in told(request):
        assert not hidden & set(text.split())
        for bill in bills:
            assert {bill["total"], bill["tax"], bill["payable"]} <= set(text.split())
    rows = page_of(CLIENT, PATH, request).table("Path lights")
    assert [row["What"] for row in rows][-1] == "Joining cable"
    assert list(rows[0]) == ["Line", "What", "Quantity", "Unit"]


def test_alternatives_stand_side_by_side_as_the_json_compares_them() -> None:
    reply = reply_to(garden())
    rows = page_of(CLIENT, PATH, asking(garden())).table("Side by side")
    assert [(row["Alternative"], row["The plan"]) for row in rows] == [
        ("Path lights", "passes"),
        ("In one piece", "passes"),
    ]
    for compared, row in zip(reply["comparison"], rows, strict=True):
        assert row["Total [USD]"] == compared["total"]
        assert row["Above the cheapest [USD]"] == compared["beside_cheapest"]
        assert row["It gets [V]"] == f"{compared['weakest']['value']:.2f}"
    totals = sorted((each["total"] for each in reply["comparison"]), key=Decimal)
    assert all(f"2 alternatives: {totals[0]} to {totals[1]} USD." in text for text in told(asking(garden())))


def sizes(content: bytes) -> list[tuple[float, str]]:
    """Each piece of text of a document with the size that it is printed in. [pt]"""
    found: list[tuple[float, str]] = []

    def note(text: str, _current: Any, _line: Any, _font: Any, size: float) -> None:
        if text.strip():
            found.append((size, text.strip()))

    for page in PdfReader(BytesIO(content)).pages:
        page.extract_text(visitor_text=note)
    return found


def without_price(request: Json) -> Json:
    request = copy.deepcopy(request)
    del request["catalogue"]["fixtures"][0]["price"]
    return request


NOT_QUOTABLE: Final = {
    "nothing is carried": alone(garden(watts=900)),
    "no price": without_price(alone(garden())),
    "no price, two ways": without_price(garden()),
}


@pytest.mark.parametrize("show", ["prices", "total"])
@pytest.mark.parametrize("request_body", NOT_QUOTABLE.values(), ids=NOT_QUOTABLE.keys())
def test_what_cannot_be_quoted_says_so_in_the_largest_letters_and_has_no_price(
    request_body: Json, show: str
) -> None:
    reply = reply_to(request_body)
    assert {bill["status"] for bill in reply["bills"]} == {"not-quotable"}
    asked = asking(request_body, show=show, title="Heron Court")
    found = sizes(printed(CLIENT, PATH, asked, PDF))
    largest = max(size for size, _ in found)
    said = " ".join(text for size, text in found if size == largest)
    assert "cannot be quoted" in said
    assert "Heron Court" not in said
    fault = next(each for each in reply["findings"] if each["severity"] == "fault")
    for text in told(asked):
        assert squeezed(fault["message"])[:40] in squeezed(text)
        assert "Nothing here is an offer." in text
        assert "USD" not in text
        assert not [
            line["net"]
            for bill in reply["bills"]
            for line in bill["lines"]
            if line.get("net") in text.split()
        ]


def test_of_several_only_those_that_can_be_quoted_have_a_price() -> None:
    request = garden()
    bright = copy.deepcopy(request["alternatives"][0]) | {"id": "bright", "name": "Bright"}
    bright["parts"][0]["wiring"]["fixture_types"][0]["load"]["power"]["value"] = 900
    request["alternatives"].append(bright)
    page = page_of(CLIENT, PATH, asking(request))
    assert "2 of 3 alternatives can be quoted:" in page.text
    assert "Bright cannot be quoted as it stands." in page.text
    assert "Bright" not in page.tables
    *_, row = page.table("Side by side")
    assert list(row.values()) == ["Bright", "cannot be quoted", *["\N{EN DASH}"] * 4]
    lists = page_of(CLIENT, PATH, asking(request, "installer")).text
    assert lists.count("Not ready to build.") == 1


def test_a_fault_is_told_under_the_alternative_that_has_it() -> None:
    request = garden()
    long = quote(part(20), part(900), price=spools((500, "31")))
    request = {
        **long,
        "alternatives": [{"id": "near", "parts": [part(20)]}, {"id": "far", "parts": [part(900)]}],
    }
    near, far = reply_to(request)["bills"]
    assert (near["status"], far["status"]) == ("quoted", "not-quotable")
    for text in told(asking(request)):
        assert text.index("near") < text.index("far cannot be quoted as it stands.")
        assert "near cannot" not in text


def test_warnings_are_told_with_whom_to_ask_and_accepted_ones_are_not() -> None:
    (bare,) = reply_to(dim := quote(wired(jobs.run(lamp(60, 40), cable=jobs.awg(12)))))["bills"]
    assert bare["verdict"] == "passes-with-warnings", dim
    codes = {each["code"] for each in reply_to(dim)["findings"] if each["severity"] == "warning"}
    for text in told(asking(dim)):
        assert "This plan passes, with warnings." in text
        assert "▲ warning" in text.replace("\N{NO-BREAK SPACE}", " ")
        assert "Before you sign, ask whoever planned this" in text
    for text in told(asking({**dim, "accept": sorted(codes)})):
        assert "This plan passes. The weakest lamp" in text
        assert "▲ warning" not in text.replace("\N{NO-BREAK SPACE}", " ")
        assert "Before you sign" not in text


def lists(request: Json) -> list[Page]:
    """The pick list of each alternative alone."""
    return [
        page_of(CLIENT, PATH, asking({**request, "alternatives": [each]}, "installer"))
        for each in request["alternatives"]
    ]


def test_an_installer_takes_along_every_piece_of_goods_on_the_bill_and_what_is_on_hand() -> None:
    for page, bill in zip(lists(garden()), reply_to(garden())["bills"], strict=True):
        rows = page.table("Take along")
        goods = [line for line in bill["lines"] if line["kind"] != "labour"]
        taken = [(row["Stock number"], row["Quantity"]) for row in rows if row["Unit"] != "on hand"]
        assert taken == [(line["item"], line["quantity"]) for line in goods]
        on_hand = [spool for cuts in bill["cut_list"] for spool in cuts["spools"] if spool["on_hand"]]
        held = sum(int(row["Quantity"]) for row in rows if row["Unit"] == "on hand")
        assert held == sum(spool["count"] for spool in on_hand)
        assert all(row["Taken"] == "" for row in rows)


def feet(text: str) -> float:
    return float(text.removesuffix(" ft"))


def test_a_cutter_reads_each_spool_with_its_lengths_in_order_and_what_is_left() -> None:
    for page, bill in zip(lists(garden()), reply_to(garden())["bills"], strict=True):
        (cuts,) = bill["cut_list"]
        _, (head, *rows) = page.tables["Cut list: 12 AWG pair"]
        assert head == ["Cut", "From", "To", "Piece", "Done"]
        spool_feet: list[float] = []
        used: list[float] = []
        for row in rows:
            if len(row) == 1:
                (said,) = row
                spool_feet.append(feet(said.partition(": ")[2].removesuffix(", on hand")))
                used.append(0.0)
            else:
                used[-1] += feet(row[0])
        assert used == pytest.approx(spool_feet, abs=0.002)
        assert spool_feet == [spool["length"]["value"] for spool in cuts["spools"]]
        assert [row[0] for row in rows if len(row) > 1 and row[1] != "left over"] == [
            f"{round(cut['length']['value'], 3):g} ft" for spool in cuts["spools"] for cut in spool["cuts"]
        ]
        left = [row[2] for row in rows if len(row) > 1 and row[1] == "left over"]
        kept = [spool["kept"] for spool in cuts["spools"] if spool["off_cut"]["value"] > 0]
        assert left == ["keep it" if each else "too short to keep" for each in kept]


def test_off_cuts_are_not_judged_where_nobody_says_which_are_worth_keeping() -> None:
    request = alone(garden())
    del request["cutting"]["keep_from"]
    (page,) = lists(request)
    assert {row["To"] for row in page.table("Cut list: 12 AWG pair", 1) if row["From"] == "left over"} == {
        "\N{EN DASH}"
    }


def test_an_installer_reads_every_joint_with_its_conductors_and_connectors() -> None:
    for page, bill in zip(lists(garden()), reply_to(garden())["bills"], strict=True):
        rows = page.table("Joints")
        assert len(rows) == sum(joint["count"] for joint in bill["joints"])
        assert [row["Where"] for row in rows] == [
            place
            for kind in ("fixture-joint", "run-joint")
            for joint in bill["joints"]
            if joint["kind"] == kind
            for place in joint["places"]
        ]
        connectors = sum(int(row["How many"]) for row in rows)
        assert connectors == sum(joint["connectors"] for joint in bill["joints"])
        assert {row["Connector"] for row in rows} == {"Gel-filled connector, J-1"}
        assert "1 × 12 AWG + 1 × 18 AWG, each pole" in {row["Conductors of one pole"] for row in rows}


def test_an_installer_reads_no_price() -> None:
    reply = reply_to(garden())
    amounts = {
        amount
        for bill in reply["bills"]
        for line in bill["lines"]
        for amount in (line["unit_price"], line["net"])
    } | {bill["total"] for bill in reply["bills"]}
    for text in told(asking(garden(), "installer")):
        assert "USD" not in text
        assert not amounts & set(text.split())


def test_what_the_catalogue_lacks_is_said_not_to_be_on_the_list() -> None:
    (page,) = lists(quote(part()))
    assert "Not on this list, because the catalogue has none: supplies, fixtures, connectors." in page.text
    rows = page.table("Joints")
    assert [(row["Connector"], row["How many"]) for row in rows] == [("\N{EN DASH}", "\N{EN DASH}")]
    assert "Take one whose maker lists them." in page.text


def test_each_alternative_has_a_pick_list_of_its_own() -> None:
    html = printed(CLIENT, PATH, asking(garden(), "installer", "customer"), HTML).decode()
    assert len(re.findall('class="sheet"', html)) == 3
    places = [html.index(said) for said in ("· Path lights<", "· In one piece<", ">Side by side<")]
    assert places == sorted(places)
    pages = [
        " ".join(page.extract_text().split())
        for page in PdfReader(BytesIO(printed(CLIENT, PATH, asking(garden(), "installer"), PDF))).pages
    ]
    assert sum("page 1 of" in page for page in pages) == 2


def amounts_of(node: Any, name: str = "") -> Iterator[str]:
    """Every amount, share and quantity of a bill that is text."""
    if isinstance(node, dict):
        for key, below in node.items():
            yield from amounts_of(below, key)
    elif isinstance(node, list):
        for below in node:
            yield from amounts_of(below, name)
    elif isinstance(node, str) and re.fullmatch(r"-?\d+(\.\d+)?", node):
        yield node


def test_the_record_says_every_amount_and_every_name_of_the_reply() -> None:
    reply = reply_to(garden())
    amounts = set(amounts_of([reply["bills"], reply["comparison"]]))
    assert len(amounts) > 40
    for text in told(asking(garden(), "record")):
        assert not {amount for amount in amounts if amount not in text.split()}
        for bill in reply["bills"]:
            for line in bill["lines"]:
                assert squeezed(line.get("why", "")) in squeezed(text)
                assert line["item"] in text


KEPT_FORMS: Final = [form for form in FORMS if not form.startswith("totals")]


@pytest.mark.parametrize("catalogue", CATALOGUES)
def test_every_quantity_of_every_quote_stands_on_its_record(catalogue: str) -> None:
    supply = SUPPLIES["transformer all"]
    answered = 0
    for place, form in enumerate(KEPT_FORMS):
        load = LOADS[place * 5 % len(LOADS)]
        wiring = wiring_of(form, load, SCALES["usual"], supply)
        answered += holds(part_with({"supply": supply, "wiring": wiring}, catalogue, "net"))
    assert answered >= len(KEPT_FORMS) - 2


@pytest.mark.parametrize("joints", ["nowhere", "at-fixtures", "anywhere"])
def test_a_quote_with_everything_that_points_into_it_is_printed(joints: str) -> None:
    supply = SUPPLIES["transformer all"]
    runs = [{"name": name, "cable": jobs.awg(12), "fixtures": [lamp(9)]} for name in ("east", "west")]
    drop = {"supply": supply, "id": "part 1", "wiring": {"form": "runs", "runs": runs}}
    request = placed(part_with(drop, "cable in spools", "net"))
    assert holds({**request, "cutting": {"joints": joints}})


def holds(request: Json) -> bool:
    """Whether a quote is answered; then every form is, and the record has every quantity and every amount."""
    plain = CLIENT.post(PATH, json=request)
    asked = asking(request, "record", "installer", "customer")
    forms = {
        form: CLIENT.post(PATH, json=asked, headers={"Accept": form}) for form in (HTML, PDF, "text/csv")
    }
    assert {each.status_code for each in forms.values()} == {plain.status_code}
    if plain.status_code != 200:
        assert plain.json()["code"] == "quote-invalid"
        return False
    reply = plain.json()
    for text in told(asking(request, "record")):
        shown = numbers_in(text)
        assert [each for each in quantities(reply) if not is_printed(each, shown)] == []
        words = set(re.split(r"[\s%:;,]+", text))
        assert not set(amounts_of([reply["bills"], reply["comparison"]])) - words
    return True


def test_a_long_bill_is_printed_whole() -> None:
    runs = [
        jobs.run(lamp(5 + place, 1, name=f"lamp {place}"), name=f"bed {place}", cable=jobs.awg(12))
        for place in range(60)
    ]
    request = quote(wired(*runs), money=money())
    assert sum(len(page.table("Joints")) for page in lists(request)) == 60
    assert len(PdfReader(BytesIO(printed(CLIENT, PATH, asking(request, "installer"), PDF))).pages) > 3


def test_a_part_of_a_joined_piece_is_told_from_joint_to_joint() -> None:
    # Five pieces of 100 ft along 450 ft: a cutter has to know which of them lies next to the supply.
    request = alone(garden())
    request["catalogue"]["cables"][0] |= {"on_hand": []}
    spool = request["catalogue"]["cables"][0]["price"]["spools"][0]
    request["catalogue"]["cables"][0]["price"]["spools"] = [spool]
    for run in request["alternatives"][0]["parts"][0]["wiring"]["runs"]:
        run["fixtures"][0]["at"]["value"] = 450
    (bill,) = reply_to(request)["bills"]
    (joints,) = [set(joint["places"]) for joint in bill["joints"] if joint["kind"] == "run-joint"]
    cuts = [cut for cuts in bill["cut_list"] for spool in cuts["spools"] for cut in spool["cuts"]]
    for mark in {cut["mark"] for cut in cuts}:
        parts = {cut["start"]: cut["end"] for cut in cuts if cut["mark"] == mark}
        way = ["supply"]
        while way[-1] in parts:
            way.append(parts[way[-1]])
        assert len(way) == len(parts) + 1 >= 5
        assert re.fullmatch(r"(north|south) at 450 ft", way[-1])
        assert set(way[1:-1]) <= joints


def test_nothing_is_left_empty_on_a_pick_list_but_what_is_to_be_ticked() -> None:
    # On a phone an empty cell of such a list is a line to write on.
    for page in lists(garden()):
        for heading, place in (("Take along", 0), ("Cut list: 12 AWG pair", 1), ("Joints", 0)):
            for row in page.table(heading, place):
                assert {name for name, cell in row.items() if not cell} <= {"Taken", "Done"}
