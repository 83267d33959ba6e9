"""Each case folder holds a request, what the reply must say, how exactly, and a README that argues it.

`reply.json` is a part of the reply: every member in it must be in the reply. Lists of the reply are picked by
index (``{"24": {...}}``), except findings and assumptions, which are listed: those listed must be there, and
no fault and no warning may be there that is not listed.
"""

import json
from collections.abc import Callable, Iterator
from inspect import isfunction, signature
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from tests.cases import (
    commissioning_sheet_derived,
    drop_chart_derived,
    gauge_recommendation_derived,
    readings_check_derived,
    transformer_loading_derived,
    voltage_drop_derived,
)
from tests.client import Client

HERE = Path(__file__).parent
STUDIES = {
    module.__name__.rpartition(".")[2].removesuffix("_derived"): module
    for module in (
        commissioning_sheet_derived,
        drop_chart_derived,
        gauge_recommendation_derived,
        readings_check_derived,
        transformer_loading_derived,
        voltage_drop_derived,
    )
}


def derivations(module: ModuleType) -> dict[str, Callable[[], dict[str, float]]]:
    """The functions of a module that want nothing: each derives what the case of its name expects."""
    return {
        name: made
        for name, made in vars(module).items()
        if isfunction(made) and made.__module__ == module.__name__
        if not name.startswith("_") and not signature(made).parameters
    }


CASES = {
    f"{study}/{name}": derived
    for study, module in STUDIES.items()
    for name, derived in derivations(module).items()
}
FOLDERS = sorted(
    f"{study}/{path.name}" for study in STUDIES for path in (HERE / study).iterdir() if path.is_dir()
)

ROUNDED = 5e-8
"""Derived values are written down to seven decimals."""


def read(case: str, name: str) -> Any:
    return json.loads((HERE / case / name).read_text(encoding="utf-8"))


def differences(expected: Any, found: Any, tolerance: dict[str, Any], at: str = "") -> Iterator[str]:
    """What the reply lacks or says otherwise."""
    if isinstance(expected, dict):
        for name, part in expected.items():
            there = found[int(name)] if isinstance(found, list) else found.get(name)
            if there is None:
                yield f"{at}/{name} is missing"
            else:
                unit = expected.get("unit") if name == "value" else None
                yield from differences(
                    part, there, tolerance, f"{at}/{name}" if not unit else f"{at} [{unit}]"
                )
    elif isinstance(expected, list):
        yield from list_differences(expected, found, tolerance, at)
    elif isinstance(expected, float) and not close(expected, found, at, tolerance):
        yield f"{at} is {found}, expected {expected}"
    elif not isinstance(expected, float) and expected != found:
        yield f"{at} is {found!r}, expected {expected!r}"


def list_differences(
    expected: list[Any], found: list[Any], tolerance: dict[str, Any], at: str
) -> Iterator[str]:
    """Parts that no entry of the list matches; and faults and warnings that were not expected."""
    graver = [entry for entry in found if entry.get("severity") in {"fault", "warning"}]
    if at == "/findings" and len(graver) > sum("severity" in part for part in expected):
        yield f"{at}: not all of {[(entry['code'], entry['subject']) for entry in graver]} were expected"
    if at == "/fixtures" and not expected and found:
        yield f"{at} is not empty"
    for part in expected:
        if all(list(differences(part, entry, tolerance)) for entry in found):
            yield f"{at} lacks {part}"


def close(expected: float, found: float, at: str, tolerance: dict[str, Any]) -> bool:
    """Whether two numbers agree as closely as the case argues."""
    if at.endswith("/exact"):
        return bool(expected * (1.0 - tolerance["share"]["within_ratio"]) <= found <= expected)
    if at.endswith("]"):
        unit = at.rpartition("[")[2][:-1]
        return abs(expected - found) <= (tolerance[unit]["within"] if unit in tolerance else 0.0)
    kind = "percent" if at.endswith("percent") else "ratio"
    return bool(abs(expected - found) <= tolerance[kind]["within"])


def numbers(tree: Any, at: str = "") -> Iterator[tuple[str, float]]:
    if isinstance(tree, dict):
        for name, part in tree.items():
            yield from numbers(part, f"{at}/{name}")
    elif isinstance(tree, list):
        for index, part in enumerate(tree):
            yield from numbers(part, f"{at}/{index}")
    elif isinstance(tree, float):
        yield at, tree


@pytest.mark.parametrize("case", FOLDERS)
def test_the_reply_says_what_the_case_expects(case: str, client: Client) -> None:
    path = "/v1/" + case.partition("/")[0].replace("_", "-")
    reply = client.post(path, json=read(case, "request.json"))
    assert reply.status_code == 200, reply.text
    assert not list(differences(read(case, "reply.json"), reply.json(), read(case, "tolerance.json")))


@pytest.mark.parametrize("case", FOLDERS)
def test_every_derived_value_stands_in_the_case(case: str) -> None:
    written = dict(numbers(read(case, "reply.json")))
    derived = CASES[case]()
    for pointer, value in derived.items():
        assert written[pointer] == pytest.approx(value, abs=ROUNDED), pointer
    # Whatever else is a number in the reply repeats the request: a place, a rated voltage, a device.
    asked = {value for _, value in numbers(float_leaves(read(case, "request.json")))}
    rest = {pointer: value for pointer, value in written.items() if pointer not in derived}
    assert set(rest.values()) <= asked | reached(read(case, "request.json")), rest


def float_leaves(tree: Any) -> Any:
    """The same tree with every number a float."""
    if isinstance(tree, dict):
        return {name: float_leaves(part) for name, part in tree.items()}
    if isinstance(tree, list):
        return [float_leaves(part) for part in tree]
    return float(tree) if isinstance(tree, int) and not isinstance(tree, bool) else tree


def reached(request: Any) -> set[float]:
    """Positions of the first and the last fixture of a line: read off, not computed by the service."""
    if "wiring" not in request:
        return set()
    wiring = request["wiring"]
    if wiring["form"] == "even":
        return {wiring["length"]["value"] / wiring["count"]}
    if wiring["form"] == "spans":
        return set()
    lines = [line for run in wiring["runs"] for line in run["fixtures"] if "spacing" in line]
    return {line["at"]["value"] + (line["count"] - 1.0) * line["spacing"]["value"] for line in lines}


@pytest.mark.parametrize("case", FOLDERS)
def test_every_case_argues_its_tolerance_and_its_value(case: str) -> None:
    argued = read(case, "tolerance.json")
    assert argued
    assert all(len(entry["because"]) > 20 for entry in argued.values())
    words = (HERE / case / "README.md").read_text(encoding="utf-8")
    assert all(
        part in words for part in ("**Computed here:**", "**Expected, and how:**", "**What differs:**")
    )


def test_every_derivation_has_a_folder_and_the_reverse() -> None:
    assert sorted(CASES) == FOLDERS
