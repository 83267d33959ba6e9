"""The catalogues: what each lists, and the routes at which it is asked for."""

from __future__ import annotations

from functools import cache
from itertools import product
from typing import Annotated

from litestar import Response, get
from msgspec import UNSET, Meta, Struct, UnsetType

from service import tables
from service.circuit.job import MAXIMUM_LOOPS, MAXIMUM_POINTS
from service.circuit.most import MAXIMUM_REQUEST_WORK
from service.circuit.work import MAXIMUM_WORK
from service.findings.cautions import CAUTIONS, READING_CAUTIONS
from service.http.batch import MAXIMUM_ITEMS
from service.http.replies import MAXIMUM_BODY, AnyRequest, Tagged, kept, kept_reply
from service.intake.json_text import DEEPEST
from service.studies import STUDIES
from service.studies.catalogue import assumption_kinds, error_kinds, finding_kinds, problem_kinds
from service.units import UNITS
from service.wire.reply import Code


class ListedResistance(Struct, frozen=True):
    """The resistance per length of ONE conductor, at the temperature beside it."""

    value: float
    unit: Annotated[str, Meta(pattern=r"^ohm/[a-z]+(?![\s\S])")]


class ListedTemperature(Struct, frozen=True):
    """The temperature at which a resistance is stated."""

    value: float
    unit: Annotated[str, Meta(pattern=r"^deg[CF](?![\s\S])")]


class ListedSection(Struct, frozen=True):
    """A cross-section of ONE conductor."""

    value: float
    unit: Annotated[str, Meta(pattern=r"^mm2(?![\s\S])")]


class ListedAmpacity(Struct, frozen=True):
    """The current that a conductor carries for good, how it is laid for that, and where both come from."""

    value: float
    unit: Annotated[str, Meta(pattern=r"^A(?![\s\S])")]
    installation_method: Annotated[str, Meta(description="Laid otherwise it carries another current.")]
    source: str


class ListedLimit(Struct, frozen=True):
    """A limit of a conductor and where it comes from."""

    value: float
    unit: Annotated[str, Meta(pattern=r"^A(?![\s\S])")]
    source: str


class UnitRow(Struct, frozen=True):
    """One unit: a value in it times `scale` plus `offset` is the value in `inside_unit`."""

    dimension: str
    unit: str
    inside_unit: str
    scale: float
    offset: float


class ProblemRow(Struct, frozen=True):
    """One kind of refusal."""

    code: Code
    type: Annotated[str, Meta(description="Path at which the service explains it.")]
    status: Annotated[int, Meta(ge=400, le=599, description="HTTP status.")]
    title: str
    meaning: str
    remedy: str


class ErrorCodeRow(Struct, frozen=True):
    """One kind of mistake inside a refusal."""

    code: Code
    meaning: str


class FindingKind(Struct, frozen=True):
    """One kind of finding; the template shows where its parameters stand."""

    code: Code
    severities: list[str]
    meaning: str
    template: str


class CodeRow(Struct, frozen=True):
    """A code and its words."""

    code: Code
    message: str


class SourceRow(Struct, frozen=True):
    """One source of numbers, and how it is known: seen, memory or trade-practice."""

    id: str
    title: str
    edition: str
    publisher: str
    clause: str
    known: str
    note: str


class LimitCatalogue(Struct, frozen=True):
    """How much one request may ask for."""

    maximum_body_bytes: Annotated[int, Meta(ge=1, description="Largest request body in bytes.")]
    maximum_nesting: Annotated[int, Meta(ge=1, description="Objects and lists inside one another.")]
    maximum_points: Annotated[int, Meta(ge=1, description="Points of one job, once expanded.")]
    maximum_loops: Annotated[int, Meta(ge=1, description="Independent loops of one job.")]
    maximum_work: Annotated[
        int,
        Meta(
            ge=1,
            description="Work of one search among cables or transformers: points of each state solved, and 10"
            " for each. Of one chart: 2 for each cell.",
        ),
    ]
    maximum_request_work: Annotated[
        int,
        Meta(ge=1, description="Work of one request in all, told and judged, every item of a batch counted."),
    ]
    maximum_batch_items: Annotated[int, Meta(ge=1, description="Items of one batch.")]
    answer_time_seconds: Annotated[
        float, Meta(gt=0, description="Time within which the largest job is answered on one idle core.")
    ]


@get("/v1/conductors", sync_to_thread=False)
def conductors(request: AnyRequest) -> Response[bytes]:
    """Every conductor that a request may name, with its resistance, its limits and their sources."""
    return kept_reply(request, _conductors())


@get("/v1/units", sync_to_thread=False)
def units(request: AnyRequest) -> Response[bytes]:
    """Every unit that a request may name, and the factor that brings it to the unit used inside."""
    return kept_reply(request, _units())


class UnitCatalogue(Struct, frozen=True):
    """Every unit that a request may name."""

    units: list[UnitRow]


@get("/v1/sources", sync_to_thread=False)
def sources(request: AnyRequest) -> Response[bytes]:
    """Every source of the numbers in the tables, and how it is known."""
    return kept_reply(request, _sources())


class ConductorRow(Struct, frozen=True):
    """One conductor of the tables; `derived` says how, where no standard prints it."""

    conductor: str
    material: str
    stranding: str
    resistance: ListedResistance
    at_temperature: ListedTemperature
    coefficient_per_kelvin: float
    section: ListedSection
    sources: list[str]
    derived: list[str]
    ampacity: ListedAmpacity | UnsetType = UNSET
    device_limit: ListedLimit | UnsetType = UNSET


class ConductorCatalogue(Struct, frozen=True):
    """Every conductor that a request may name."""

    tables_version: str
    conductors: list[ConductorRow]


class SourceCatalogue(Struct, frozen=True):
    """Every source of the numbers in the tables."""

    tables_version: str
    sources: list[SourceRow]


@get("/v1/findings", sync_to_thread=False)
def findings(request: AnyRequest) -> Response[bytes]:
    """Every finding that an answer may carry, with its template."""
    return kept_reply(request, _findings(tuple(STUDIES)))


class FindingCatalogue(Struct, frozen=True):
    """Every finding that an answer may carry today; a client must expect new ones."""

    findings: list[FindingKind]


@get("/v1/assumptions", sync_to_thread=False)
def assumptions(request: AnyRequest) -> Response[bytes]:
    """Every assumption that an answer may state, and the cautions that every answer carries."""
    return kept_reply(request, _assumptions(tuple(STUDIES)))


class AssumptionCatalogue(Struct, frozen=True):
    """Every assumption that an answer may state, and the cautions that every answer carries."""

    assumptions: list[CodeRow]
    cautions: list[CodeRow]


@get("/v1/problems", sync_to_thread=False)
def problems(request: AnyRequest) -> Response[bytes]:
    """Every refusal, what it means and what to do."""
    return kept_reply(request, _problems(tuple(STUDIES)))


class ProblemCatalogue(Struct, frozen=True):
    """Every refusal, and every mistake that one may list."""

    problems: list[ProblemRow]
    errors: list[ErrorCodeRow]


@get("/v1/limits", sync_to_thread=False)
def limits(request: AnyRequest) -> Response[bytes]:
    """How much one request may ask for."""
    return kept_reply(request, _limits(request.app.state[MAXIMUM_BODY]))


@cache
def _conductors() -> Tagged:
    return kept(conductor_catalogue())


@cache
def _units() -> Tagged:
    return kept(unit_catalogue())


@cache
def _sources() -> Tagged:
    return kept(source_catalogue())


@cache
def _findings(_studies: tuple[str, ...]) -> Tagged:
    return kept(finding_catalogue())


@cache
def _assumptions(_studies: tuple[str, ...]) -> Tagged:
    return kept(assumption_catalogue())


@cache
def _problems(_studies: tuple[str, ...]) -> Tagged:
    kinds = [
        ProblemRow(kind.code, kind.type, kind.status, kind.title, kind.meaning, kind.remedy)
        for kind in problem_kinds().values()
    ]
    errors = [ErrorCodeRow(kind.code, kind.meaning) for kind in error_kinds().values()]
    return kept(ProblemCatalogue(kinds, errors))


@cache
def _limits(maximum_body: int) -> Tagged:
    return kept(limit_catalogue(maximum_body, DEEPEST))


ANSWER_TIME_S = 5.0
"""Time within which the largest honest job is answered on one idle core. [s]"""


def conductor_catalogue() -> ConductorCatalogue:
    """Every size in every material and stranding, the derived ones marked."""
    names = product(tables.CONDUCTOR_NAMES, tables.MATERIALS, tables.STRANDINGS)
    return ConductorCatalogue(tables.TABLES_VERSION, [_row(tables.conductor(*name)) for name in names])


def unit_catalogue() -> UnitCatalogue:
    """Every unit that a request may name."""
    return UnitCatalogue(
        [UnitRow(unit.dimension, unit.unit, unit.inside_unit, unit.scale, unit.offset) for unit in UNITS]
    )


def finding_catalogue() -> FindingCatalogue:
    """Every finding that an answer may carry."""
    return FindingCatalogue(
        [
            FindingKind(code, list(words.severities), words.meaning, words.template)
            for code, words in finding_kinds().items()
        ]
    )


def assumption_catalogue() -> AssumptionCatalogue:
    """Every assumption that an answer may state, and the cautions."""
    return AssumptionCatalogue(
        [CodeRow(code, kind.message) for code, kind in assumption_kinds().items()],
        [CodeRow(code, message) for code, message in (CAUTIONS | READING_CAUTIONS).items()],
    )


def source_catalogue() -> SourceCatalogue:
    """Every source of the numbers in the tables."""
    rows = [
        SourceRow(row.id, row.title, row.edition, row.publisher, row.clause, row.known, row.note)
        for row in tables.sources()
    ]
    return SourceCatalogue(tables.TABLES_VERSION, rows)


def limit_catalogue(maximum_body: int, maximum_nesting: int) -> LimitCatalogue:
    """How much one request may ask for; the first two are the reader's. [byte], [-]"""
    return LimitCatalogue(
        maximum_body_bytes=maximum_body,
        maximum_nesting=maximum_nesting,
        maximum_points=MAXIMUM_POINTS,
        maximum_loops=MAXIMUM_LOOPS,
        maximum_work=MAXIMUM_WORK,
        maximum_request_work=MAXIMUM_REQUEST_WORK,
        maximum_batch_items=MAXIMUM_ITEMS,
        answer_time_seconds=ANSWER_TIME_S,
    )


def _row(row: tables.ConductorEntry) -> ConductorRow:
    return ConductorRow(
        conductor=row.name,
        material=row.material,
        stranding=row.stranding,
        resistance=ListedResistance(round(row.resistance_ohm_per_m * 1000.0, 6), "ohm/km"),
        at_temperature=ListedTemperature(row.datum_c, "degC"),
        coefficient_per_kelvin=row.coefficient_per_k,
        section=ListedSection(row.area_mm2, "mm2"),
        sources=list(row.sources),
        derived=list(row.derived),
        ampacity=_ampacity(tables.ampacity_a(row.name, row.material)),
        device_limit=_limit(tables.device_limit_a(row.name, row.material)),
    )


def _ampacity(listed: tables.Ampacity | None) -> ListedAmpacity | UnsetType:
    return (
        UNSET
        if listed is None
        else ListedAmpacity(listed.ampere, "A", listed.installation_method, listed.source)
    )


def _limit(limit: tables.Limit | None) -> ListedLimit | UnsetType:
    return UNSET if limit is None else ListedLimit(limit.ampere, "A", limit.source)
