"""The replies of an operation, and the parameters with which it is asked."""

from collections import Counter
from collections.abc import Iterable, Sequence
from operator import itemgetter
from typing import Any, Final

from msgspec import json, to_builtins

from service.access.places import HEALTH, is_below, is_free
from service.document.examples import Executed
from service.document.operations import Operation
from service.document.schemas import REQUEST_ID_PATTERN, Schema, inline, reference, reference_to
from service.intake.query import read_query
from service.problems import PROBLEM_MEDIA_TYPE, ProblemKind, kind_of
from service.studies.catalogue import problem_kinds

_METHODS: Final = r"^[A-Z]+(, [A-Z]+)*$"


_DRAFT: Final = "draft-ietf-httpapi-ratelimit-headers-11"


HEADERS: Final[dict[str, Schema]] = {
    "Accept-Encoding": {
        "description": "The content codings in which a body is taken.",
        "schema": {"type": "string"},
        "example": "identity",
    },
    "Accept-Post": {
        "description": "The media types in which a body is taken.",
        "schema": {"type": "string"},
        "example": "application/json",
    },
    "Allow": {
        "description": "The methods that the path takes.",
        "required": True,
        "schema": {"type": "string", "pattern": _METHODS},
        "example": "GET, HEAD, OPTIONS",
    },
    "Cache-Control": {
        "description": "For how long the reply may be kept.",
        "required": True,
        "schema": {"type": "string"},
        "example": "public, max-age=300",
    },
    "ETag": {
        "description": "Names the very bytes of the reply; send it back as If-None-Match.",
        "required": True,
        "schema": {"type": "string", "pattern": '^"[0-9a-f]{32}(-gzip)?"$'},
        "example": '"5d41402abc4b2a76b9719d911017c592"',
    },
    "RateLimit": {
        "description": (
            "Where the operator set quotas: `r` units of work are left to the caller at the instance that"
            " answered, and after `t` seconds all of them or, of a refusal, enough for the same request"
            f" ({_DRAFT}, section 4)."
        ),
        "schema": {"type": "string", "pattern": '^"work";r=[0-9]+;t=[0-9]+$'},
        "example": '"work";r=1999816;t=1',
    },
    "RateLimit-Policy": {
        "description": (
            "Where the operator set quotas: `q` units of work, about 10 µs each, that one key or address may"
            f" ask of one instance in `w` seconds ({_DRAFT}, section 3, which has no unit for work)."
        ),
        "schema": {"type": "string", "pattern": '^"work";q=[0-9]+;w=60$'},
        "example": '"work";q=2000000;w=60',
    },
    "Retry-After": {
        "description": "How long to wait before the same request is sent again. [s]",
        "schema": {"type": "string", "pattern": "^[0-9]+$"},
        "example": "1",
    },
    "Vary": {
        "description": "The address answers in several forms; a cache keeps each for itself.",
        "required": True,
        "schema": {"type": "string"},
        "example": "Accept",
    },
    "WWW-Authenticate": {
        "description": "What to show instead (RFC 6750, section 3).",
        "required": True,
        "schema": {"type": "string", "pattern": "^Bearer "},
        "example": 'Bearer realm="lastlamp"',
    },
    "X-Request-ID": {
        "description": "The id of this request: the caller's own, or a new one. The log names it.",
        "required": True,
        "schema": {"type": "string", "pattern": REQUEST_ID_PATTERN},
        "example": "quote-4711",
    },
}
"""Response headers that are part of the contract."""


_REFUSED: Final[dict[int, tuple[str, ...]]] = {
    401: ("WWW-Authenticate",),
    405: ("Allow",),
    415: ("Accept-Encoding", "Accept-Post"),
    429: ("Retry-After",),
    503: ("Retry-After",),
}


_KEPT: Final = ("Cache-Control", "ETag")


_OF_QUOTAS: Final = ("RateLimit", "RateLimit-Policy")


_OUTSIDE_QUOTAS: Final = (401, 403, 405, 421)
"""Refused by the gate, before it is known whose quota it would be; or another method, which has none."""


def responses(operation: Operation, shown: Sequence[Executed]) -> dict[str, Schema]:
    """Describe every reply of an operation.

    Parameters
    ----------
    operation : Operation
        With the codes of its refusals.
    shown : sequence of Executed
        Its examples.

    Returns
    -------
    responses : dict of str to dict
        OpenAPI response objects by status, in ascending order.
    """
    quotas = _OF_QUOTAS if operation.request is not None else ()
    kept = (*quotas, *(_KEPT if operation.kept else ()), *(("Vary",) if operation.forms else ()))
    replies = {200: _response(operation.reply_words, kept) | _forms(operation, shown)}
    if operation.kept:
        replies[304] = _response("The client's copy is still good.", kept)
    for status, kinds in _refusals(operation).items():
        headers = (*_REFUSED.get(status, ()), *(() if status in _OUTSIDE_QUOTAS else quotas))
        replies[status] = _response(_words(kinds), headers) | _content(
            PROBLEM_MEDIA_TYPE, reference("Problem"), _examples(shown, status)
        )
    return {str(status): replies[status] for status in sorted(replies)}


_NAMES: Final[dict[int, str]] = {
    304: "NotModified",
    400: "BadRequest",
    401: "Unauthorized",
    403: "Forbidden",
    405: "MethodNotAllowed",
    406: "NotAcceptable",
    413: "ContentTooLarge",
    415: "UnsupportedMediaType",
    421: "MisdirectedRequest",
    422: "UnprocessableContent",
    429: "TooManyRequests",
    500: "InternalServerError",
    503: "ServiceUnavailable",
}
"""RFC 9110, section 15, and RFC 6585 for 429."""


def share(operations: Iterable[Schema]) -> dict[str, Schema]:
    """Put a reference in the place of each reply that several operations give in the same words.

    Parameters
    ----------
    operations : iterable of dict
        OpenAPI operation objects, whose replies are changed.

    Returns
    -------
    components : dict of str to dict
        The replies by their names, in alphabetical order. Of two with the same status that which a request
        with a body gets is named `OfCalculation`.
    """
    written = list(operations)
    times = Counter((status, json.encode(reply)) for each in written for status, reply in _shareable(each))
    elsewhere = {
        (status, json.encode(reply))
        for each in written
        if "requestBody" not in each
        for status, reply in _shareable(each)
    }
    several = [key for key, count in times.most_common() if count > 1]
    names: dict[tuple[str, bytes], str] = {}
    for key in several:
        alone = sum(status == key[0] for status, _ in several) == 1
        name = _NAMES[int(key[0])] + ("" if alone or key in elsewhere else "OfCalculation")
        if name not in names.values():
            names[key] = name
    for each in written:
        for status, reply in _shareable(each):
            if (name := names.get((status, json.encode(reply)), "")) != "":
                each["responses"][status] = {"$ref": f"#/components/responses/{name}"}
    return {name: json.decode(text) for (_, text), name in sorted(names.items(), key=itemgetter(1))}


def _shareable(operation: Schema) -> list[tuple[str, Schema]]:
    """Every reply but the answer itself."""
    return [(status, reply) for status, reply in operation["responses"].items() if status != "200"]


def _forms(operation: Operation, shown: Sequence[Executed]) -> Schema:
    """The 200 reply in every form in which it can be had."""
    json = _content("application/json", reference_to(operation.reply), _examples(shown, 200))
    for media_type, form in operation.forms.items():
        is_text = media_type.startswith("text/") or media_type.endswith("+xml")
        kind = {"type": "string"} if is_text else {"contentMediaType": media_type}
        kind = kind if form.message is None else reference_to(form.message)
        schema = {**kind, "description": form.words}
        json["content"] |= _content(media_type, schema, _examples(shown, 200, media_type))["content"]
    return json


def _refusals(operation: Operation) -> dict[int, list[ProblemKind]]:
    found: dict[int, list[ProblemKind]] = {}
    refusals = {kind_of(each).code for each in operation.refusals}
    for kind in problem_kinds().values():
        if kind.code in refusals:
            found.setdefault(kind.status, []).append(kind)
    return found


def _words(kinds: Sequence[ProblemKind]) -> str:
    if len(kinds) == 1:
        return f"`{kinds[0].code}`: {kinds[0].title}. {kinds[0].meaning} {kinds[0].remedy}"
    return "\n".join(f"- `{kind.code}`: {kind.title}. {kind.remedy}" for kind in kinds)


def _response(words: str, headers: Sequence[str]) -> Schema:
    names = sorted(("X-Request-ID", *headers))
    return {
        "description": words,
        "headers": {name: {"$ref": f"#/components/headers/{name}"} for name in names},
    }


def _content(media_type: str, schema: Schema, examples: Schema) -> Schema:
    return {"content": {media_type: {"schema": schema, **({"examples": examples} if examples else {})}}}


def _examples(shown: Sequence[Executed], status: int, media_type: str | None = None) -> Schema:
    """What was answered with a status, in one form; without one, in JSON."""
    return {
        each.example.name: {"summary": each.example.summary, "value": each.reply}
        for each in shown
        if each.example.status == status
        and (each.media_type == media_type if media_type else each.media_type.endswith("json"))
    }


PARAMETERS: Final[dict[str, Schema]] = {
    "If-None-Match": {
        "name": "If-None-Match",
        "in": "header",
        "required": False,
        "description": "The ETag of the copy that the client has (RFC 9110, section 13.1.2).",
        "schema": {"type": "string"},
        "example": '"5d41402abc4b2a76b9719d911017c592"',
    },
    "X-Request-ID": {
        "name": "X-Request-ID",
        "in": "header",
        "required": False,
        "description": (
            "The caller's own id for this request: 1 to 64 of `A-Z a-z 0-9 . _ -`. It comes back in the"
            " reply and stands in the log. Anything else is not refused but replaced by a new id."
        ),
        # No pattern: whatever stands here, the request is answered.
        "schema": {"type": "string"},
        "example": "quote-4711",
    },
}


def parameters(operation: Operation) -> list[Schema]:
    """Refer to the parameters that an operation reads."""
    names = ("If-None-Match", "X-Request-ID") if operation.kept else ("X-Request-ID",)
    return [*_query(operation), *({"$ref": f"#/components/parameters/{name}"} for name in names)]


def _query(operation: Operation) -> list[Schema]:
    """The parameters of the query, each with the value that it has in the first example."""
    if operation.query is None:
        return []
    _, components = json.schema_components([operation.query])
    written = components[operation.query.__name__]
    shown = _shown(operation)
    return [
        _parameter(name, schema, required=name in written["required"], example=shown.get(name))
        for name, schema in written["properties"].items()
    ]


def _shown(operation: Operation) -> dict[str, Any]:
    query = next(example.query for example in operation.examples if example.query)
    return dict(to_builtins(read_query(query.encode("ascii"), operation.query)))


def _parameter(name: str, schema: Schema, *, required: bool, example: object) -> Schema:
    """One parameter. A list of texts is the parameter repeated, a list of numbers has commas between."""
    plain = inline(schema)
    several = plain.get("type") == "array"
    style = {"style": "form", "explode": plain["items"]["type"] == "string"} if several else {}
    return {
        "name": name,
        "in": "query",
        "required": required,
        "description": plain.pop("description"),
        **style,
        "schema": plain,
        **({} if example is None else {"example": example}),
    }


SCHEMES: Final[dict[str, dict[str, str]]] = {
    "key": {
        "type": "http",
        "scheme": "bearer",
        "description": (
            "A key from the operator, where the service asks for one; an open one does not look at it. A key"
            " for pages works only from their origins, for the studies listed with it and for the catalogues."
        ),
    }
}


SECURITY: Final[list[dict[str, list[Any]]]] = [{}, {"key": []}]
"""Without a key or with one, as the operator decided. An operation that has no reply 401 never needs one."""


_HOST: Final = ("host-not-served",)


_KEY: Final = ("key-missing", "key-unknown", "origin-not-allowed", "study-not-allowed")


def gate_refusals(path: str) -> tuple[str, ...]:
    """Codes of the problems with which the gate may refuse a request to a path."""
    hosts = () if is_below(path, HEALTH) else _HOST
    return hosts if is_free(path) else (*_KEY, *hosts)
