"""Requests to `POST /v1/transformer-loading`, written as short as an installer would say them."""

from typing import Any

from tests import jobs
from tests.client import Client
from tests.jobs import Json

PATH = "/v1/transformer-loading"

MAINS_120: Json = {"rated": jobs.volts(120), "actual": jobs.volts(120)}
OUTLET: Json = {"mains": {"kind": "named", "range": "outlet"}}
COLD_TO_HOT: Json = {"conductor_temperature_range": {
    "lowest": jobs.quantity(-10, "degC"), "highest": jobs.quantity(50, "degC")}}  # fmt: skip
FREE: Json = {"spare_percent": 0}

TWO_COMMONS: list[Json] = [{"name": "left"}, {"name": "right"}]
TWO_OF_25_A: list[Json] = [{**each, "limit": jobs.quantity(25, "A")} for each in TWO_COMMONS]


def unit(name: str, rating_va: float, *taps_v: float, **more: Any) -> Json:
    """One transformer of a stock, on 12 V unless said otherwise."""
    taps = [jobs.volts(tap_v) for tap_v in taps_v or (12.0,)]
    return {"id": name, "rating": jobs.quantity(rating_va, "VA"), "taps": taps, **more}


def as_stated(request: Json) -> Json:
    """A request that is judged in the state, or the corners, that it states and no others."""
    return {**request, "conditions": {"range": "as-stated", **request.get("conditions", {})}}


def ask(client: Client, request: Json) -> Json:
    return jobs.answer(client, as_stated(request), PATH)


def chosen_of(client: Client, request: Json) -> Json:
    """The recommended transformer of a request that must have one."""
    reply = ask(client, request)
    assert "recommended" in reply, reply["rejected"]
    found: Json = reply["recommended"]
    return found


def reasons(reply: Json) -> dict[str, list[str]]:
    """Codes of the reasons, by the id of the transformer that they reject."""
    return {row["id"]: [reason["code"] for reason in row["reasons"]] for row in reply["rejected"]}


def at_terminals(load: Json, supply: Json | None = None, **more: Any) -> Json:
    """One lamp where nothing is lost in cable."""
    return jobs.job(jobs.run(jobs.lamp(0, load)), supply=supply, **more)


def runs_of(*amps: float, **more: Any) -> Json:
    """Runs that draw so much each, wherever the voltage is. [A]"""
    return jobs.job(
        *[jobs.run(jobs.lamp(0, jobs.amperes(each, power_factor=1)), name=f"bed {each:g}") for each in amps],
        **more,
    )
