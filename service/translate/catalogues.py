"""The catalogues: from tables and units to what is listed."""

from itertools import product

from msgspec import UNSET, UnsetType

from service import tables
from service.messages.batch import MAXIMUM_ITEMS
from service.messages.catalogues import (
    AssumptionCatalogue,
    CodeRow,
    ConductorCatalogue,
    ConductorRow,
    FindingCatalogue,
    FindingKind,
    LimitCatalogue,
    ListedLimit,
    ListedResistance,
    ListedSection,
    ListedTemperature,
    SourceCatalogue,
    SourceRow,
    UnitCatalogue,
    UnitRow,
)
from service.studies.errors import MAXIMUM_LOOPS, MAXIMUM_POINTS
from service.studies.work import MAXIMUM_REQUEST_WORK, MAXIMUM_WORK
from service.translate.catalogue import ASSUMPTIONS, CAUTIONS, FINDINGS
from service.translate.readings_catalogue import READING_CAUTIONS
from service.units import UNITS

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
            for code, words in FINDINGS.items()
        ]
    )


def assumption_catalogue() -> AssumptionCatalogue:
    """Every assumption that an answer may state, and the cautions."""
    return AssumptionCatalogue(
        [CodeRow(code, message) for code, message in ASSUMPTIONS.items()],
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


def _row(row: tables.ListedConductor) -> ConductorRow:
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
        ampacity=_limit(tables.ampacity_a(row.name, row.material)),
        device_limit=_limit(tables.device_limit_a(row.name, row.material)),
    )


def _limit(limit: tables.Limit | None) -> ListedLimit | UnsetType:
    return UNSET if limit is None else ListedLimit(limit.ampere, "A", limit.source)
