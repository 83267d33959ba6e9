"""The house rules of the document, each a walk over its mistakes; Spectral has them in ``openapi/lint``."""

import re
from collections.abc import Iterator
from typing import Any, Final

from tests.document.reading import followed

WORDS: Final = {
    "coordinates": "degrees of longitude and latitude, as RFC 7946 has them",
    "counts": "digits of a meter's last place",
    "exact": "the factor by which all loads could grow, found",
    "factor": "a factor",
    "kelvin": "the name carries the unit: a temperature coefficient",
    "latitude": "degrees of WGS 84",
    "least": "the factor by which all loads could grow, at least",
    "longitude": "degrees of WGS 84",
    "offset": "how units are converted; it has no unit that could be named",
    "percent": "a share of a hundred",
    "probability": "a share of one",
    "ratio": "a share of one",
    "residual": "in standard deviations where it is normalised; any other stands beside its unit",
    "scale": "how units are converted; it has no unit that could be named",
    "seconds": "the name carries the unit: a promise to clients, not a part of a circuit",
    "share": "a share of one",
    "square": "chi-square: squares of standard deviations",
    "statistic": "the same, in the test that is named after it",
}
"""Last words of the names under which a number may stand without a unit, each with the reason."""

METHODS: Final = ("get", "put", "post", "delete", "patch", "head", "options", "trace")
PROBLEM: Final = {"schema": {"$ref": "#/components/schemas/Problem"}}


def bare_numbers(document: Any) -> Iterator[str]:
    """Find numbers that neither stand beside a unit nor say by their name what they are.

    An integer counts something, since nothing that is measured is one; but what is a quantity in one place is
    a quantity everywhere.
    """
    quantities = set(quantity_names(document))
    for title, schema in document["components"]["schemas"].items():
        for place, name, number in numbers(schema, title, title):
            words = {name, name.rpartition("_")[2]}
            counts = number["type"] == "integer" and not words & quantities
            if not counts and not words & WORDS.keys():
                yield f"{place} is a number without a unit."


def numbers(schema: Any, place: str, name: str) -> Iterator[tuple[str, str, Any]]:
    """Walk the numbers of a schema that are not the value of a quantity."""
    if schema.get("type") in ("number", "integer"):
        yield place, name, schema
    members = schema.get("properties", {})
    for member, below in members.items():
        if member != "value" or "unit" not in members:
            yield from numbers(below, f"{place}.{member}", member)
    if "items" in schema:
        yield from numbers(schema["items"], place, name)


def quantity_names(document: Any) -> Iterator[str]:
    """Names of members that are a value with its unit, or a choice among such."""
    schemas = document["components"]["schemas"]
    for schema in schemas.values():
        for name, member in schema.get("properties", {}).items():
            if is_quantity(schemas, member):
                yield name


def is_quantity(schemas: Any, member: Any) -> bool:
    schema = schemas[member["$ref"].rpartition("/")[2]] if "$ref" in member else member
    if "oneOf" in schema:
        return all(is_quantity(schemas, choice) for choice in schema["oneOf"])
    return {"value", "unit"} <= set(schema.get("properties", ()))


def unproblematic_refusals(document: Any) -> Iterator[str]:
    """Find refusals that are anything else than a problem."""
    for name, operation in operations(document):
        for status, reply in operation["responses"].items():
            content = {kind: media.get("schema") for kind, media in reply.get("content", {}).items()}
            if status[0] in "45" and content != {"application/problem+json": PROBLEM["schema"]}:
                yield f"{name} {status} is not application/problem+json."


def unfinished_operations(document: Any) -> Iterator[str]:
    """Find operations without a summary, a name, exactly one known tag, or something to show."""
    tags = {tag["name"] for tag in document["tags"]}
    for name, operation in operations(document):
        if not operation.get("summary"):
            yield f"{name} has no summary."
        if not re.fullmatch(r"[a-z]+(_[a-z0-9]+)*", operation.get("operationId", "")):
            yield f"{name} has no operationId in snake_case."
        if len(operation.get("tags", ())) != 1 or not tags.issuperset(operation["tags"]):
            yield f"{name} has not exactly one tag of those that the document explains."
        if "requestBody" in operation and not shows(operation["requestBody"]):
            yield f"{name} shows no request."
        if not any(map(shows, operation["responses"].values())):
            yield f"{name} shows no reply."


def shows(body: Any) -> bool:
    return any(media.get("examples") for media in body.get("content", {}).values())


def operations(document: Any) -> Iterator[tuple[str, Any]]:
    for path, item in document["paths"].items():
        for method in METHODS:
            if method in item:
                replies = {
                    status: followed(document, reply) for status, reply in item[method]["responses"].items()
                }
                yield f"{method.upper()} {path}", {**item[method], "responses": replies}
