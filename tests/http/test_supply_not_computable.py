"""An electronic transformer is refused by name wherever a supply is taken, and for a reason that holds."""

from copy import deepcopy
from math import acosh, pi
from pathlib import Path
from typing import Any, Final

import pytest
from msgspec import json

from service import tables
from service.studies import STUDIES
from tests.client import Client

EXAMPLES: Final = Path(__file__).resolve().parents[2] / "openapi" / "examples"
WITH_SUPPLY: Final = tuple(
    name for name, study in STUDIES.items() if "supply" in study.request.__struct_fields__
)
VACUUM_PERMEABILITY: Final = 4e-7 * pi  # [H/m], SI before 2019; off by less than 1e-9


def example(study: str) -> dict[str, Any]:
    body = (EXAMPLES / f"{study.replace('-', '_')}.json").read_bytes()
    return dict(json.decode(body))


def with_kind(study: str, kind: object) -> dict[str, Any]:
    request = deepcopy(example(study))
    request["supply"]["kind"] = kind
    return request


@pytest.mark.parametrize("study", WITH_SUPPLY)
def test_electronic_transformer_is_refused_by_name_in_every_study(client: Client, study: str) -> None:
    reply = client.post(f"/v1/{study}", json=with_kind(study, "electronic-transformer"))
    problem = reply.json()
    assert (reply.status_code, problem["code"]) == (422, "supply-not-computable")
    [error] = problem["errors"]
    assert (error["code"], error["pointer"]) == ("supply-not-computable", "/supply/kind")
    assert error["allowed"] == ["battery", "dc-supply", "transformer"]
    for said in (
        "electronic transformer",
        "tens of kHz",
        "inductance",
        "magnetic transformer or a DC supply",
    ):
        assert said in problem["detail"]
    assert problem["type"] in client.get("/v1/problems").text


def test_electronic_transformer_is_refused_in_its_place_of_a_batch(client: Client) -> None:
    items = [
        {"study": "voltage-drop", "request": with_kind("voltage-drop", "electronic-transformer")},
        {"study": "voltage-drop", "request": example("voltage-drop")},
    ]
    refused, answered = client.post("/v1/batch", json={"items": items}).json()["items"]
    assert refused["problem"]["code"] == "supply-not-computable"
    assert answered["outcome"] == "answered"


@pytest.mark.parametrize(
    "kind", ["electronic_transformer", "Electronic Transformer", "transformer, electronic"]
)
def test_another_spelling_of_it_is_refused_as_it(client: Client, kind: str) -> None:
    reply = client.post("/v1/voltage-drop", json=with_kind("voltage-drop", kind))
    assert (reply.status_code, reply.json()["code"]) == (422, "supply-not-computable")


@pytest.mark.parametrize("kind", ["electronic", "electric-transformer", "transformer-2", 7, None])
def test_what_is_no_spelling_of_it_is_told_the_kinds(client: Client, kind: object) -> None:
    reply = client.post("/v1/voltage-drop", json=with_kind("voltage-drop", kind))
    assert (reply.status_code, reply.json()["code"]) == (400, "request-invalid")


def test_other_mistakes_are_listed_beside_it(client: Client) -> None:
    request = with_kind("voltage-drop", "electronic-transformer") | {"colour": "red"}
    problem = client.post("/v1/voltage-drop", json=request).json()
    assert problem["code"] == "supply-not-computable"
    assert [error["pointer"] for error in problem["errors"]] == ["/supply/kind", "/colour"]


def test_a_cable_drops_several_times_as_much_at_tens_of_kilohertz() -> None:
    """The reason that is given, from the external inductance of two parallel round wires alone.

    L = (mu0 / pi) acosh(D / d), a textbook formula (from memory): D between the axes, d the diameter. The
    insulation of a flat 12 AWG pair is 0.8 mm thick at least. The skin effect comes on top.
    """
    row = tables.conductor("12 AWG", "copper", "stranded")
    diameter_mm = 2.05
    inductance = VACUUM_PERMEABILITY / pi * acosh((diameter_mm + 2 * 0.8) / diameter_mm)
    for frequency, at_least in ((20e3, 4.0), (35e3, 7.0), (50e3, 11.0)):
        assert 2.0 * pi * frequency * inductance / (2.0 * row.resistance_ohm_per_m) > at_least
