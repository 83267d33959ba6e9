"""A wiring as it had to be written before it could state anything once for many, and how long that is."""

from collections.abc import Iterator
from typing import Any

from tests.jobs import Json


def members(value: Any) -> int:
    """How many members a JSON value has, at every depth."""
    if isinstance(value, dict):
        return len(value) + sum(map(members, value.values()))
    return sum(map(members, value)) if isinstance(value, list) else 0


def written_out(wiring: Json) -> Json:
    """With its cable at every run and branch, and its load at every fixture line."""
    return {"form": wiring["form"], "runs": [_whole(run, wiring) for run in wiring["runs"]]}


def written_out_in_rows(wiring: Json) -> Json:
    """The same with a row for each fixture."""
    whole = written_out(wiring)
    for run in whole["runs"]:
        for part in (run, *run.get("branches", ())):
            part["fixtures"] = [row for line in part["fixtures"] for row in _rows(line)]
    return whole


def _whole(run: Json, wiring: Json) -> Json:
    branches = [_whole(branch, wiring) for branch in run.get("branches", ())]
    return {
        "cable": wiring["cable"],
        **run,
        "fixtures": [_with_type(line, wiring) for line in run["fixtures"]],
        **({"branches": branches} if branches else {}),
    }


def _with_type(line: Json, wiring: Json) -> Json:
    [kind] = [each for each in wiring["fixture_types"] if each["id"] == line["type"]]
    own = {name: value for name, value in line.items() if name != "type"}
    # Nothing was sold then, so that nothing named the row of a catalogue.
    return {"name": kind["id"], **{name: kind[name] for name in kind.keys() - {"id", "item"}}, **own}


def _rows(line: Json) -> Iterator[Json]:
    own = {name: value for name, value in line.items() if name not in ("count", "spacing")}
    for number in range(line["count"]):
        place = line["at"]["value"] + number * line["spacing"]["value"]
        yield {**own, "name": f"{line['name']} {number + 1}", "at": {**line["at"], "value": place}}
