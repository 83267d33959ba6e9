"""Writes the document from the routes of a running application."""

import asyncio
import json
from collections.abc import Iterable, Iterator, Mapping
from inspect import getdoc
from typing import Any, Final, NamedTuple, cast

from litestar import Litestar
from litestar.handlers import HTTPRouteHandler
from litestar.routes import HTTPRoute

from service import __version__
from service.document.examples import Executed, executed
from service.document.operations import Operation, descriptions
from service.document.request_schemas import request_kinds, request_schema
from service.document.responses import (
    HEADERS,
    PARAMETERS,
    SCHEMES,
    SECURITY,
    gate_refusals,
    parameters,
    responses,
    share,
)
from service.document.schemas import DocumentError, Schema, components, reference_to
from service.findings.cautions import CAUTIONS
from service.observability.middleware import Middleware
from service.problems import Problem
from service.studies.description import SUPPORT

OPENAPI_VERSION: Final = "3.1.1"


class Route(NamedTuple):
    """One method at one path."""

    path: str
    method: str
    handler: HTTPRouteHandler

    @property
    def name(self) -> str:
        """The name of the function that answers, which is the operation's id."""
        return self.handler.fn.__name__


class Document:
    """The document of one application, written when it is first asked for: by a server, before it listens.

    Parameters
    ----------
    framework : Litestar
        The application.
    contact : str, optional
        An e-mail address or a URL of the operator.
    """

    def __init__(self, framework: Litestar, contact: str = "") -> None:
        self._framework = framework
        self._contact = contact
        self._text: bytes | None = None
        self._schemas: dict[str, bytes] = {}

    async def text(self) -> bytes:
        """Return the document as JSON, UTF-8.

        Raises
        ------
        DocumentError
            The application and what is said about it do not agree.
        """
        if self._text is None:
            document = await written(self._framework)
            if self._contact:
                document["info"]["contact"] = {
                    "email" if "://" not in self._contact else "url": self._contact
                }
            self._text = _text_of(document)
        return self._text

    def schema(self, name: str) -> bytes | None:
        """Return the JSON Schema of the request of a study, UTF-8; None where there is no such study."""
        if name not in self._schemas:
            if name not in request_kinds():
                return None
            self._schemas[name] = _text_of(request_schema(name))
        return self._schemas[name]


def _text_of(document: Schema) -> bytes:
    return (json.dumps(document, indent=2, ensure_ascii=False) + "\n").encode("utf-8")


def document_bytes(app: Middleware) -> bytes:
    """Write the document of the application as it is served.

    Parameters
    ----------
    app : Envelope
        What a server runs.

    Returns
    -------
    document : bytes
        JSON, indented by two, with a newline at its end; the same bytes for the same code.
    """
    return asyncio.run(Document(cast("Litestar", app.application)).text())


def routes(framework: Litestar) -> Iterator[Route]:
    """Walk the routes of an application, without its pages and the OPTIONS that the framework adds."""
    for route in framework.routes:
        if isinstance(route, HTTPRoute):
            for handler in route.route_handlers:
                if not handler.resolve_include_in_schema():
                    continue
                for method in sorted(handler.http_methods - {"OPTIONS"}):
                    yield Route(route.path_format, str(method), handler)


async def written(framework: Litestar) -> Schema:
    """Write the document as a JSON value."""
    paths: dict[str, Schema] = {}
    described = descriptions()
    found = sorted(routes(framework), key=lambda route: (route.path, route.method))
    for route in found:
        operation = _described(described, route)
        paths.setdefault(route.path, {})[route.method.lower()] = await _operation(framework, route, operation)
    shared = share(operation for item in paths.values() for operation in item.values())
    return {
        "openapi": OPENAPI_VERSION,
        "info": {
            "title": TITLE,
            "summary": SUMMARY,
            "description": description(),
            "version": __version__,
        },
        "servers": [{"url": "/", "description": "Wherever the service runs."}],
        "security": SECURITY,
        "tags": list(TAGS),
        "paths": paths,
        "components": {
            "schemas": components(_kinds(described[route.name] for route in found)),
            "responses": shared,
            "parameters": PARAMETERS,
            "headers": HEADERS,
            "securitySchemes": SCHEMES,
        },
    }


def _kinds(found: Iterable[Operation]) -> list[Any]:
    """Every message that the operations name, and the problem with which any of them may refuse."""
    kinds = [
        kind
        for operation in found
        for kind in (
            operation.request,
            operation.reply,
            *(form.message for form in operation.forms.values()),
        )
    ]
    return [kind for kind in dict.fromkeys([*kinds, Problem]) if kind is not None]


def _described(described: Mapping[str, Operation], route: Route) -> Operation:
    if route.name not in described:
        detail = f"{route.method} {route.path} is not described. Add {route.name} to what is no calculation."
        raise DocumentError(detail)
    return described[route.name]


async def _operation(framework: Litestar, route: Route, operation: Operation) -> Schema:
    operation = operation._replace(refusals=(*operation.refusals, *gate_refusals(route.path)))
    shown = [await executed(framework, route.method, route.path, example) for example in operation.examples]
    return {
        "operationId": route.name,
        **({"deprecated": True} if operation.retirement is not None else {}),
        "summary": operation.summary,
        "description": _description(route.handler, operation),
        "tags": [operation.tag],
        "parameters": parameters(operation),
        **_body(operation, shown),
        "responses": responses(operation, shown),
    }


def _description(handler: HTTPRouteHandler, operation: Operation) -> str:
    """The handler's docstring up to its first section, and what is added to it."""
    words = (getdoc(handler.fn) or "").partition("\n\n")[0].replace("\n", " ")
    return "\n\n".join(filter(None, (words, _retirement(operation), operation.more)))


def _retirement(operation: Operation) -> str:
    """Since when it is marked as one that is to go, and until when it is answered."""
    if operation.retirement is None:
        return ""
    since, until = operation.retirement.deprecated, operation.retirement.sunset
    return (
        f"Deprecated since {since.isoformat()}: ask `{operation.retirement.instead}` instead."
        f" It is answered until {until.isoformat()}."
    )


def _body(operation: Operation, shown: list[Executed]) -> Schema:
    if operation.request is None:
        return {}
    examples = {
        each.example.name: {"summary": each.example.summary, "value": each.request}
        for each in shown
        if each.is_request
    }
    content = {"application/json": {"schema": reference_to(operation.request), "examples": examples}}
    return {"requestBody": {"required": True, "content": content}}


TITLE: Final = "Lastlamp"


SUMMARY: Final = (
    "Voltage drop, transformer loading and gauge recommendation for 12, 15 and 24 V outdoor lighting."
)


_RULES: Final = """\
What does the last lamp on the run get? This service answers it, and what follows from it.

## Cautions

{cautions}

Left out: electronic transformers that work at 35-40 kHz, pulse-width dimming, paralleled secondaries and
leakage reactance.

## What a client may count on

- `/schemas/voltage-drop.json`, and so for each study and `batch`, is the JSON Schema (draft 2020-12) of its
  request, which refers to nothing outside: an editor completes and checks a job with it.
- Every length is one way along the route; the service counts both conductors.
- A quantity is an object with `value` and `unit` and nothing else. Nothing is guessed: `"12"` is not 12.
- Requests refuse members that are not listed. An optional member is left out, never null.
- Replies are open: new members, findings and codes may appear. A new `status` would be a breaking change.
- `code`, `pointer` and `parameters` are for programs. `message`, `title` and `detail` are English words for
  people; all but `title` may change.
- Calculations are pure: the same bytes get the same bytes back, and a POST may be repeated safely.
- What is to go is marked `deprecated` here, and its replies say since when and until when: `Deprecation` (RFC
  9745), `Sunset` (RFC 8594), `Link` to its page and to what takes its place. From the one to the other are
  {support} days at least, in which it is answered as ever. Of versions of the service the newest is mended,
  and no other.
- A refusal is a problem (RFC 9457, `application/problem+json`) that lists every place to change at once.
- Every reply carries `X-Request-ID`. What answers GET also answers HEAD; OPTIONS is answered everywhere.
- Where the operator gives out keys, what lies under `/v1` wants one: `Authorization: Bearer <key>` (401). A
  page has a key for pages, which is no secret: it works from the page's origin alone (403).
- A request whose head is too large is answered 431 and one that is too slow 408, before any operation.
"""


def description() -> str:
    """The cautions first, then the rules that hold everywhere; CommonMark."""
    cautions = "\n".join(f"- {caution}" for caution in CAUTIONS.values())
    return _RULES.format(cautions=cautions, support=SUPPORT.days)


TAGS: Final = (
    {"name": "calculations", "description": "A job in, an answer out. Nothing is kept."},
    {"name": "catalogues", "description": "What a request may name. Short lists that a client may keep."},
    {"name": "contract", "description": "What this service takes and gives."},
    {"name": "health", "description": "For those who run it."},
)
