"""Cable that is sold in spools and not joined: what is answered can be cut from what is bought."""

from __future__ import annotations

import pytest

from tests import jobs
from tests.client import Client
from tests.jobs import Json
from tests.studies.least_cost_layout.requests import CABLES, garden

PATH = "/v1/least-cost-layout"


def from_spools(seed: int, length_ft: float, **more: object) -> Json:
    """A few fixtures, and cable in spools of one length, as dear by the foot as by the length."""
    return garden(5, seed, trench=1.0, effort=2_000) | {
        "stock": [
            {
                "id": size,
                "conductor": size,
                "price": {
                    "kind": "per-spool",
                    "spools": [{"length": jobs.feet(length_ft), "amount": f"{length_ft * float(price):.2f}"}],
                },
            }
            for size, price in CABLES.items()
        ],
        **more,
    }


def longest_route_ft(reply: Json) -> float:
    return max(float(each["length"]["value"]) for each in reply["layout"]["trenches"])


@pytest.mark.parametrize("length_ft", [5, 20, 60, 150, 400])
@pytest.mark.parametrize("seed", [1, 2, 5])
def test_all_cable_of_a_layout_is_cut_from_what_is_bought(
    client: Client, seed: int, length_ft: float
) -> None:
    reply = jobs.answer(client, from_spools(seed, length_ft), PATH)
    if reply["status"] == "none-found":
        assert "piece-longer-than-any-spool" in [each["code"] for each in reply["findings"]]
        return
    for line in reply["purchase"]:
        cut = sum(
            row["count"] * piece["length"]["value"] for row in line["cut_list"] for piece in row["pieces"]
        )
        assert cut == pytest.approx(line["quantity"]["value"], abs=1e-3)
        bought = sum(each["count"] * each["length"]["value"] for each in line["spools"])
        assert cut <= bought + 1e-3
        assert not any(piece["joined"] for row in line["cut_list"] for piece in row["pieces"])


def test_where_no_spool_holds_the_cable_of_any_span_nothing_passes_but_with_joints(client: Client) -> None:
    alone = jobs.answer(client, from_spools(5, 10), PATH)
    assert alone["status"] == "none-found"
    long = [each for each in alone["findings"] if each["code"] == "piece-longer-than-any-spool"]
    assert long
    for found in long:
        assert found["subject"]["pointer"].startswith("/routes/")
        assert found["measured"]["value"] > found["limit"]["value"] == 10
    assert "`cutting.joints`" in alone["summary"]["text"]
    joined = jobs.answer(client, from_spools(5, 10, cutting={"joints": "anywhere"}), PATH)
    assert joined["status"] == "laid-out"
    assert longest_route_ft(joined) > 10


def test_an_earlier_layout_that_the_spools_do_not_hold_is_only_a_start_and_has_no_total(
    client: Client,
) -> None:
    request = from_spools(5, 400)
    first = jobs.answer(client, request, PATH)
    assert first["status"] == "laid-out"
    shorter = jobs.answer(client, from_spools(5, 10, previous=first["certificate"]), PATH)
    assert shorter["status"] == "none-found"
    assert shorter["previous"]["outcome"] == "breaks-limits"
    assert "total" not in shorter["previous"]
    coiled = first["certificate"]
    for supply in coiled["supplies"]:
        for run in supply["runs"]:
            for span in run["spans"]:
                span["length"] = jobs.metres(130)
    again = jobs.answer(client, {**request, "previous": coiled}, PATH)
    assert (again["previous"]["outcome"], "total" in again["previous"]) == ("breaks-limits", False)
    assert again["costs"] == first["costs"]
