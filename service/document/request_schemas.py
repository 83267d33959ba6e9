"""The schema of each request by itself, for editors and for checks of a file before it is sent."""

from collections.abc import Mapping
from typing import Any, Final

from service.document.schemas import REFERENCE, Schema, components
from service.http.batch import BATCH, batch_request
from service.http.openapi_document import SCHEMAS_AT
from service.studies import STUDIES

DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"


_COMPONENT: Final = REFERENCE.format(name="")


_DEFINITION: Final = "#/$defs/"


_OTHER_FORMAT: Final = ("discriminator", "x-enum-varnames")
"""Keywords that only an OpenAPI document knows; the first points into one."""


def request_kinds() -> Mapping[str, type]:
    """The struct of each request body, by the name of its study, the batch among them."""
    return {**{name: study.request for name, study in STUDIES.items()}, BATCH: batch_request()}


def request_schema(name: str) -> Schema:
    """Write the schema of one request with everything in it.

    Parameters
    ----------
    name : str
        A key of `request_kinds`.

    Returns
    -------
    schema : dict
        JSON Schema, draft 2020-12, which refers to nothing outside. Its `$id` is relative, because only its
        reader knows under which address this service stands.
    """
    kind = request_kinds()[name]
    named = {each: _by_itself(schema) for each, schema in components([kind]).items()}
    root = named.pop(kind.__name__)
    return {"$schema": DIALECT, "$id": f"{SCHEMAS_AT}/{name}.json", **root, "$defs": _met(root, named)}


def _by_itself(schema: Any) -> Any:  # noqa: ANN401  # any part of a schema
    """The same without what belongs to an OpenAPI document."""
    if isinstance(schema, dict):
        if isinstance(target := schema.get("$ref"), str):
            schema = {**schema, "$ref": target.replace(_COMPONENT, _DEFINITION)}
        left = _OTHER_FORMAT if {"oneOf", "enum"} & schema.keys() else ()
        return {key: _by_itself(value) for key, value in schema.items() if key not in left}
    return [_by_itself(each) for each in schema] if isinstance(schema, list) else schema


def _met(root: Schema, named: Mapping[str, Schema]) -> dict[str, Schema]:
    """Those definitions that one comes to from the root."""
    met: dict[str, Schema] = {}
    waiting = [root]
    while waiting:
        for name in _names_in(waiting.pop()) - met.keys():
            met[name] = named[name]
            waiting.append(named[name])
    return dict(sorted(met.items()))


def _names_in(schema: Any) -> set[str]:  # noqa: ANN401  # any part of a schema
    if isinstance(schema, dict):
        target = schema.get("$ref")
        own = {target.removeprefix(_DEFINITION)} if isinstance(target, str) else set()
        return own.union(*map(_names_in, schema.values()))
    return set().union(*map(_names_in, schema)) if isinstance(schema, list) else set()
