"""The commissioning sheet comes back with its column `read` filled in, and is judged as it is."""

import csv
from collections.abc import Callable
from io import StringIO

import pytest

from tests.client import Client
from tests.jobs import Json, awg, metres, transformer, volts, watts, winding
from tests.studies.readings_check.jobs import PATH, check
from tests.studies.readings_check.test_runs import garden

SHEET = "/v1/commissioning-sheet"
Row = dict[str, str]


def job() -> Json:
    """Two runs, one of them on another tap, and two circuits."""
    made = garden(12.0, 14.0)
    made["supply"]["circuits"] = [{"name": "=east"}, {"name": "west"}]
    for each, name in zip(made["wiring"]["runs"], ("=east", "west"), strict=True):
        each["circuit"] = name
    made["supply"]["primary"] = {"rated": volts(120), "actual": volts(120)}
    return made


def sheet(client: Client, asked: Json) -> list[Row]:
    reply = client.post(SHEET, json={**asked, "mains": [volts(120)]}, headers={"Accept": "text/csv"})
    assert reply.status_code == 200, reply.text
    return list(csv.DictReader(StringIO(reply.text, newline="")))


def written(rows: list[Row], separator: str = ",") -> str:
    text = StringIO(newline="")
    writer = csv.DictWriter(text, list(rows[0]), delimiter=separator, lineterminator="\r\n")
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue()


def filled(
    rows: list[Row], value: Callable[[Row], str] = lambda row: row["expected 120_V_mains"]
) -> list[Row]:
    return [{**row, "read": value(row)} for row in rows]


def refused(client: Client, request: Json) -> list[Json]:
    reply = client.post(PATH, json=request)
    assert reply.status_code == 422, reply.text
    assert reply.json()["code"] == "readings-invalid"
    errors: list[Json] = reply.json()["errors"]
    return errors


def test_a_sheet_filled_in_as_expected_agrees_row_by_row(client: Client) -> None:
    rows = filled(sheet(client, job()))
    reply = check(client, {**job(), "readings_csv": written(rows), "mains_read": volts(120)})
    assert reply["verdict"] == "agrees"
    assert [each["line"] for each in reply["readings"]] == list(range(2, len(rows) + 2))
    assert all(abs(each["normalised_residual"]) < 0.05 for each in reply["readings"])
    for row, each in zip(rows, reply["readings"], strict=True):
        assert each["predicted"]["value"] == pytest.approx(float(row["read"]), abs=2e-4)


def test_a_sheet_says_what_its_readings_say_one_by_one(client: Client) -> None:
    rows = filled(sheet(client, job()))
    stages = client.post(SHEET, json={**job(), "mains": [volts(120)]}).json()["stages"]
    readings = [
        {
            "subject": point["subject"],
            "quantity": {"kind": point["quantity"], "value": point["expected"][0]["value"]},
            "state": {**stage["state"], "mains": volts(120)},
        }
        for stage in stages
        for point in stage["test_points"]
    ]
    by_sheet = check(client, {**job(), "readings_csv": written(rows), "mains_read": volts(120)})
    one_by_one = check(client, {**job(), "readings": readings})
    assert by_sheet["chi_square"] == one_by_one["chi_square"]
    assert [each["predicted"] for each in by_sheet["readings"]] == [
        each["predicted"] for each in one_by_one["readings"]
    ]


def test_rows_without_a_value_are_passed_over_and_both_kinds_of_readings_count(client: Client) -> None:
    rows = filled(
        sheet(client, job()), lambda row: row["expected 120_V_mains"] if row["stage"] == "1" else ""
    )
    reading = {
        "subject": {"kind": "terminal"},
        "quantity": {"kind": "voltage", "value": volts(12.2)},
        "state": {"on": "all-on"},
    }
    reply = check(client, {**job(), "readings": [reading], "readings_csv": written(rows)})
    assert [each.get("line") for each in reply["readings"]] == [None, 2, 3]


def test_a_spreadsheet_that_writes_semicolons_and_decimal_commas_is_read(client: Client) -> None:
    rows = filled(sheet(client, job()))
    commas = [{**row, "read": row["read"].replace(".", ",")} for row in rows]
    plain = check(client, {**job(), "readings_csv": written(rows)})
    saved = check(client, {**job(), "readings_csv": "\ufeff" + written(commas, ";")})
    assert saved["readings"] == plain["readings"]


@pytest.mark.parametrize(
    "saved",
    [
        lambda text: text.replace("\r\n", "\n"),
        lambda text: text.replace("\r\n", "\r"),
        lambda text: text + "\r\n \r\n\n",
        lambda text: text + 3 * ("," * 20 + "\r\n"),
        str.rstrip,
        lambda text: "\ufeff" + text,
        lambda text: ",".join(f'"{cell}"' for cell in text.split(",")).replace("\r\n", '"\r\n"'),
        lambda text: text.replace(",", "\t"),
        lambda text: text.replace(",", "\t").replace(".", ","),
        lambda text: text.replace(",", " ; ").replace(".", ","),
    ],
    ids=[
        "lf",
        "cr",
        "empty lines",
        "empty cells",
        "no end",
        "mark",
        "quoted",
        "tabs",
        "tabs, commas",
        "spaces",
    ],
)
def test_what_a_spreadsheet_makes_of_a_sheet_says_the_same(
    client: Client, saved: Callable[[str], str]
) -> None:
    names = {"stage_name", "name"}
    rows = [{name: row[name] for name in row if name not in names} for row in filled(sheet(client, job()))]
    text = written(rows)
    assert '"' not in text
    plain = check(client, {**job(), "readings_csv": text})
    assert check(client, {**job(), "readings_csv": saved(text)})["readings"] == plain["readings"]


def test_empty_lines_before_the_header_count_as_lines(client: Client) -> None:
    text = "\r\n  \r\nquantity,read,subject,state\r\nvoltage,12.2,terminal,all-on\r\n"
    assert check(client, {**job(), "readings_csv": text})["readings"][0]["line"] == 4
    (error,) = refused(client, {**job(), "readings_csv": "\n\nstage,read\n1,12\n"})
    assert error["detail"].startswith("Line 3: ")


def test_the_mains_of_a_row_come_before_those_of_the_sheet(client: Client) -> None:
    rows = [{**row, "mains_read": "114"} for row in filled(sheet(client, job()))]
    reply = check(client, {**job(), "readings_csv": written(rows), "mains_read": volts(126)})
    first = reply["readings"][0]
    assert first["predicted"]["value"] == pytest.approx(float(rows[0]["read"]) * 114 / 120, abs=1e-3)


@pytest.mark.parametrize(
    ("mains", "taken"),
    [("1", True), ("1000", True), ("0.99", False), ("1000.1", False), ("0", False), ("mains", False)],
)
def test_the_mains_of_a_row_are_volts_as_those_of_a_reading_may_be(
    client: Client, mains: str, *, taken: bool
) -> None:
    # A reading that is sent by itself may say 1 to 1000 V.
    text = f"quantity,read,subject,state,mains_read\r\nvoltage,12.2,terminal,all-on,{mains}\r\n"
    request = {**job(), "readings_csv": text}
    if taken:
        assert len(check(client, request)["readings"]) == 1
    else:
        (error,) = refused(client, request)
        assert error["code"] == "csv-value"
        assert "1 to 1000" in error["detail"]


@pytest.mark.parametrize(("read", "taken"), [("0", True), ("100000", True), ("100001", False), ("-1", False)])
def test_a_value_of_a_row_is_one_that_a_reading_may_have(client: Client, read: str, *, taken: bool) -> None:
    text = f"quantity,read,subject,state\r\nvoltage,{read},terminal,all-on\r\n"
    request = {**job(), "readings_csv": text}
    if taken:
        assert len(check(client, request)["readings"]) == 1
    else:
        (error,) = refused(client, request)
        assert error["code"] == "csv-value"


def test_what_a_sheet_shows_low_is_named_by_its_line(client: Client) -> None:
    rows = filled(sheet(client, job()))
    rows[0]["read"] = "24.9"
    reply = check(client, {**job(), "readings_csv": written(rows)})
    named = [each for each in reply["findings"] if each["code"] == "reading-above-supply"]
    assert named[0]["message"].startswith("Line 2 of the sheet shows 24.9 V")
    assert named[0]["subject"] == {"pointer": "/readings_csv", "number": 2}
    assert "line 2 of the sheet" in reply["conclusion"]


def test_every_line_that_is_not_of_this_job_is_refused_by_its_number(client: Client) -> None:
    rows = filled(sheet(client, job()))
    wired = [place for place, row in enumerate(rows) if row["subject"].startswith("/")]
    rows[wired[0]]["subject"] = "/wiring/runs/7/fixtures/0"
    rows[wired[1]] |= {"stage": "", "state": "/wiring/runs/9"}
    rows[wired[2]]["state"] = "half-on"
    rows[wired[3]]["read"] = "about 12"
    rows[wired[4]]["quantity"] = "power"
    rows[0]["tap_v"] = "24"
    errors = refused(client, {**job(), "readings_csv": written(rows)})
    lines = {int(each["detail"].removeprefix("Line ").partition(":")[0]): each for each in errors}
    assert set(lines) == {2, *(place + 2 for place in wired[:5])}
    assert {each["pointer"] for each in errors} == {"/readings_csv"}
    assert lines[2]["code"] == "reading-unknown-tap"
    assert [lines[place + 2]["code"] for place in wired[:5]] == [
        "reading-unknown-place",
        "reading-unknown-place",
        "csv-word",
        "csv-value",
        "csv-word",
    ]


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "csv-columns"),
        ("stage,read\r\n1,12\r\n", "csv-columns"),
        ('quantity,read,subject,state\r\nvoltage,12,terminal,"no-load\r\n', "csv-unreadable"),
        ("quantity,read,subject,state\r\n" + "voltage,12,terminal,no-load\r\n" * 202, "csv-too-many"),
        ("quantity,read,subject,state\r\nvoltage,nan,terminal,no-load\r\n", "csv-value"),
        ("quantity,read,subject,state\r\nvoltage,1e999,terminal,no-load\r\n", "csv-value"),
        ("quantity,read,subject,state\r\nvoltage,-1,terminal,no-load\r\n", "csv-value"),
        (f"quantity,read,subject,state\r\nvoltage,1,/{'x' * 5000},no-load\r\n", "csv-word"),
        (f"quantity,read,subject,state\r\n{'v' * 140000},1,terminal,no-load\r\n", "csv-unreadable"),
        ("quantity,read,subject,state\r\nvoltage,12\r\n", "csv-word"),
        ("quantity,read,subject,state,read\r\nvoltage,12,terminal,no-load,13\r\n", "csv-columns-doubled"),
        ("quantity,read,subject,state\r\nvoltage,12,48,terminal,no-load\r\n", "csv-cells"),
        ("quantity,read,subject,state\r\nvoltage,1_2.48,terminal,no-load\r\n", "csv-value"),
        ("quantity,read,subject,state,tap_v\r\nvoltage,12,terminal,no-load,14 V\r\n", "csv-value"),
        ("quantity,unit,read,subject,state\r\nvoltage,mV,12,terminal,no-load\r\n", "csv-word"),
        ("quantity,read,subject,subject_number,state\nvoltage,12,/wiring,²,all-on", "csv-value"),
        ("quantity,read,subject,subject_number,state\nvoltage,12,/wiring,0,all-on", "csv-value"),
        (f"quantity,read,subject,subject_number,state\nvoltage,12,/wiring,{'9' * 6000},all-on", "csv-value"),
    ],
)
def test_a_sheet_that_is_none_is_refused(client: Client, text: str, code: str) -> None:
    errors = refused(client, {**job(), "readings_csv": text})
    assert errors[0]["code"] == code
    assert errors[0]["pointer"] == "/readings_csv"
    assert len(errors[0]["detail"]) < 400


def test_the_id_of_a_row_comes_back_where_a_request_may_have_it(client: Client) -> None:
    rows = ["voltage,12,terminal,no-load,step 2", "voltage,12,terminal,no-load,'=1+1"]
    rows += [f"voltage,12,terminal,no-load,{each}" for each in ("x" * 65, "naïve", "")]
    reply = check(client, {**job(), "readings_csv": "\n".join(["quantity,read,subject,state,id", *rows])})
    assert [each.get("id") for each in reply["readings"]] == ["step 2", "=1+1", None, None, None]


def test_nothing_read_at_all_asks_for_the_terminals_first(client: Client) -> None:
    reply = check(client, job())
    assert reply["verdict"] == "nothing-to-judge"
    assert reply["next_reading"]["subject"] == {"pointer": "/supply"}


def test_a_row_of_a_stage_that_the_job_has_not_got_is_refused_by_its_line(client: Client) -> None:
    rows = filled(sheet(client, job()))
    assert {row["stage"] for row in rows} == {"1", "2", "3", "4"}
    rows[0]["stage"], rows[1]["stage"], rows[2]["stage"] = "5", "0", "two"
    rows[-1]["stage"] = "3"
    errors = refused(client, {**job(), "readings_csv": written(rows)})
    said = {each["detail"].partition(":")[0]: (each["code"], each["detail"]) for each in errors}
    assert set(said) == {"Line 2", "Line 3", "Line 4", f"Line {len(rows) + 1}"}
    assert [said[f"Line {line}"][0] for line in (2, 3, 4)] == ["csv-word", "csv-word", "csv-value"]
    assert '`stage` is "5". Leave it as the sheet has it: 1 to 4.' in said["Line 2"][1]
    last = said[f"Line {len(rows) + 1}"][1]
    assert '`state` is "all-on". Leave it as the sheet has it: /wiring/runs/1 in stage 3.' in last


def test_rows_sent_with_the_description_of_another_garden_are_refused_by_their_stage(client: Client) -> None:
    # Three runs were read, two are described: the last stage is no longer there, and that before it another.
    read = garden(12.0, 14.0, 12.0)
    rows = [row for row in filled(sheet(client, read)) if row["subject"] == "terminal"]
    errors = refused(client, {**garden(12.0, 14.0), "readings_csv": written(rows)})
    lines = {int(each["detail"].removeprefix("Line ").partition(":")[0]) for each in errors}
    assert lines == {place + 2 for place, row in enumerate(rows) if row["stage"] in {"4", "5"}}


@pytest.mark.parametrize("stage", ["", "4", "4.0", " 4 ", "04"])
def test_a_row_in_a_hand_of_its_own_needs_no_stage_but_its_state(client: Client, stage: str) -> None:
    text = f"stage,quantity,read,subject,state\r\n{stage},voltage,12.2,terminal,all-on\r\n"
    assert check(client, {**job(), "readings_csv": text})["readings"][0]["line"] == 2


def test_a_sheet_of_a_graph_has_its_stages_too(client: Client) -> None:
    spans = [{"from": "supply", "to": point, "length": metres(20), "cable": awg(12)} for point in ("a", "b")]
    fixtures = [{"point": point, "load": watts(20)} for point in ("a", "b", "b")]
    graph = {
        "supply": transformer(
            12, winding=winding(150, 4), primary={"rated": volts(120), "actual": volts(120)}
        ),
        "wiring": {"form": "spans", "spans": spans, "fixtures": fixtures},
    }
    rows = filled(sheet(client, graph))
    assert check(client, {**graph, "readings_csv": written(rows)})["verdict"] == "agrees"
    rows[-1]["stage"] = "2"
    (error,) = refused(client, {**graph, "readings_csv": written(rows)})
    assert "/wiring/fixtures/0 in stage 2" in error["detail"]
