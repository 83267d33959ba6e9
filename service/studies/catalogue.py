"""Every kind of finding, assumption, problem and error, gathered from the files that own them.

A kind in a file that is listed needs no line here. A study of the table names its files in its entry.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from types import ModuleType
from typing import Final, TypeVar

from service.estimation import uncertainty
from service.findings import assumptions, connection, limits, loading, protection, request, voltage
from service.findings.assumptions import AssumptionKind
from service.findings.finding import FindingKind
from service.problems import CATALOGUE, ERROR_KINDS, ErrorKind, ProblemKind
from service.studies import STUDIES
from service.studies.commissioning_sheet import study as commissioning_sheet
from service.studies.gauge_recommendation import buying
from service.studies.gauge_recommendation import translate as gauge_recommendation
from service.studies.readings_check import bad_data
from service.studies.transformer_loading import selection
from service.studies.transformer_loading import study as transformer_loading

OWNERS: Final[tuple[ModuleType, ...]] = (
    voltage,
    loading,
    protection,
    connection,
    limits,
    request,
    assumptions,
    uncertainty,
    selection,
    transformer_loading,
    gauge_recommendation,
    buying,
    bad_data,
    commissioning_sheet,
)
"""The files that define kinds; a test finds one that is missing."""


_FINDINGS: Final = (
    voltage.FIXTURE_BELOW_WINDOW,
    voltage.FIXTURE_ABOVE_WINDOW,
    voltage.DROP_OVER_LIMIT,
    loading.TRANSFORMER_OVER_RATING,
    loading.WINDING_OVER_CURRENT,
    loading.DC_SUPPLY_OVER_RATING,
    loading.BELOW_MINIMUM_LOAD,
    loading.CIRCUIT_OVER_CURRENT,
    loading.CIRCUIT_NEAR_LIMIT,
    loading.CIRCUIT_NOT_DECLARED,
    loading.CLASS_2_EXCEEDED,
    protection.SPAN_OVER_AMPACITY,
    protection.AMPACITY_NOT_LISTED,
    protection.AMPACITY_UNKNOWN,
    protection.CONDUCTOR_BELOW_DEVICE,
    protection.DEVICE_NOT_STATED,
    protection.SHORT_CIRCUIT_BELOW_TRIP,
    connection.WET_CONTACT_VOLTAGE,
    request.DC_LAMP_ON_AC,
    request.AC_LAMP_ON_DC,
    connection.CABLE_TOO_LONG_FOR_SUPPLY,
    connection.TAP_NOT_OFFERED,
    connection.TAP_ON_DIRECT_CURRENT,
    voltage.NO_OPERATING_POINT,
    voltage.NEAR_COLLAPSE,
    limits.RANGE_NOT_HELD,
    request.WINDOW_EMPTY,
    connection.SUPPLY_ABOVE_LOW_VOLTAGE,
    connection.SUPPLY_NOMINAL_OUTSIDE_RANGE,
    connection.CABLE_CHANGE_OVERRIDDEN,
    connection.SUPPLY_RANGE_EMPTY,
    request.APPARENT_BELOW_REAL,
    request.POWER_FACTOR_BESIDE_APPARENT_POWER,
    request.POWER_FACTOR_ON_DIRECT_CURRENT,
    request.FIRST_PAST_END,
    connection.CABLE_CHANGE_PAST_END,
    transformer_loading.NO_TRANSFORMER_FITS,
    transformer_loading.DIVISION_IMPOSSIBLE,
    transformer_loading.NO_TRANSFORMER_ON_DIRECT_CURRENT,
    request.DUPLICATE_NAME,
    bad_data.READING_WITHOUT_STATE,
    bad_data.READING_ABOVE_SUPPLY,
    bad_data.READING_ABOVE_UPSTREAM,
    bad_data.CURRENT_WITHOUT_LOAD,
    bad_data.DROP_WITHOUT_LOAD,
    bad_data.CLAMP_READS_NOTHING,
    bad_data.READING_DECIMAL,
    bad_data.READINGS_EXCHANGED,
    bad_data.DROP_BEYOND_CABLE,
    bad_data.METER_AVERAGES,
    bad_data.STATE_CANNOT_BE_CARRIED,
    commissioning_sheet.STAGE_CANNOT_BE_CARRIED,
    commissioning_sheet.STAGE_NEEDS_TRUE_RMS,
)
"""In the order in which the catalogue has always listed them."""


_ASSUMPTIONS: Final = (
    assumptions.SUPPLY_IDEAL,
    assumptions.MAINS_NOMINAL,
    assumptions.MAINS_AS_MEASURED,
    assumptions.TAPS_SHARE_WINDING,
    assumptions.BATTERY_NOMINAL,
    assumptions.ONE_CIRCUIT,
    assumptions.FIXTURES_12_VOLT,
    assumptions.POWER_FACTOR_ONE,
    assumptions.WINDOW_DEFAULT,
    assumptions.CONDUCTOR_20_DEGREES,
    assumptions.CONDUCTOR_COPPER,
    assumptions.CONDUCTOR_STRANDED,
    assumptions.CONDUCTOR_DERIVED,
    assumptions.POINTS_MERGED,
    assumptions.USUAL_RANGE,
    assumptions.STATED_STATE_ONLY,
    gauge_recommendation.CABLE_PRICE_MISSING,
    assumptions.LAYOUT_UNKNOWN,
    assumptions.SPREAD_AS_LUMPS,
    assumptions.STRIP_CONSTANT_POWER,
    assumptions.STRIP_WITHOUT_RAIL,
    assumptions.STRIP_AS_LUMPS,
    transformer_loading.CONNECTED_ADDED_UP,
    transformer_loading.CORE_IDEAL,
    transformer_loading.SPARE_10_PERCENT,
    transformer_loading.USUAL_RATINGS,
    transformer_loading.USUAL_CIRCUITS,
    transformer_loading.STOCK_WITHOUT_REGULATION,
    transformer_loading.STOCK_WITHOUT_CIRCUITS,
    transformer_loading.PRICES_WITHOUT_CURRENCY,
    transformer_loading.RUNS_ADDED_UP,
    assumptions.ALL_CURRENT_IN_PHASE,
    uncertainty.METER_USUAL,
    uncertainty.CLAMP_USUAL,
    uncertainty.METER_GAIN_COMMON,
    uncertainty.TEMPERATURE_USUAL,
    uncertainty.TEMPERATURE_WITHIN_5,
    uncertainty.LENGTHS_WITHIN_2,
    uncertainty.RESISTANCE_WITHIN_2,
    uncertainty.POWER_WITHIN_3,
    uncertainty.WINDING_WITHIN_10,
    uncertainty.SUPPLY_WITHIN,
    uncertainty.TAPS_WITHIN_1,
    uncertainty.SUPPLY_COMMON,
    uncertainty.PRIMARY_USUAL,
    uncertainty.MAINS_SET_ASIDE,
    uncertainty.ONE_CAUSE,
    uncertainty.CAUSES_LEFT_OUT,
    commissioning_sheet.MAINS_OUTLET_STEPS,
    commissioning_sheet.MAINS_NOT_SCALABLE,
)


AnyKind = FindingKind | AssumptionKind | ProblemKind | ErrorKind


Kind = TypeVar("Kind", bound=AnyKind)


def finding_kinds() -> dict[str, FindingKind]:
    """Every kind of finding by its code."""
    return _gathered(FindingKind, _FINDINGS)


def assumption_kinds() -> dict[str, AssumptionKind]:
    """Every kind of assumption by its code."""
    return _gathered(AssumptionKind, _ASSUMPTIONS)


def problem_kinds() -> dict[str, ProblemKind]:
    """Every kind of refusal by its code."""
    return _gathered(ProblemKind, CATALOGUE.values())


def error_kinds() -> dict[str, ErrorKind]:
    """Every kind of mistake by its code."""
    return _gathered(ErrorKind, ERROR_KINDS.values())


def _gathered(kind: type[Kind], first: Iterable[Kind]) -> dict[str, Kind]:
    """All of a kind that the owners define, those that clients have long seen in their place."""
    found: dict[str, Kind] = {}
    for each in (*first, *(each for each in _owned(tuple(STUDIES)) if isinstance(each, kind))):
        found.setdefault(each.code, each)
    return found


@cache
def _owned(studies: tuple[str, ...]) -> tuple[AnyKind, ...]:
    """What the owners define, of whatever kind, with these studies in the table."""
    owners = [*OWNERS, *(owner for study in studies for owner in STUDIES[study].kinds_in)]
    return tuple(each for owner in owners for each in vars(owner).values() if isinstance(each, AnyKind))
