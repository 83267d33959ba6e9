"""`GET` catalogues: short lists that a client may keep."""

from functools import cache
from typing import Any

from litestar import Request, Response, get

from service.endpoints.kept import Kept, kept, kept_reply
from service.endpoints.posted import MAXIMUM_BODY
from service.intake.reading import DEEPEST
from service.messages.catalogues import ErrorCodeRow, ProblemCatalogue, ProblemRow
from service.problems import CATALOGUE, ERROR_CODES
from service.translate.catalogues import (
    assumption_catalogue,
    conductor_catalogue,
    finding_catalogue,
    limit_catalogue,
    source_catalogue,
    unit_catalogue,
)

AnyRequest = Request[Any, Any, Any]


@get("/v1/conductors", sync_to_thread=False)
def conductors(request: AnyRequest) -> Response[bytes]:
    """Every conductor that a request may name, with its resistance, its limits and their sources."""
    return kept_reply(request, _conductors())


@get("/v1/units", sync_to_thread=False)
def units(request: AnyRequest) -> Response[bytes]:
    """Every unit that a request may name, and the factor that brings it to the unit used inside."""
    return kept_reply(request, _units())


@get("/v1/sources", sync_to_thread=False)
def sources(request: AnyRequest) -> Response[bytes]:
    """Every source of the numbers in the tables, and how it is known."""
    return kept_reply(request, _sources())


@get("/v1/findings", sync_to_thread=False)
def findings(request: AnyRequest) -> Response[bytes]:
    """Every finding that an answer may carry, with its template."""
    return kept_reply(request, _findings())


@get("/v1/assumptions", sync_to_thread=False)
def assumptions(request: AnyRequest) -> Response[bytes]:
    """Every assumption that an answer may state, and the cautions that every answer carries."""
    return kept_reply(request, _assumptions())


@get("/v1/problems", sync_to_thread=False)
def problems(request: AnyRequest) -> Response[bytes]:
    """Every refusal, what it means and what to do."""
    return kept_reply(request, _problems())


@get("/v1/limits", sync_to_thread=False)
def limits(request: AnyRequest) -> Response[bytes]:
    """How much one request may ask for."""
    return kept_reply(request, _limits(request.app.state[MAXIMUM_BODY]))


@cache
def _conductors() -> Kept:
    return kept(conductor_catalogue())


@cache
def _units() -> Kept:
    return kept(unit_catalogue())


@cache
def _sources() -> Kept:
    return kept(source_catalogue())


@cache
def _findings() -> Kept:
    return kept(finding_catalogue())


@cache
def _assumptions() -> Kept:
    return kept(assumption_catalogue())


@cache
def _problems() -> Kept:
    kinds = [
        ProblemRow(kind.code, kind.type, kind.status, kind.title, kind.meaning, kind.remedy)
        for kind in CATALOGUE.values()
    ]
    return kept(ProblemCatalogue(kinds, [ErrorCodeRow(*item) for item in ERROR_CODES.items()]))


@cache
def _limits(maximum_body: int) -> Kept:
    return kept(limit_catalogue(maximum_body, DEEPEST))
