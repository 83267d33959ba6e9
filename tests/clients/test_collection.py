"""The file of requests is that of the examples, and each of its requests is answered as the document says."""

import subprocess
import sys
from pathlib import Path

import pytest

from deploy.collection import collection
from service.app import app
from service.document.operations import descriptions
from tests.client import Client
from tests.clients.http_file import Sent, requests_of
from tests.load.replica import ROOT

OPENAPI = ROOT / "openapi"
FILE = OPENAPI / "requests.http"
STATUS = {
    example.file: example.status
    for operation in descriptions().values()
    for example in operation.examples
    if example.file is not None and not example.headers and example.method is None
}


REQUESTS = requests_of(FILE.read_text(encoding="utf-8"), OPENAPI)


def test_the_committed_file_is_what_the_script_writes() -> None:
    command = [sys.executable, "deploy/collection.py"]
    ended = subprocess.run(command, cwd=ROOT, capture_output=True, timeout=60, check=True)  # noqa: S603  # our own script
    renew = "python deploy/collection.py > openapi/requests.http"
    assert ended.stdout == FILE.read_bytes(), f"The examples changed. Renew it with: {renew}"


def test_every_example_is_in_it_once() -> None:
    assert sorted(sent.body for sent in REQUESTS) == sorted((OPENAPI / "examples").glob("*.json"))


@pytest.mark.parametrize("sent", REQUESTS, ids=lambda sent: sent.body.stem)
def test_every_request_is_answered_as_the_document_says(sent: Sent) -> None:
    reply = Client(app).request(sent.method, sent.path, content=sent.body.read_bytes(), headers=sent.fields)
    assert reply.status_code == STATUS[sent.body.name]


def test_another_folder_is_sent_in_the_order_of_its_names(tmp_path: Path) -> None:
    job = (OPENAPI / "examples" / "voltage_drop_even.json").read_bytes()
    for name in ("02_voltage_drop_patio.json", "10_reach.json", "01_gauge_recommendation.json"):
        (tmp_path / name).write_bytes(job)
    paths = [sent.path for sent in requests_of(collection(tmp_path), OPENAPI)]
    assert paths == ["/v1/gauge-recommendation", "/v1/voltage-drop", "/v1/reach"]
    (tmp_path / "garden.json").write_bytes(job)
    with pytest.raises(SystemExit, match=r"garden\.json is called after no study"):
        collection(tmp_path)
