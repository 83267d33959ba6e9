"""A worker answers with the very bytes of the loop, and what goes wrong there is told by the loop."""

import asyncio
import json
from collections.abc import Iterator
from typing import Any, Final

import pytest
from msgspec import msgpack
from msgspec.structs import replace as changed
from structlog.testing import capture_logs

from service.circuit import most, work
from service.circuit.estimate import Estimate
from service.document.examples import FOLDER
from service.http.batch import items_of, work_of_item
from service.http.tasks import BY_ADDRESS, RefusedTask, Task, TaskOutcome, outcome_of, taken
from service.observability.exchange import Exchange
from service.problems import Refused
from service.studies import STUDIES
from tests.client import Client
from tests.worker.held import asked, at_work

JSON: Final = "application/json"
ID: Final = "same-1"
CHART: Final = b"conductor=14%20AWG&conductor=12%20AWG&watts=60&volts=12&feet=25,50,75"
SENT: Final = {"content-type": JSON, "x-request-id": ID}


def study_of(file: str) -> str:
    names = [name for name in [*STUDIES, "batch"] if file.startswith(name.replace("-", "_"))]
    return names[0]


def tasks() -> Iterator[Task]:
    """Every example in every form."""
    for path in sorted(FOLDER.glob("*.json")):
        study = study_of(path.name)
        for form in STUDIES[study].offered if study in STUDIES else (JSON,):
            yield Task(study, path.read_bytes(), form, ID)
    for form in STUDIES["drop-chart"].offered:
        yield Task(BY_ADDRESS, CHART, form, ID)


def replied(client: Client, task: Task) -> Any:
    accept = {"accept": task.media_type}
    if task.study == BY_ADDRESS:
        return client.get(f"/v1/drop-chart?{CHART.decode()}", headers={**SENT, **accept})
    return client.post(f"/v1/{task.study}", content=task.body, headers={**SENT, **accept})


@pytest.mark.usefixtures("answered_once")
def test_every_example_in_every_form_is_the_same_from_a_worker_as_from_the_loop(client: Client) -> None:
    every = list(tasks())

    async def by_worker() -> list[TaskOutcome]:
        async with at_work() as workers:
            return [await asked(workers, task) for task in every]

    refused = 0
    for task, came in zip(every, asyncio.run(by_worker()), strict=True):
        reply = replied(client, task)
        assert not came.faults
        if isinstance(came.end, RefusedTask):
            refused += 1
            assert (came.end.kind.code, came.end.detail) == (reply.json()["code"], reply.json()["detail"])
            continue
        assert came.end.content == reply.content
        assert reply.headers["content-type"].startswith(came.end.media_type)
        assert {name.lower() for name in came.end.headers} <= set(reply.headers)
        assert all(reply.headers[name] == text for name, text in came.end.headers.items())
    assert refused < len(every) / 4


def sent(came: TaskOutcome) -> TaskOutcome:
    """What arrives in the service of what a worker sends."""
    return msgpack.decode(msgpack.encode(came), type=TaskOutcome)


VOLTAGE_DROP: Final = Task("voltage-drop", (FOLDER / "voltage_drop.json").read_bytes(), JSON, ID)


def test_findings_work_and_refused_items_are_taken_over() -> None:
    body = (FOLDER / "batch.json").read_bytes()
    exchange = Exchange(ID)
    answer = taken(sent(outcome_of(Task("batch", body, JSON, ID))), exchange)
    items = json.loads(answer.content)["items"]
    findings = [one for item in items if "answer" in item for one in item["answer"]["findings"]]
    assert exchange.findings == [(one["code"], one["severity"]) for one in findings]
    assert exchange.refused_items == [item["problem"]["code"] for item in items if "problem" in item]
    assert exchange.work["voltage-drop"] > 0
    assert exchange.faults == []


def test_a_refusal_of_a_worker_is_a_refusal_with_all_its_errors() -> None:
    body = VOLTAGE_DROP.body.replace(b'"listed"', b'"lsted"')
    with pytest.raises(Refused) as at_home:
        taken(outcome_of(changed(VOLTAGE_DROP, body=body)), Exchange(ID))
    with pytest.raises(Refused) as from_afar:
        taken(sent(outcome_of(changed(VOLTAGE_DROP, body=body))), Exchange(ID))
    assert from_afar.value.errors == at_home.value.errors != ()
    assert from_afar.value.code == "request-invalid"


BY_NOUGHT: Final = "by nought"


def raising(*_: object) -> Any:
    secret = "a caller's name"  # noqa: S105, F841  # a local, which no log may show
    raise ZeroDivisionError(BY_NOUGHT)


def test_an_unexpected_error_in_a_worker_is_the_request_s_and_is_told_with_its_place(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    broken = STUDIES["voltage-drop"]._replace(answer=raising)
    monkeypatch.setitem(STUDIES, "voltage-drop", broken)
    exchange = Exchange(ID)
    with pytest.raises(Refused) as failed:
        taken(sent(outcome_of(VOLTAGE_DROP)), exchange)
    assert failed.value.code == "internal-error"
    [[fault]] = exchange.faults
    assert (fault["exc_type"], fault["exc_value"]) == ("ZeroDivisionError", BY_NOUGHT)
    assert fault["frames"][-1]["name"] == "raising"
    assert "a caller's name" not in json.dumps(exchange.faults)


# One item that raises what nobody foresaw.


@pytest.fixture
def reach_is_broken(monkeypatch: pytest.MonkeyPatch) -> None:
    broken = STUDIES["reach"]._replace(answer=raising)
    monkeypatch.setitem(STUDIES, "reach", broken)


def batch_of(*items: tuple[str, bytes]) -> bytes:
    return b'{"items": [%s]}' % b", ".join(
        b'{"study": "%s", "request": %s}' % (study.encode(), body) for study, body in items
    )


@pytest.mark.usefixtures("reach_is_broken")
def test_one_item_that_fails_spoils_no_other_and_the_log_has_its_trace(client: Client) -> None:
    reach = (FOLDER / "reach.json").read_bytes()
    body = batch_of(
        ("voltage-drop", VOLTAGE_DROP.body), ("reach", reach), ("voltage-drop", VOLTAGE_DROP.body)
    )
    with capture_logs() as lines:
        reply = client.post("/v1/batch", content=body, headers=SENT)
    first, second, third = reply.json()["items"]
    assert reply.status_code == 200
    assert first == third
    assert first["outcome"] == "answered"
    assert (second["problem"]["code"], second["problem"]["request_id"]) == ("internal-error", ID)
    assert "nought" not in reply.text
    [line] = [line for line in lines if line["event"] == "unhandled"]
    assert (line["request_id"], line["log_level"]) == (ID, "error")
    assert line["exception"][0]["exc_type"] == "ZeroDivisionError"


@pytest.mark.usefixtures("reach_is_broken")
def test_one_item_that_fails_in_a_worker_spoils_no_other() -> None:
    reach = (FOLDER / "reach.json").read_bytes()
    exchange = Exchange(ID)
    body = batch_of(("reach", reach), ("voltage-drop", VOLTAGE_DROP.body))
    answer = taken(sent(outcome_of(Task("batch", body, JSON, ID))), exchange)
    assert [item["outcome"] for item in json.loads(answer.content)["items"]] == ["refused", "answered"]
    assert exchange.refused_items == ["internal-error"]
    assert len(exchange.faults) == 1


def test_a_batch_of_many_mistakes_is_heavy_as_well() -> None:
    # Telling every mistake of a long item takes longer than answering a short one.
    wrong = b'{"colours": [%s]}' % b",".join([b"1"] * 50_000)
    [long_item, short_item] = items_of(batch_of(("reach", wrong), ("reach", b"{}")))
    assert work_of_item(long_item) > work.HEAVY_WORK
    assert work_of_item(short_item) == 1


# What is not finite.


@pytest.mark.parametrize("number", [float("inf"), float("-inf"), float("nan")])
@pytest.mark.parametrize("form", STUDIES["drop-chart"].offered)
def test_what_is_not_finite_never_leaves_in_any_form(
    client: Client, monkeypatch: pytest.MonkeyPatch, form: str, number: float
) -> None:
    chart = STUDIES["drop-chart"]

    def spoiled(message: Any, job: Any, sha256: str) -> Any:
        reply = chart.answer(message, job, sha256)
        return changed(reply, open_circuit=changed(reply.open_circuit, value=number))

    monkeypatch.setitem(STUDIES, "drop-chart", chart._replace(answer=spoiled))
    body = (FOLDER / "drop_chart.json").read_bytes()
    with capture_logs() as lines:
        reply = client.post("/v1/drop-chart", content=body, headers={**SENT, "accept": form})
    assert (reply.status_code, reply.json()["code"]) == (500, "internal-error")
    assert [line["event"] for line in lines if line["log_level"] == "error"] == ["unhandled", "request"]


def test_a_name_that_reads_null_is_a_name(client: Client) -> None:
    body = {**json.loads(VOLTAGE_DROP.body), "id": "null: null, [null]"}
    reply = client.post("/v1/voltage-drop", json=body, headers={"x-request-id": ID})
    assert (reply.status_code, reply.json()["id"]) == (200, "null: null, [null]")


# What is over the limit.


def test_what_cannot_be_answered_within_the_limit_is_refused_before_it_is_begun(
    client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    limit = most.MAXIMUM_REQUEST_WORK
    study = STUDIES["voltage-drop"]

    def never(*_: object) -> Any:
        raise AssertionError

    too_much = study._replace(estimate=lambda _: Estimate(2 * limit, 2 * limit), answer=never)
    monkeypatch.setitem(STUDIES, "voltage-drop", too_much)
    alone = client.post("/v1/voltage-drop", content=VOLTAGE_DROP.body, headers=SENT)
    assert (alone.status_code, alone.json()["code"]) == (422, "work-over-limit")
    body = batch_of(("voltage-drop", VOLTAGE_DROP.body), ("reach", (FOLDER / "reach.json").read_bytes()))
    first, second = client.post("/v1/batch", content=body, headers=SENT).json()["items"]
    assert (first["problem"]["code"], second["outcome"]) == ("work-over-limit", "answered")
