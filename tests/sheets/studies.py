"""Every study that can be printed, with requests that show most of what it says."""

import json
from pathlib import Path
from typing import Any, Final, NamedTuple

from service.studies import STUDIES as TABLE
from service.studies.description import SUCCESS
from service.studies.record import HTML, SVG, AnyStudy

EXAMPLES: Final = Path(__file__).parents[2] / "openapi" / "examples"


USUAL: Final = {"/v1/quote": "customer"}
"""The paper that is printed where none is named, where that is not the record."""


class Printed(NamedTuple):
    """A study, the file of a request, and whether there is a drawing."""

    path: str
    file: str
    drawn: bool = False

    def request(self) -> Any:
        """The example, asked for its record."""
        request = json.loads((EXAMPLES / f"{self.file}.json").read_bytes())
        return {**request, "sheet": {"for": "record"}} if self.path in USUAL else request


def printed(study: AnyStudy) -> list[Printed]:
    """Every example of a study that is answered."""
    return [
        Printed(f"/v1/{study.name}", Path(example.file).stem, drawn=SVG in study.forms)
        for example in study.description.examples
        if example.file is not None and example.status == SUCCESS
    ]


VOLTAGE_DROP: Final = printed(TABLE["voltage-drop"])
STUDIES: Final = [each for study in TABLE.values() if HTML in study.forms for each in printed(study)]
IDS: Final = [each.file for each in STUDIES]
