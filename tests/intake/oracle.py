"""The published schemas, read by a validator that is not ours, beside the door for requests.

``python -m tests.intake.oracle COUNT [SEED]`` prints every difference among so many changed examples.
"""

import copy
import json
import math
import random
import sys
from collections import Counter
from collections.abc import Callable, Iterator
from typing import Any, Final, NamedTuple

from jsonschema_rs import Draft202012Validator

from service import intake
from service.document.operations import descriptions
from service.intake.pointer import LONGEST_NAME, MOST_ERRORS
from service.problems import ErrorItem, Refused
from tests.gate.released import COMMITTED, read

DOCUMENT: Final = read(COMMITTED)

TEXTS: Final = (
    "", " ", "m", "ft", "V", "kW", "VA", "kVA", "12 awg", "12 AWG ", "copper", "Copper", "AC", "runs",
    "x" * 64, "x" * 65, "e\u0301" * 32, "e\u0301" * 33, "\U0001f4a1" * 64, "\U0001f4a1" * 65,
    "a\n", "\u202egnp", "\u0000", "\u2028", "/wiring\n", "/a b",
    "12.50\n", "1.5", "USD\n", "usd", "\u0661", "true", "null", "12",
)  # fmt: skip
NUMBERS: Final = (
    0, -0.0, 1, 1.0, 5.0, 2.5, -1, 0.1, 3, 12, 13, 15.0, 24, 5e-324, -5e-324, 1e-307, 1e308, 1e15,
    2**53 + 1, 2**63, 2**64, 10**30, 100, 1_000, 100_000, 0.06, 20, 2_000, 2_001,
    0.30000000000000004, 1e-9, 15.000000000000002,
)  # fmt: skip
VALUES: Final[tuple[Any, ...]] = (
    None,
    True,
    False,
    [],
    {},
    [[]],
    [None],
    {"value": 1},
    {"value": 1, "unit": "m"},
    {"kind": "listed"},
)


class Study(NamedTuple):
    """One calculation: its schema, its message and its examples."""

    path: str
    kind: Any
    validator: Draft202012Validator
    examples: list[Any]


def studies() -> list[Study]:
    """Every calculation that takes a body of its own; a batch takes those of the others."""
    found = []
    for path, item in DOCUMENT["paths"].items():
        post = item.get("post")
        if post is None or "requestBody" not in post or path == "/v1/batch":
            continue
        media = post["requestBody"]["content"]["application/json"]
        schema = {**media["schema"], "components": DOCUMENT["components"]}
        kind = descriptions()[post["operationId"]].request
        examples = [
            example["value"] for example in media["examples"].values() if isinstance(example["value"], dict)
        ]
        found.append(Study(path, kind, Draft202012Validator(schema), examples))
    return found


class Place(NamedTuple):
    """A member or an item of a request."""

    holder: Any
    key: Any


def places(value: Any) -> Iterator[Place]:
    pairs = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, part in list(pairs):
        yield Place(value, key)
        yield from places(part)


Change = Callable[[random.Random, Place, list[Place]], None]


def _other_value(pick: random.Random, place: Place, _: list[Place]) -> None:
    place.holder[place.key] = copy.deepcopy(pick.choice(pick.choice((TEXTS, NUMBERS, VALUES))))


def _other_number(pick: random.Random, place: Place, _: list[Place]) -> None:
    value = place.holder[place.key]
    if isinstance(value, int | float) and not isinstance(value, bool):
        choices = [
            math.nextafter(value, math.inf),
            math.nextafter(value, -math.inf),
            float(value),
            -value,
            value * 1e3,
            value * 1e-3,
            value * 1e6,
            value + 0.5,
        ]
        place.holder[place.key] = pick.choice([*choices, *BOUNDS, *NUMBERS])


def _other_text(pick: random.Random, place: Place, _: list[Place]) -> None:
    if isinstance(place.holder[place.key], str):
        text = place.holder[place.key]
        place.holder[place.key] = pick.choice(
            [text + " ", text.upper(), text[:-1], text + "\n", text * 40, *TEXTS, *NAMES]
        )


def _without(_: random.Random, place: Place, __: list[Place]) -> None:
    del place.holder[place.key]


def _with_more(pick: random.Random, place: Place, _: list[Place]) -> None:
    if isinstance(place.holder, dict):
        name = pick.choice(
            [
                "extra",
                str(place.key) + "s",
                str(place.key).upper(),
                "a/b~c",
                "\u202e",
                "",
                "unit",
                "value",
                "id",
                "kind",
            ]
        )
        place.holder[name] = copy.deepcopy(pick.choice((*VALUES, *NUMBERS)))
    else:
        place.holder.extend(copy.deepcopy([place.holder[place.key]] * pick.choice([1, 3, 50, 220])))


def _exchanged(pick: random.Random, place: Place, others: list[Place]) -> None:
    other = pick.choice(others)
    place.holder[place.key] = copy.deepcopy(other.holder[other.key])


CHANGES: Final[tuple[Change, ...]] = (
    _other_value, _other_number, _other_number, _other_text, _without, _with_more, _exchanged,
)  # fmt: skip


def _constants(value: Any, names: tuple[str, ...]) -> Iterator[Any]:
    if isinstance(value, dict):
        for name, part in value.items():
            if name in names and not isinstance(part, dict):
                yield from part if isinstance(part, list) else [part]
            yield from _constants(part, names)
    elif isinstance(value, list):
        for part in value:
            yield from _constants(part, names)


_SCHEMAS: Final = DOCUMENT["components"]["schemas"]
BOUNDS: Final = sorted(
    {
        beside
        for bound in _constants(_SCHEMAS, ("minimum", "maximum"))
        for beside in (bound, math.nextafter(bound, math.inf), math.nextafter(bound, -math.inf))
    }
)
NAMES: Final = sorted({name for name in _constants(_SCHEMAS, ("enum", "const")) if isinstance(name, str)})


def changed(pick: random.Random, example: Any) -> Any:
    """An example with one to three changes."""
    request = copy.deepcopy(example)
    for _ in range(pick.choice([1, 1, 1, 2, 3])):
        found = list(places(request))
        if found:
            pick.choice(CHANGES)(pick, pick.choice(found), found)
    return request


def pointer_of(path: list[str | int]) -> str:
    return "".join(f"/{str(step).replace('~', '~0').replace('/', '~1')}" for step in path)


def published_places(study: Study, request: Any) -> set[str]:
    """Where the validator finds something, as JSON Pointers that point as ours do.

    To a missing or unknown member itself, where the validator points to its object; of a choice to the tag
    where no option has it, else to what is wrong with the option that has it.
    """
    return {place for error in study.validator.iter_errors(request) for place in _places(error)}


def _places(error: Any) -> set[str]:
    kind, path = error.kind, list(error.instance_path)
    if kind.name == "required":
        return {pointer_of([*path, kind.property])}
    if kind.name == "additionalProperties":
        # A name longer than any in a contract is not repeated in a pointer.
        return {
            pointer_of([*path, *([name] if len(name) <= LONGEST_NAME else [])]) for name in kind.unexpected
        }
    if kind.name in ("oneOf", "oneOfNotValid"):
        return _of_choice(kind.context, path)
    return {pointer_of(path)}


def _of_choice(options: list[list[Any]], path: list[str | int]) -> set[str]:
    if all(
        any(error.kind.name == "type" and list(error.instance_path) == path for error in option)
        for option in options
    ):
        return {pointer_of(path)}
    wrong = [{_tag(error, path) for error in option} - {None} for option in options]
    for option, tags in zip(options, wrong, strict=True):
        if not tags:
            return {place for error in option for place in _places(error)}
    (tag,) = set.intersection(*wrong)
    return {pointer_of([*path, tag])}


def _tag(error: Any, path: list[str | int]) -> Any:
    """The tag of which an error says that this option has another, or that it is missing."""
    found = list(error.instance_path)
    if error.kind.name == "const" and found[:-1] == path and found[-1] in TAGS:
        return found[-1]
    if error.kind.name == "required" and found == path and error.kind.property in TAGS:
        return error.kind.property
    return None


TAGS: Final = set(_constants(_SCHEMAS, ("propertyName",)))


def refused_places(study: Study, request: Any) -> list[ErrorItem]:
    """What our own door finds; nothing where the request is taken."""
    try:
        intake.decode(json.dumps(request).encode(), study.kind)
    except Refused as refused:
        return list(refused.errors)
    return []


class Difference(NamedTuple):
    """A request about which the two do not agree."""

    path: str
    request: Any
    ours: list[str]
    published: list[str]


def difference(study: Study, request: Any) -> Difference | None:
    """Compare the two: refused alike and at the same places; of a list that is cut, at places among them."""
    errors = refused_places(study, request)
    ours = {error.pointer for error in errors[:MOST_ERRORS]}
    published = published_places(study, request)
    # Items so far beyond the length of a list that they could not be listed are not looked at.
    cut = len(errors) > MOST_ERRORS or any(error.code == "too-many" for error in errors)
    same = ours <= published and bool(ours) == bool(published) if cut else ours == published
    return (
        None if same else Difference(study.path, request, sorted(ours - published), sorted(published - ours))
    )


class Tried(NamedTuple):
    """What came of a number of requests."""

    differences: list[Difference]
    taken: int
    refused: int


def tried(count: int, seed: int) -> Tried:
    """Try so many changed examples, of each study in turn."""
    pick = random.Random(seed)  # nothing is kept secret
    every = studies()
    found, counted = [], Counter[bool]()
    for number in range(count):
        study = every[number % len(every)]
        request = changed(pick, pick.choice(study.examples))
        counted[bool(refused_places(study, request))] += 1
        if (each := difference(study, request)) is not None:
            found.append(each)
    return Tried(found, counted[False], counted[True])


def main(arguments: list[str]) -> int:
    """Try, print what differs, and return the exit code."""
    count, seed = int(arguments[0]), int(arguments[1]) if len(arguments) > 1 else 0
    result = tried(count, seed)
    for each in result.differences[:20]:
        sys.stdout.write(f"{each.path}\n  only ours: {each.ours}\n  only published: {each.published}\n")
        sys.stdout.write(f"  {json.dumps(each.request)[:2000]}\n")
    found = f"{result.taken} taken, {result.refused} refused, {len(result.differences)} differ"
    sys.stdout.write(f"{count} requests: {found}\n")
    return 1 if result.differences else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
