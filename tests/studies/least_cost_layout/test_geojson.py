"""The plan on a map: what was sent comes back, and x and y come to where a geodesist has them."""

import json
from itertools import combinations, pairwise
from math import hypot
from random import Random
from typing import Any

import pytest
from pyproj import Geod

from service.studies.least_cost_layout.ellipsoid import flattened, unflattened
from service.studies.least_cost_layout.geography import degrees_of
from service.studies.least_cost_layout.request import PlanOrigin
from service.studies.least_cost_layout.site import Position, plane_of, straight_m
from tests import jobs
from tests.client import Client
from tests.jobs import Json
from tests.studies.least_cost_layout.requests import garden

PATH = "/v1/least-cost-layout"
GEOJSON = "application/geo+json"
WGS84 = Geod(ellps="WGS84")
"""PROJ, geodesics by C. F. F. Karney, Algorithms for geodesics, J. Geodesy 87 (2013)."""

DEGREE = 1e-7
"""The last decimal that is written."""


def mapped(client: Client, request: Json) -> Any:
    reply = client.post(PATH, json=request, headers={"Accept": GEOJSON})
    assert reply.status_code == 200, reply.text
    assert reply.headers["content-type"] == GEOJSON
    return reply.json()


def placed(request: Json, degrees: list[tuple[float, float]]) -> Json:
    """The same site with its places in degrees."""
    features = [
        {
            "type": "Feature",
            "geometry": {"type": "Point", "coordinates": list(each)},
            "properties": {"name": f"p{place}"},
        }
        for place, each in enumerate(degrees)
    ]
    places = {"frame": "wgs84", "type": "FeatureCollection", "features": features}
    return {**request, "places": places, "units": "metric"}


def degrees_near(request: Json, lon: float, lat: float) -> list[tuple[float, float]]:
    points = request["places"]["points"]
    positions = [Position(0.3048 * each["x"]["value"], 0.3048 * each["y"]["value"]) for each in points]
    return degrees_of(PlanOrigin(lon, lat), positions)


def of_role(drawn: Any, *roles: str) -> list[Any]:
    return [each for each in drawn["features"] if each["properties"]["role"] in roles]


@pytest.mark.parametrize(("lon", "lat"), [(-93.1, 45.05), (18.42, -33.9), (-0.001, 0.0004), (25.7, 66.5)])
def test_degrees_come_back_where_they_were_sent(client: Client, lon: float, lat: float) -> None:
    request = garden(4, 3, effort=2_000)
    degrees = degrees_near(request, lon, lat)
    drawn = mapped(client, placed(request, degrees))
    for fixture, feature in zip(request["fixtures"], of_role(drawn, "fixture"), strict=True):
        stated = degrees[int(fixture["place"].removeprefix("p"))]
        found = feature["geometry"]["coordinates"]
        assert max(abs(a - b) for a, b in zip(stated, found, strict=True)) <= DEGREE
        assert found == [round(part, 7) for part in found]


def test_a_plan_can_be_sent_again_from_its_own_map(client: Client) -> None:
    request = garden(4, 1, effort=2_000)
    degrees = [(round(lon, 7), round(lat, 7)) for lon, lat in degrees_near(request, 8.0, 47.0)]
    first = mapped(client, placed(request, degrees))
    lamps = [tuple(each["geometry"]["coordinates"]) for each in of_role(first, "fixture")]
    again = [
        lamps[[each["place"] for each in request["fixtures"]].index(f"p{place}")] if lit else own
        for place, own in enumerate(degrees)
        for lit in [f"p{place}" in [each["place"] for each in request["fixtures"]]]
    ]
    assert mapped(client, placed(request, again)) == first


@pytest.mark.parametrize("lat", [0.0, 15.0, -30.0, 45.0, 60.0, 75.0, -85.0])
def test_lengths_agree_with_geodesics_to_a_millimetre_at_500_m(lat: float) -> None:
    random = Random(int(lat))
    spots = [Position(random.uniform(-250, 250), random.uniform(-250, 250)) for _ in range(60)]
    degrees = degrees_of(PlanOrigin(11.0, lat), spots)
    plane = plane_of(degrees)
    for one, other in combinations(range(len(spots)), 2):
        geodesic = WGS84.inv(*degrees[one], *degrees[other])[2]
        assert straight_m(plane[one], plane[other]) == pytest.approx(geodesic, abs=0.001)
        assert straight_m(spots[one], spots[other]) == pytest.approx(geodesic, abs=0.001)


def test_a_degree_is_as_long_as_the_published_ones() -> None:
    # Lengths of a degree of latitude and of longitude on WGS 84: from memory of encyclopaedias, which print
    # them to a metre.
    published = {0: (110_574, 111_320), 45: (111_132, 78_847), 75: (111_618, 28_902)}
    for lat, (along_m, across_m) in published.items():
        _, north_m = flattened((0.0, lat - 0.5), (0.0, lat + 0.5))
        east_m, _ = flattened((0.0, lat), (1.0, lat))
        assert (north_m, east_m) == pytest.approx((along_m, across_m), abs=1.0)


def test_there_and_back_is_where_it_was() -> None:
    random = Random(3)
    for _ in range(300):
        origin = (random.uniform(-180, 180), random.uniform(-85, 85))
        position = (random.uniform(-3_000, 3_000), random.uniform(-3_000, 3_000))
        assert flattened(origin, unflattened(origin, position)) == pytest.approx(position, abs=1e-6)


def test_x_and_y_lie_about_the_origin_that_is_stated(client: Client) -> None:
    request = garden(4, 2, effort=2_000)
    request["places"]["origin"] = {"longitude": -93.1, "latitude": 45.05}
    drawn = mapped(client, request)
    points = {each["name"]: each for each in request["places"]["points"]}
    for fixture, feature in zip(request["fixtures"], of_role(drawn, "fixture"), strict=True):
        x_m, y_m = (0.3048 * points[fixture["place"]][axis]["value"] for axis in "xy")
        east, _, far_m = WGS84.inv(-93.1, 45.05, *feature["geometry"]["coordinates"])
        assert far_m == pytest.approx(hypot(x_m, y_m), abs=0.02)
        lon, lat, _ = WGS84.fwd(-93.1, 45.05, east, hypot(x_m, y_m))
        assert feature["geometry"]["coordinates"] == pytest.approx([lon, lat], abs=3 * DEGREE)


def test_places_without_an_origin_have_no_map_and_are_told_what_to_do(client: Client) -> None:
    reply = client.post(PATH, json=garden(4, 2), headers={"Accept": GEOJSON})
    assert (reply.status_code, reply.json()["code"]) == (422, "places-without-position")
    assert [each["pointer"] for each in reply.json()["errors"]] == ["/places/origin"]


def test_the_map_has_every_lamp_trench_and_span_of_the_reply(client: Client) -> None:
    request = garden(7, 5, mounts=2, effort=3_000)
    request["places"]["origin"] = {"longitude": 8.0, "latitude": 47.0}
    reply, drawn = jobs.answer(client, request, PATH), mapped(client, request)
    runs = [run for supply in reply["layout"]["supplies"] for run in supply["runs"]]
    for run in runs:
        lamps = [each["properties"]["pointer"] for each in of_role(drawn, "fixture") if on(each, run)]
        assert sorted(lamps) == sorted(run["fixtures"])
        spans = [each for each in of_role(drawn, "cable") if on(each, run)]
        told = [(f"{row['from']} to {row['to']}", row["conductor"], row["length"]) for row in run["spans"]]
        found = [each["properties"] for each in spans]
        assert [(each["name"], each["conductor"], each["length"]) for each in found] == told
        # Routes without a length are as long as the line that is drawn.
        for row, span in zip(run["spans"], spans, strict=True):
            line = span["geometry"]["coordinates"]
            long_m = sum(WGS84.inv(*a, *b)[2] for a, b in pairwise(line))
            assert long_m / 0.3048 == pytest.approx(row["length"]["value"], abs=0.2)
    dug = [each["properties"]["pointer"] for each in of_role(drawn, "trench")]
    assert dug == [each["pointer"] for each in reply["layout"]["trenches"]]
    assert len(of_role(drawn, "trench", "route")) == len(request["routes"])
    assert [each["properties"]["number"] for each in of_role(drawn, "fixture")] == list(range(1, 8))


def on(feature: Any, run: Any) -> bool:
    return bool(feature["properties"].get("run") == run["name"])


def test_without_a_layout_the_map_has_the_site_alone(client: Client) -> None:
    request = garden(3, 1)
    request["places"]["origin"] = {"longitude": 8.0, "latitude": 47.0}
    request["routes"] = [each | {"length": jobs.feet(9_000)} for each in request["routes"]]
    drawn = mapped(client, request)
    assert {each["properties"]["role"] for each in drawn["features"]} == {
        "fixture",
        "mounting-point",
        "route",
    }


@pytest.mark.parametrize("name", ['a"b\\c', "إنارة الحديقة", "%s {0} \\u0000", "灯" * 60, "null NaN"])
def test_hostile_names_stay_what_they_are(client: Client, name: str) -> None:
    request = garden(3, 1, effort=2_000)
    request["places"]["origin"] = {"longitude": 8.0, "latitude": 47.0}
    request["fixtures"][0]["name"] = name
    reply = client.post(PATH, json=request, headers={"Accept": GEOJSON})
    assert reply.status_code == 200, reply.text
    assert of_role(json.loads(reply.content), "fixture")[0]["properties"]["name"] == name
