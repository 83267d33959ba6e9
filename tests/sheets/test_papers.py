"""Papers of one job: a page for the customer, a list for the installer, stages for a meter, the record."""

import json
import re
from io import BytesIO
from typing import Any

import pytest
from pypdf import PdfReader

from service.studies import STUDIES as TABLE
from service.studies.record import HTML as HTML_FORM
from tests import jobs
from tests.client import Client
from tests.jobs import Json, awg, branch, job, lamp, metres, run, transformer, volts, watts, winding
from tests.sheets.reading import HTML, PDF, Page, page_of, pdf_pages, printed, squeezed
from tests.sheets.studies import EXAMPLES

DROP, GAUGE = "/v1/voltage-drop", "/v1/gauge-recommendation"
LINES = ["Fernhill Garden Lights", "Quote 17, 3 May"]
BOX = transformer(
    winding=winding(300, 4),
    taps=[volts(each) for each in (12, 13, 14)],
    circuits=[{"name": "left", "limit": {"value": 25, "unit": "A"}}, {"name": "right"}],
)
GARDEN = job(
    run(lamp(4, watts(3), name="step light", count=8, spacing=metres(1)), name="terrace", cable=awg(12)),
    run(
        lamp(9, watts(4, power_factor=0.9), name="path light", count=10, spacing=metres(4)),
        name="driveway",
        cable=awg(12),
        tap=volts(14),
        circuit="right",
        branches=[
            branch(
                17,
                lamp(3, watts(9), name="gate spot", count=2, spacing=metres(2)),
                name="gate",
                cable=awg(14),
            )
        ],
    ),
    run(
        lamp(18, watts(6), name="tree light", count=6, spacing=metres(5)),
        name="orchard",
        tap=volts(13),
        cable=awg(10),
        cable_changes=[{"at": metres(28), "cable": awg(12)}],
    ),
    run(
        lamp(8, watts(5), name="bollard", count=8, spacing=metres(2)),
        name="pond",
        circuit="right",
        cable=awg(12),
        return_leg={"length": metres(20)},
    ),
    supply=BOX,
)


def beds(runs: int, each: int, power_w: float) -> Json:
    """Runs of lamps behind 24 V."""
    lines = (
        run(lamp(5, watts(power_w), name="bed light", count=each, spacing=metres(1)), name=f"bed {index}")
        for index in range(runs)
    )
    return job(*lines, supply=transformer(24.0, winding=winding(900, 3)), nominal_v=24.0)


LONG = "A name as long as a name may be, and then some more of it to be sure"[:64]
ONE = job(run(lamp(10, watts(5)), cable=awg(12)), supply=transformer(winding=winding(60, 5)))
JOBS: dict[str, Json] = {
    "1 lamp": ONE,
    "34 lamps": GARDEN,
    "200 lamps": beds(20, 10, 1.5),
    "2,000 lamps": beds(100, 20, 0.1),
    "2,000 lamps on one run": job(
        run(lamp(1, watts(0.1), count=1_990, spacing=metres(0.05)), cable=awg(4)),
        supply=transformer(24.0),
        nominal_v=24.0,
    ),
    "long names": job(
        *(run(lamp(5, watts(2), name=LONG, count=2), name=LONG, cable=awg(12)) for _ in range(30)),
        supply=BOX,
    ),
    "too little": job(run(lamp(60, watts(20), count=4, spacing=metres(5)), cable=awg(16)), supply=BOX),
    "nothing carried": json.loads((EXAMPLES / "voltage_drop_no_operating_point.json").read_bytes()),
    "totals": json.loads((EXAMPLES / "voltage_drop_totals.json").read_bytes()),
    "a ring": json.loads((EXAMPLES / "voltage_drop_spans.json").read_bytes()),
}
FULL = [*LINES, *(["W" * 120] * 10)]


def asking(request: Json, *papers: str, **words: Any) -> Json:
    return {**request, "sheet": {"lines": LINES, "for": list(papers), **words}}


def texts(client: Client, request: Json, path: str = DROP) -> list[str]:
    """The text of each page, its white space made one blank."""
    return [" ".join(page.split()) for page in pdf_pages(printed(client, path, request, PDF))]


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("request_body", JOBS.values(), ids=JOBS.keys())
def test_the_customer_gets_one_page_with_verdict_cautions_and_lines(
    client: Client, request_body: Json, paper: str
) -> None:
    reply = client.post(DROP, json=request_body).json()
    [page] = texts(client, asking(request_body, "customer", paper=paper))
    assert ("does not pass" in page) == (reply["summary"]["verdict"] == "fails")
    assert "This plan" in page
    assert all(squeezed(caution["message"]) in squeezed(page) for caution in reply["cautions"])
    assert all(line in page for line in LINES)


@pytest.mark.parametrize("request_body", [JOBS["long names"], JOBS["too little"]])
def test_the_customer_gets_one_page_however_much_the_caller_has_to_say(
    client: Client, request_body: Json
) -> None:
    words = {"title": "W" * 120, "lines": FULL, "paper": "letter"}
    reply = client.post(DROP, json=request_body).json()
    [page] = texts(client, asking(request_body, "customer", **words))
    assert squeezed(page).count("W" * 60) >= 10
    assert "This plan" in page
    assert all(squeezed(caution["message"]) in squeezed(page) for caution in reply["cautions"])


def codes(client: Client) -> set[str]:
    """Every code of a finding, an assumption or a source that no word of English looks like."""
    listed = [client.get(path).json() for path in ("/v1/findings", "/v1/assumptions")]
    found = set(re.findall(r'"code": ?"([a-z0-9]+(?:-[a-z0-9]+)+)"', json.dumps(listed)))
    assert len(found) > 60
    return found


GAUGE_JOBS = {
    name: json.loads((EXAMPLES / f"{name}.json").read_bytes())
    for name in ("gauge_recommendation", "gauge_recommendation_spools", "gauge_recommendation_none_passes")
}
WITH_PATH = [(DROP, each) for each in JOBS.values()] + [(GAUGE, each) for each in GAUGE_JOBS.values()]


@pytest.mark.parametrize("paper", ["customer", "installer", "meter"])
@pytest.mark.parametrize(("path", "request_body"), WITH_PATH, ids=[*JOBS, *GAUGE_JOBS])
def test_no_code_pointer_or_hash_stands_where_people_read(
    client: Client, path: str, request_body: Json, paper: str
) -> None:
    if paper != "customer" and request_body in (JOBS["2,000 lamps"], JOBS["2,000 lamps on one run"]):
        request_body = JOBS["200 lamps"]
    reply = client.post(path, json=request_body).json()
    page = page_of(client, path, asking(request_body, paper)).text
    assert not {code for code in codes(client) if re.search(rf"(?<![\w-]){code}(?![\w-])", page)}
    sources = {each["code"] for each in reply["sources"]}
    assert not any(code in page for code in sources)
    assert "/wiring" not in page
    assert "/supply" not in page
    assert reply["request_sha256"][:12] not in page
    assert "SHA-256" not in page


@pytest.mark.parametrize("paper", ["customer", "installer"])
@pytest.mark.parametrize("request_body", GAUGE_JOBS.values(), ids=GAUGE_JOBS.keys())
def test_no_price_stands_on_the_papers_of_a_choice(client: Client, request_body: Json, paper: str) -> None:
    reply = client.post(GAUGE, json=request_body).json()
    page = page_of(client, GAUGE, asking(request_body, paper)).text
    prices = {reply.get("total"), *(line.get("line_total") for line in reply.get("purchase", ()))} - {None}
    assert prices or reply["status"] != "recommended"
    assert not any(price in page for price in prices)
    assert request_body["currency"] not in page


def sizes(content: bytes) -> list[tuple[float, str]]:
    """Each piece of text on the first page with the size that it is printed in. [pt]"""
    found: list[tuple[float, str]] = []

    def note(text: str, _current: Any, _line: Any, _font: Any, size: float) -> None:
        if text.strip():
            found.append((size, text.strip()))

    PdfReader(BytesIO(content)).pages[0].extract_text(visitor_text=note)
    return found


@pytest.mark.parametrize("name", ["too little", "nothing carried"])
def test_a_job_that_fails_says_so_in_the_largest_letters(client: Client, name: str) -> None:
    found = sizes(printed(client, DROP, asking(JOBS[name], "customer", title="Heron Court"), PDF))
    largest = max(size for size, _ in found)
    assert "does not pass" in " ".join(text for size, text in found if size == largest)
    assert "Heron Court" not in " ".join(text for size, text in found if size == largest)


def installers(client: Client, request: Json, path: str = DROP) -> Page:
    return page_of(client, path, asking(request, "installer"))


def test_an_installer_reads_each_piece_once_with_its_tap_its_circuit_and_its_lamps(client: Client) -> None:
    rows = installers(client, GARDEN).table("Cable, piece by piece")
    assert [
        [row[name] for name in ("Run", "Tap [V]", "Circuit", "Cable", "Cut [m]", "Lamps")] for row in rows
    ] == [
        ["terrace", "12", "left", "12 AWG", "11", "1–8"],
        ["driveway", "14", "right", "12 AWG", "45", "9–18"],
        ["gate", "14", "right", "14 AWG", "5", "19–20"],
        ["orchard", "13", "left", "10 AWG", "28", "21–23"],
        ["orchard", "13", "left", "12 AWG", "15", "24–26"],
        ["pond", "12", "right", "12 AWG", "22", "27–34"],
        ["pond return leg", "12", "right", "12 AWG", "20", "–"],
    ]


def test_an_installer_reads_which_lamp_hangs_on_which_lead_and_how_much_that_is(client: Client) -> None:
    thin, short = {"length": metres(4), "cable": awg(18)}, {"length": metres(0.5), "cable": awg(16)}
    garden = job(
        run(
            lamp(5, watts(5), count=3, spacing=metres(4), lead=thin, name="spike"),
            lamp(20, watts(5), name="bare"),
            lamp(22, watts(5), lead=short, splice_resistance={"value": 0.01, "unit": "ohm"}, name="wall"),
            cable=awg(12),
        )
    )
    page = installers(client, garden)
    assert [row["Lead of each"] for row in page.table("Lamps by number")] == [
        "4 m of 18 AWG",
        "\N{EN DASH}",
        "0.5 m of 16 AWG",
    ]
    assert "12 m of 18 AWG, 0.5 m of 16 AWG" in page.text
    assert "Lead of each" not in installers(client, GARDEN).text


def test_several_lamps_at_one_point_have_a_lead_each(client: Client) -> None:
    wiring = {
        "form": "spans",
        "spans": [{"from": "supply", "to": "tree", "length": metres(9), "cable": awg(12)}],
        "fixtures": [
            {"point": "tree", "count": 3, "load": watts(5), "lead": {"length": metres(2), "cable": awg(18)}}
        ],
    }
    page = installers(client, {**ONE, "wiring": wiring})
    assert [row["Lead of each"] for row in page.table("Lamps by number")] == ["2 m of 18 AWG"]
    assert "6 m of 18 AWG" in page.text


def test_a_meter_is_held_to_the_lamp_that_has_that_number_on_the_plan(client: Client) -> None:
    lamps = installers(client, GARDEN).table("Lamps by number")
    first = {row["Lamps"].split(" × ")[1]: int(re.split("\N{EN DASH}", row["No."])[0]) for row in lamps}
    page = page_of(client, DROP, asking(GARDEN, "meter"))
    read = {row["Where"]: row["Lamp"] for row in page.table("Stage 6: Everything on")}
    numbered = {place: number for place, number in read.items() if number != "\N{EN DASH}"}
    assert len(numbered) > 6
    for place, number in numbered.items():
        name, _, rest = place.rpartition(" ") if place[-1].isdigit() else (place, "", "1")
        assert int(number) == first[name.lower()] + int(rest) - 1, place
    assert {read["Terminals, 12 V tap"], read['Start of "terrace"']} == {"\N{EN DASH}"}


@pytest.mark.parametrize("name", ["voltage_drop_even", "voltage_drop_spans", "voltage_drop_totals"])
def test_each_form_of_wiring_has_its_lamps_numbered_for_the_meter(client: Client, name: str) -> None:
    request = json.loads((EXAMPLES / f"{name}.json").read_bytes())
    page = page_of(client, DROP, asking(request, "meter"))
    rows = page.table("Stage 2: Everything on")
    lamps = [row["Lamp"] for row in rows if row["Window [V]"] != "\N{EN DASH}"]
    assert lamps
    assert "\N{EN DASH}" not in lamps
    assert {row["Lamp"] for row in rows if row["Window [V]"] == "\N{EN DASH}"} == {"\N{EN DASH}"}


def test_an_installer_reads_what_each_terminal_shows(client: Client) -> None:
    taps = {
        f"{tap['rated']['value']:g}": f"{tap['terminal']['value']:.2f}"
        for tap in client.post(DROP, json=GARDEN).json()["supply"]["taps"]
    }
    rows = installers(client, GARDEN).table("Cable, piece by piece")
    assert {row["Tap [V]"]: row["Terminal [V]"] for row in rows} == taps


@pytest.mark.parametrize(
    ("path", "request_body"),
    [
        (DROP, GARDEN),
        (DROP, JOBS["200 lamps"]),
        (DROP, JOBS["a ring"]),
        (DROP, json.loads((EXAMPLES / "voltage_drop_even.json").read_bytes())),
        (GAUGE, GAUGE_JOBS["gauge_recommendation"]),
        (GAUGE, GAUGE_JOBS["gauge_recommendation_spools"]),
    ],
)
def test_the_pieces_together_are_as_long_as_the_wiring(client: Client, path: str, request_body: Json) -> None:
    reply = client.post(path, json=request_body).json()
    rows = (
        [row for row in reply["spans"] if "conductor" in row and "/fixtures/" not in row["pointer"]]
        if path == DROP
        else reply["chosen"]
    )
    page = installers(client, request_body, path)
    [*_, cut] = [name for name in page.tables["Cable, piece by piece"][0][0] if name.startswith("Cut")]
    pieces = [float(row[cut]) for row in page.table("Cable, piece by piece")]
    assert sum(pieces) == pytest.approx(sum(row["length"]["value"] for row in rows), abs=0.005 * len(pieces))
    together = [float(text.split()[0]) for _, text in page.tables["Cable, piece by piece"][1]]
    assert sum(together) == pytest.approx(sum(pieces), abs=0.005 * (len(pieces) + len(together)))


def test_every_lamp_has_a_number_and_they_are_those_of_the_plan(client: Client) -> None:
    page = installers(client, GARDEN)
    told = [row["No."] for row in page.table("Lamps by number")]
    assert told == ["1–8", "9–18", "19–20", "21–26", "27–34"]
    record = page_of(client, DROP, asking(GARDEN, "record"))
    rows = record.table("What each fixture gets")
    assert sorted(int(row["No."]) for row in rows) == list(range(1, 35))
    assert next(row["No."] for row in rows if row["Fixture"] == "gate spot 1") == "19"
    drawn = printed(client, DROP, asking(GARDEN, "installer"), HTML).decode()
    assert all(f">{number}</text>" in drawn for number in (1, 8, 19, 26, 34))


def test_an_installer_finds_a_cable_by_its_name_in_the_stock_and_a_customer_reads_it(client: Client) -> None:
    request = json.loads(json.dumps(GAUGE_JOBS["gauge_recommendation"]))
    for cable in request["stock"]:
        cable["name"] = f"Ground cable {cable['conductor']}"
    rows = installers(client, request, GAUGE).table("Cable, piece by piece")
    sizes_of = {row["start"]: row["conductor"] for row in client.post(GAUGE, json=request).json()["chosen"]}
    assert sizes_of
    assert all(re.fullmatch(r"Ground cable (\d+ AWG), \1", row["Cable"]) for row in rows)
    customers = page_of(client, GAUGE, asking(request, "customer")).table("What was chosen", 1)
    assert all(re.fullmatch(r"Ground cable \d+ AWG", row["Cable"]) for row in customers)


def test_an_installer_reads_which_piece_is_cut_from_which_spool(client: Client) -> None:
    page = installers(client, GAUGE_JOBS["gauge_recommendation_spools"], GAUGE)
    reply = client.post(GAUGE, json=GAUGE_JOBS["gauge_recommendation_spools"]).json()
    cuts = [piece for line in reply["purchase"] for spool in line["cut_list"] for piece in spool["pieces"]]
    assert len(page.table("Cut list")) == len(cuts)


@pytest.mark.parametrize("paper", ["customer", "installer", "meter"])
def test_nobody_is_told_which_member_of_a_request_to_set(client: Client, paper: str) -> None:
    request = json.loads(json.dumps(GAUGE_JOBS["gauge_recommendation_spools"]))
    for cable in request["stock"]:
        cable["price"] = {
            "kind": "per-spool",
            "spools": [{"length": {"value": 9, "unit": "m"}, "amount": "5.00"}],
        }
    reply = client.post(GAUGE, json=request).json()
    assert "`cutting.joints`" in json.dumps(reply["findings"])
    page = page_of(client, GAUGE, asking(request, paper)).text
    assert "in one piece" in page
    assert "`" not in page


def test_a_strip_counts_by_its_far_end_as_in_the_answer(client: Client) -> None:
    request = json.loads((EXAMPLES / "voltage_drop_strip.json").read_bytes())
    [row] = page_of(client, DROP, asking(request, "customer")).table("What was chosen", 1)
    reply = client.post(DROP, json=request).json()
    lowest, highest = (reply["summary"][name]["voltage"]["value"] for name in ("weakest", "highest"))
    assert row["Volts, everything on"] == f"{lowest:.2f}–{highest:.2f}"


def test_a_customer_of_a_battery_reads_one_range(client: Client) -> None:
    line = jobs.lamp(5, jobs.volt_amperes(5, 5), count=4, spacing=jobs.metres(3))
    request = jobs.job(jobs.run(line, cable=jobs.awg(12)), supply=jobs.battery(11, 12, 14.4))
    page = page_of(client, DROP, asking(request, "customer"))
    [row] = page.table("What was chosen", 1)
    summary = client.post(DROP, json=request).json()["summary"]
    lowest, highest = (f"{summary[name]['voltage']['value']:.2f}" for name in ("weakest", "highest"))
    assert row["Volts, lowest to highest"] == f"{lowest}–{highest}"
    told = [number for number in re.findall(r"\d+\.\d\d", page.text) if float(number) > 10]
    assert set(told) == {lowest, highest}


RUNS_THAT_COLLAPSE = [
    jobs.run(jobs.lamp(60, jobs.volt_amperes(60, 60), count=2, spacing=jobs.metres(9)), cable=jobs.awg(18)),
]
A_GRAPH_THAT_COLLAPSES: Json = {
    "form": "spans",
    "spans": [{"from": "supply", "to": "gate", "length": jobs.metres(90), "cable": jobs.awg(18)}],
    "fixtures": [{"point": "gate", "load": jobs.volt_amperes(90, 90)}],
}


@pytest.mark.parametrize(
    ("request_body", "lamps"),
    [
        (jobs.job(*RUNS_THAT_COLLAPSE), "2"),
        ({"supply": jobs.transformer(), "wiring": A_GRAPH_THAT_COLLAPSES}, "1"),
    ],
    ids=["runs", "graph"],
)
def test_a_job_that_collapses_is_drawn_without_voltages(
    client: Client, request_body: Json, lamps: str
) -> None:
    assert client.post(DROP, json=request_body).json()["status"] == "no-operating-point"
    asked = asking(request_body, "customer")
    page = printed(client, DROP, asked, HTML).decode()
    assert "<svg" in page
    assert "a lamp; no voltages, because this wiring cannot run them" in page
    assert "gets the voltage it is made for" not in page
    told = page_of(client, DROP, asked).text
    assert re.search(rf"What was planned.*Lamps\s*{lamps}\s*Cable", told, re.DOTALL) is not None
    assert len(pdf_pages(printed(client, DROP, asked, PDF))) == 1


@pytest.mark.parametrize("request_body", [GARDEN, JOBS["a ring"]])
def test_a_customer_reads_all_of_the_cable(client: Client, request_body: Json) -> None:
    page = page_of(client, DROP, asking(request_body, "customer"))
    told = sum(float(row["Length [m]"]) for row in page.table("What was chosen", 1))
    pieces = installers(client, request_body).table("Cable, piece by piece")
    assert told == pytest.approx(sum(float(row["Cut [m]"]) for row in pieces), abs=0.5)


def test_where_only_totals_are_known_no_lamps_are_counted(client: Client) -> None:
    page = page_of(client, DROP, asking(JOBS["totals"], "customer"))
    assert dict(page.tables["What was chosen"][0])["Lamps"] == "all together at the far end"


TITLES = {"customer": "Lighting plan", "installer": "Wiring list", "meter": "Commissioning sheet"}


@pytest.mark.parametrize(
    ("path", "request_body", "record"),
    [
        (DROP, GARDEN, "Voltage drop"),
        (GAUGE, GAUGE_JOBS["gauge_recommendation"], "Cable recommendation"),
        (GAUGE, GAUGE_JOBS["gauge_recommendation_none_passes"], "Cable recommendation"),
    ],
)
@pytest.mark.parametrize(
    "papers",
    [
        ["customer", "installer", "meter", "record"],
        ["record", "meter", "customer"],
        ["installer", "installer", "customer"],
    ],
)
def test_papers_follow_in_the_order_that_was_asked_for(
    client: Client, path: str, request_body: Json, record: str, papers: list[str]
) -> None:
    names = [{**TITLES, "record": record}[paper] for paper in dict.fromkeys(papers)]
    begins = [page for page in texts(client, asking(request_body, *papers), path) if "page 1 of" in page]
    assert [next(name for name in names if name in page) for page in begins] == names
    html = printed(client, path, asking(request_body, *papers), HTML).decode()
    positions = [html.index(f">{name}") for name in names]
    assert positions == sorted(positions)
    assert len(re.findall('class="sheet(?: one)?"', html)) == len(names)


def test_one_paper_may_be_named_without_a_list(client: Client) -> None:
    alone = {**GARDEN, "sheet": {"lines": LINES, "for": "customer"}}
    assert texts(client, alone) == texts(client, asking(GARDEN, "customer"))


def test_the_record_is_what_is_printed_where_nothing_is_said(client: Client) -> None:
    silent = {**GARDEN, "sheet": {"lines": LINES}}
    told = [
        page.tables
        for page in (page_of(client, DROP, silent), page_of(client, DROP, asking(GARDEN, "record")))
    ]
    told[0].pop("This answer")
    told[1].pop("This answer")
    assert told[0] == told[1]


@pytest.mark.parametrize("papers", [None, ["customer"], ["meter", "record"]])
def test_commissioning_puts_the_stages_behind_the_papers(client: Client, papers: list[str] | None) -> None:
    words = {"lines": LINES, "commissioning": True} | ({} if papers is None else {"for": papers})
    behind = [*(papers or ["record"]), *([] if papers and "meter" in papers else ["meter"])]
    names = [{**TITLES, "record": "Voltage drop"}[paper] for paper in behind]
    begins = [page for page in texts(client, {**GARDEN, "sheet": words}) if "page 1 of" in page]
    assert [next(name for name in names if name in page) for page in begins] == names


@pytest.mark.parametrize("paper", ["customers", "Record", "", 3, None, {"paper": "record"}])
@pytest.mark.parametrize("several", [False, True])
def test_a_paper_that_nobody_knows_is_refused_by_its_place(client: Client, paper: Any, several: bool) -> None:  # noqa: FBT001  # a case
    body = {**ONE, "sheet": {"for": [paper] if several else paper}}
    reply = client.post(DROP, json=body, headers={"Accept": PDF})
    assert reply.status_code == 400
    assert [error["pointer"] for error in reply.json()["errors"]] == [
        "/sheet/for/0" if several else "/sheet/for"
    ]


@pytest.mark.parametrize("papers", [[], ["record"] * 5])
def test_a_list_names_one_to_four_papers(client: Client, papers: list[str]) -> None:
    reply = client.post(DROP, json={**ONE, "sheet": {"for": papers}})
    assert reply.status_code == 400


OFFERED = {
    "voltage-drop": ["customer", "installer", "meter", "record"],
    "gauge-recommendation": ["customer", "installer", "meter", "record"],
    "commissioning-sheet": ["meter", "record"],
    "least-cost-layout": ["customer", "installer", "meter", "record"],
    "quote": ["customer", "installer", "record"],
}
EVERY = ("customer", "installer", "meter", "record")


@pytest.mark.parametrize("form", [HTML, PDF])
@pytest.mark.parametrize("study", [name for name, study in TABLE.items() if HTML_FORM in study.forms])
def test_a_paper_is_printed_or_refused_with_those_that_the_study_has(
    client: Client, study: str, form: str
) -> None:
    example = next(each for each in TABLE[study].description.examples if each.file is not None)
    request = json.loads((EXAMPLES / str(example.file)).read_bytes())
    offered = OFFERED.get(study, ["record"])
    for paper in EVERY:
        body = asking(request, "record", paper)
        reply = client.post(f"/v1/{study}", json=body, headers={"Accept": form})
        if paper in offered:
            assert reply.status_code == 200, reply.text
            continue
        problem = reply.json()
        assert (reply.status_code, problem["code"]) == (422, "paper-not-offered")
        [error] = problem["errors"]
        assert (error["pointer"], error["allowed"]) == ("/sheet/for/1", offered)
        assert f'"{paper}"' in problem["detail"]
        assert all(f'"{each}"' in problem["detail"] for each in offered)
        assert client.post(f"/v1/{study}", json=body).status_code == 200


def test_a_caller_with_letters_that_the_type_lacks_still_gets_one_page(client: Client) -> None:
    request = json.loads(json.dumps(JOBS["long names"]))
    for each in request["wiring"]["runs"]:
        each["name"] = "الشرفة 庭の灯り " * 4
    [page] = texts(client, asking(request, "customer", lines=["庭" * 120] * 12, title="庭" * 120))
    assert "This plan" in page


def test_what_is_printed_for_whom_changes_no_json(client: Client) -> None:
    plain = client.post(DROP, json=GARDEN).json()
    papers = client.post(DROP, json=asking(GARDEN, "customer", "installer")).json()
    assert {**plain, "request_sha256": ""} == {**papers, "request_sha256": ""}


DIM = job(
    run(lamp(20, watts(5), name="bollard", count=10, spacing=metres(6)), name="driveway", cable=awg(14)),
    supply=transformer(winding=winding(300, 5), circuits=[{"name": "1", "limit": {"value": 2, "unit": "A"}}]),
)


@pytest.mark.parametrize("paper", ["customer", "installer", "record"])
def test_a_lamp_has_one_voltage_on_a_paper_in_its_sentence_its_table_and_its_drawing(
    client: Client, paper: str
) -> None:
    summary = client.post(DROP, json=DIM).json()["summary"]
    [said] = re.findall(r"the lowest is bollard 10 with (\d+\.\d\d) V", summary["text"])
    volts_v = summary["weakest"]["voltage"]["value"]
    down = f"{volts_v - 0.005:.2f}"
    assert said == f"{volts_v:.2f}" != down, "rounding down and to the nearest differ here"
    text = Page(printed(client, DROP, asking(DIM, paper), HTML)).text
    assert said in text
    assert not re.search(rf"{re.escape(down)}\b", text)


def test_a_circuit_over_its_device_is_said_to_be_over_it_and_never_to_have_less_than_nothing(
    client: Client,
) -> None:
    summary = client.post(DROP, json=DIM).json()["summary"]
    assert summary["circuit"]["spare"]["value"] < 0.0
    text = " ".join(texts(client, asking(DIM, "record")))
    assert f"{-summary['circuit']['spare']['value']:.2f} A over 80.0 %" in text
    assert "; -" not in text


def test_no_paper_says_its_title_twice(client: Client) -> None:
    for paper, title in (("installer", "Wiring list"), ("meter", "Commissioning sheet")):
        page = printed(client, DROP, asking(DIM, paper), HTML).decode()
        assert page.count(f">{title}<") == 2, "the title of the tab and the heading"


@pytest.mark.parametrize("paper", ["customer", "installer"])
@pytest.mark.parametrize("verdict", ["passes", "passes-with-warnings", "fails"])
def test_a_customer_reads_whom_to_ask_about_warnings_and_nobody_else_does(
    client: Client, paper: str, verdict: str
) -> None:
    watts_each = {"passes": 1, "passes-with-warnings": 9, "fails": 20}[verdict]
    request = job(
        run(lamp(20, watts(watts_each), name="bollard", count=6, spacing=metres(6)), cable=awg(14)),
        supply=transformer(winding=winding(300, 5)),
    )
    assert client.post(DROP, json=request).json()["summary"]["verdict"] == verdict
    text = page_of(client, DROP, asking(request, paper)).text
    asked = "Before you sign, ask whoever planned this" in text
    assert asked == ((paper, verdict) == ("customer", "passes-with-warnings"))


def test_a_branch_is_called_by_the_name_of_its_run_and_not_by_the_place_of_that(client: Client) -> None:
    first = run(
        lamp(20, watts(1)),
        name="run 2",
        cable=awg(12),
        branches=[branch(5, lamp(4, watts(1)), cable=awg(12))],
    )
    second = run(lamp(20, watts(1)), name="run 1", cable=awg(12))
    request = job(first, second, supply=transformer(winding=winding(300, 5)))
    rows = page_of(client, DROP, asking(request, "installer")).table("Cable, piece by piece")
    assert [row["Run"] for row in rows] == ["run 2", "run 2 branch 1", "run 1"]


def test_marks_of_the_customers_page_agree_with_its_verdict_over_a_range(client: Client) -> None:
    """What is fine as stated and fails at low mains is marked as what it is: too little."""
    far = run(lamp(30, watts(5), count=2, spacing=metres(10), window=jobs.window(11.3, 15)), cable=awg(14))
    request = job(far, supply=BOX) | {"conditions": {"mains": {"kind": "named", "range": "outlet"}}}
    reply = client.post(DROP, json=request).json()
    assert [row["verdict"] for row in reply["fixtures"]] == ["inside", "inside"]
    low = [each for each in reply["findings"] if each["code"] == "fixture-below-window"]
    assert [each["severity"] for each in low] == ["fault", "fault"]
    page = printed(client, DROP, asking(request, "customer"), HTML).decode()
    picture = page.partition("<svg")[2].partition("</svg>")[0]
    drawn = {kind: len(re.findall(rf'<path class="{kind}"', picture)) for kind in ("ink", "warn")}
    explained = {"ink": 1, "warn": 2}
    assert drawn == {"ink": explained["ink"], "warn": explained["warn"] + len(low)}


@pytest.mark.parametrize(
    "supply", [jobs.battery(11.8, 12.8, 14.4), jobs.dc_supply(24.0)], ids=["battery", "dc supply"]
)
def test_only_a_transformer_has_taps(client: Client, supply: Json) -> None:
    request = jobs.job(jobs.run(jobs.lamp(5, watts(5)), cable=awg(12)), supply=supply, nominal_v=24)
    for paper in ("customer", "installer", "record"):
        page = page_of(client, DROP, asking(request, paper)).text.partition("What was asked")[0]
        assert "tap" not in page.lower()


@pytest.mark.parametrize("paper", ["customer", "installer"])
def test_a_strip_is_told_with_its_length(client: Client, paper: str) -> None:
    request = jobs.job(
        jobs.run(jobs.lamp(5, jobs.strip(4.5, 9.6), name="under the bar"), cable=awg(12)), nominal_v=24
    )
    request["supply"] = jobs.dc_supply(24.0)
    assert "1 × under the bar (4.5 m)" in page_of(client, DROP, asking(request, paper)).text


def test_a_meter_at_a_battery_is_not_told_of_mains(client: Client) -> None:
    line = jobs.lamp(5, watts(5), count=4, spacing=jobs.metres(3))
    request = jobs.job(jobs.run(line, cable=awg(12)), supply=jobs.battery(11, 12, 14.4))
    page = page_of(client, DROP, asking(request, "meter")).text
    assert "nearest to what the bare battery reads" in page
    assert "the mains that" not in page
    assert "Measure mains" not in page


def test_a_sentence_and_the_table_below_it_say_one_load(client: Client) -> None:
    """What is 24.1 % in the table is not 25 % in the sentence above it."""
    request = job(run(lamp(9, watts(24.1)), cable=awg(10)), supply=transformer(winding=winding(100, 4)))
    page = page_of(client, DROP, asking(request, "record")).text
    [(told, exact)] = re.findall(r"loaded to (\d+) %.*?Load of the supply\s*([0-9.]+) %", page, re.DOTALL)
    assert round(float(exact)) == int(told)


def test_the_name_of_a_type_keeps_its_letters_at_the_start_of_a_sentence(client: Client) -> None:
    thin = {"length": metres(1), "cable": awg(18)}
    request = job(
        run({"type": "spot", "at": metres(9)}, cable=awg(10)),
        supply=transformer(
            winding=winding(100, 4), circuits=[{"name": "1", "limit": {"value": 25, "unit": "A"}}]
        ),
    )
    request["wiring"]["fixture_types"] = [{"id": "spot", "load": watts(5), "lead": thin}]
    page = page_of(client, DROP, asking(request, "customer")).text
    assert "spot at 9 m: 18 AWG needs" in page
    assert "Spot" not in page


def test_the_lines_whose_lamps_fail_are_among_those_that_a_customer_sees(client: Client) -> None:
    """Of thirty runs, of which the last alone has a lamp with too little, that one is drawn and listed."""
    fine = [run(lamp(5, watts(3)), name=f"bed {number}", cable=awg(12)) for number in range(29)]
    dim = run(lamp(60, watts(9), window=jobs.window(12.1, 15)), name="far gate", cable=awg(14))
    request = job(*fine, dim, supply=BOX)
    page = printed(client, DROP, asking(request, "customer"), HTML).decode()
    picture = page.partition("<svg")[2].partition("</svg>")[0]
    assert "far gate" in picture
    assert len(re.findall(r'<path class="warn"', picture)) == 3, "two in the legend, and the lamp"
    rows = page_of(client, DROP, asking(request, "customer")).table("What was chosen", 1)
    assert [row["Run"] for row in rows][-2:] == ["far gate", f"{31 - len(rows)} more"]
    assert len(pdf_pages(printed(client, DROP, asking(request, "customer"), PDF))) == 1
