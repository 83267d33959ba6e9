"""Ways through an OpenAPI document that several checks take."""

from collections.abc import Iterator
from typing import Any, NamedTuple

METHODS = {"get", "put", "post", "delete", "options", "head", "patch", "trace"}


class Found(NamedTuple):
    """One operation of the document."""

    path: str
    method: str
    operation: Any

    @property
    def label(self) -> str:
        return f"{self.method.upper()} {self.path}"


class Shown(NamedTuple):
    """One example of the document: where it stands, what it is, and the schema of its kind."""

    label: str
    name: str
    status: int | None
    value: Any
    schema: Any


def operations(document: Any) -> Iterator[Found]:
    """Walk the operations, each with its replies where the document refers to them."""
    for path, item in document["paths"].items():
        for method in item.keys() & METHODS:
            replies = {
                status: followed(document, reply) for status, reply in item[method]["responses"].items()
            }
            yield Found(path, method, {**item[method], "responses": replies})


def followed(document: Any, node: Any) -> Any:
    """What a reference refers to; anything else is itself."""
    return resolve(document, node["$ref"]) if "$ref" in node else node


def examples(document: Any) -> Iterator[Shown]:
    """Walk request examples, whose status is None, and reply examples."""
    for path, method, operation in operations(document):
        label = f"{method.upper()} {path}"
        bodies: list[tuple[int | None, Any]] = [(None, operation.get("requestBody", {}))]
        bodies += [(int(status), response) for status, response in operation["responses"].items()]
        for status, body in bodies:
            for media in body.get("content", {}).values():
                for name, example in media.get("examples", {}).items():
                    yield Shown(label, name, status, example["value"], media["schema"])


def objects(node: Any) -> Iterator[Any]:
    """Walk every JSON object of a value."""
    if isinstance(node, dict):
        yield node
    for child in node.values() if isinstance(node, dict) else node if isinstance(node, list) else ():
        yield from objects(child)


def resolve(document: Any, reference: str) -> Any:
    """Follow a reference within the document (RFC 6901 in a URI fragment)."""
    assert reference.startswith("#/")
    place = document
    for token in reference[2:].split("/"):
        place = place[token.replace("~1", "/").replace("~0", "~")]
    return place


def reached(document: Any, schema: Any) -> dict[str, Any]:
    """Find the component schemas that a schema is made of, by name."""
    found: dict[str, Any] = {}
    waiting = [schema]
    while waiting:
        for node in objects(waiting.pop()):
            reference = node.get("$ref")
            if isinstance(reference, str) and reference not in found:
                found[reference] = resolve(document, reference)
                waiting.append(found[reference])
    return {reference.rpartition("/")[2]: component for reference, component in found.items()}


def request_schemas(document: Any) -> dict[str, Any]:
    bodies = [
        found.operation["requestBody"] for found in operations(document) if "requestBody" in found.operation
    ]
    return reached(document, bodies)


POSTED_AGAIN = {"wiring", "judged_conditions"}
"""Members of replies that are made to be posted again."""


def reply_schemas(document: Any) -> dict[str, Any]:
    """Find what replies are made of, but for what is made to be posted again."""
    replies = [found.operation["responses"] for found in operations(document)]
    return reached(without_postable(document), without_postable(replies))


POSTED = tuple(
    f"#/components/schemas/{name}" for name in ("Supply", "VoltageDropRequest", "QuoteAlternative")
)
"""What a remedy changes, and the bodies of a layout, are posted again, whatever a reply calls them."""


def without_postable(node: Any) -> Any:
    """Take what is made to be posted again out of every list of properties."""
    if isinstance(node, list):
        return [without_postable(child) for child in node]
    if not isinstance(node, dict):
        return node
    return {
        name: {
            key: value
            for key, value in without_postable(child).items()
            if key not in POSTED_AGAIN and value.get("$ref") not in POSTED
        }
        # A GeoJSON feature has a member of that name, whose schema is a reference.
        if name == "properties" and "$ref" not in child
        else without_postable(child)
        for name, child in node.items()
    }
