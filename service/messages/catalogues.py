"""What the catalogues list."""

from __future__ import annotations

from typing import Annotated

from msgspec import UNSET, Meta, Struct, UnsetType

from service.messages.reply import Code


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


class ListedLimit(Struct, frozen=True):
    """A limit of a conductor and where it comes from."""

    value: float
    unit: Annotated[str, Meta(pattern=r"^A(?![\s\S])")]
    source: str


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
    ampacity: ListedLimit | UnsetType = UNSET
    device_limit: ListedLimit | UnsetType = UNSET


class ConductorCatalogue(Struct, frozen=True):
    """Every conductor that a request may name."""

    tables_version: str
    conductors: list[ConductorRow]


class UnitRow(Struct, frozen=True):
    """One unit: a value in it times `scale` plus `offset` is the value in `inside_unit`."""

    dimension: str
    unit: str
    inside_unit: str
    scale: float
    offset: float


class UnitCatalogue(Struct, frozen=True):
    """Every unit that a request may name."""

    units: list[UnitRow]


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


class ProblemCatalogue(Struct, frozen=True):
    """Every refusal, and every mistake that one may list."""

    problems: list[ProblemRow]
    errors: list[ErrorCodeRow]


class FindingKind(Struct, frozen=True):
    """One kind of finding; the template shows where its parameters stand."""

    code: Code
    severities: list[str]
    meaning: str
    template: str


class FindingCatalogue(Struct, frozen=True):
    """Every finding that an answer may carry today; a client must expect new ones."""

    findings: list[FindingKind]


class CodeRow(Struct, frozen=True):
    """A code and its words."""

    code: Code
    message: str


class AssumptionCatalogue(Struct, frozen=True):
    """Every assumption that an answer may state, and the cautions that every answer carries."""

    assumptions: list[CodeRow]
    cautions: list[CodeRow]


class SourceRow(Struct, frozen=True):
    """One source of numbers, and how it is known: seen, memory or trade-practice."""

    id: str
    title: str
    edition: str
    publisher: str
    clause: str
    known: str
    note: str


class SourceCatalogue(Struct, frozen=True):
    """Every source of the numbers in the tables."""

    tables_version: str
    sources: list[SourceRow]


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
