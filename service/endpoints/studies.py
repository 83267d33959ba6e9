"""The one table of the studies: routes, batches and workers take from it what they need."""

from typing import Final

from service.endpoints.commissioning_sheet import COMMISSIONING_SHEET
from service.endpoints.drop_chart import DROP_CHART, DROP_CHART_AMONG_OTHERS
from service.endpoints.gauge_recommendation import GAUGE_RECOMMENDATION
from service.endpoints.reach import REACH
from service.endpoints.readings_check import READINGS_CHECK
from service.endpoints.study import AnyStudy
from service.endpoints.transformer_loading import TRANSFORMER_LOADING
from service.endpoints.voltage_drop import VOLTAGE_DROP

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
    )
}
"""Every study by its name."""

STUDIES_OF_A_BATCH: Final = STUDIES | {DROP_CHART.name: DROP_CHART_AMONG_OTHERS}
"""The same as an item of a batch may ask for them."""
