"""Every study that can be printed, with requests that show most of what it says."""

import json
from pathlib import Path
from typing import Any, Final, NamedTuple

EXAMPLES: Final = Path(__file__).parents[2] / "openapi" / "examples"


class Printed(NamedTuple):
    """A study, the file of a request, and whether there is a drawing."""

    path: str
    file: str
    drawn: bool = False

    def request(self) -> Any:
        return json.loads((EXAMPLES / f"{self.file}.json").read_bytes())


VOLTAGE_DROP: Final = [
    Printed("/v1/voltage-drop", file, drawn=True)
    for file in (
        "voltage_drop",
        "voltage_drop_even",
        "voltage_drop_totals",
        "voltage_drop_strip",
        "voltage_drop_spans",
        "voltage_drop_no_operating_point",
    )
]
STUDIES: Final = [
    *VOLTAGE_DROP,
    Printed("/v1/transformer-loading", "transformer_loading"),
    Printed("/v1/gauge-recommendation", "gauge_recommendation"),
    Printed("/v1/gauge-recommendation", "gauge_recommendation_none_passes"),
    Printed("/v1/reach", "reach"),
    Printed("/v1/readings-check", "readings_check"),
    Printed("/v1/drop-chart", "drop_chart", drawn=True),
    Printed("/v1/commissioning-sheet", "commissioning_sheet"),
]
IDS: Final = [each.file for each in STUDIES]
