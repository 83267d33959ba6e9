"""Replies that no message struct describes yet."""

from __future__ import annotations

from typing import Annotated, Any

from msgspec import Meta, Struct

AnyObject = Annotated[dict[str, Any], Meta(extra_json_schema={"additionalProperties": True})]


class Health(Struct, frozen=True):
    """The state of the process."""

    status: Annotated[str, Meta(pattern=r"^[a-z]+(?![\s\S])", description="`live` or `ready`.")]
    version: Annotated[str, Meta(description="Version of the service.")]


class OpenApiDocument(Struct, frozen=True):
    """An OpenAPI document, as far as every client may count on it."""

    openapi: Annotated[str, Meta(pattern=r"^3\.1\.\d+(?![\s\S])", description="Version of the format.")]
    info: AnyObject
    paths: AnyObject
    components: AnyObject
