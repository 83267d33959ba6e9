"""The one table of the studies: routes, batches and workers take from it what they need."""

from typing import Final

from service.studies.commissioning_sheet import COMMISSIONING_SHEET
from service.studies.drop_chart import DROP_CHART
from service.studies.gauge_recommendation import GAUGE_RECOMMENDATION
from service.studies.least_cost_layout import LEAST_COST_LAYOUT
from service.studies.quote import QUOTE
from service.studies.reach import REACH
from service.studies.readings_check import READINGS_CHECK
from service.studies.record import AnyStudy
from service.studies.run_division import RUN_DIVISION
from service.studies.transformer_loading import TRANSFORMER_LOADING
from service.studies.voltage_drop import VOLTAGE_DROP

STUDIES: Final[dict[str, AnyStudy]] = {
    study.name: study
    for study in (
        VOLTAGE_DROP,
        TRANSFORMER_LOADING,
        GAUGE_RECOMMENDATION,
        REACH,
        DROP_CHART,
        READINGS_CHECK,
        COMMISSIONING_SHEET,
        RUN_DIVISION,
        QUOTE,
        LEAST_COST_LAYOUT,
    )
}
"""Every study by its name.

Routes, batches, workers, the document, what keys may give and what quotas count are made from it.
"""
