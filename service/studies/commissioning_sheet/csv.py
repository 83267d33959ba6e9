"""A commissioning sheet as comma-separated values (RFC 4180): a row for each place, columns to write in."""

from __future__ import annotations

import csv
from io import StringIO

from service.estimation.job import UNITS
from service.studies.commissioning_sheet.reply import CommissioningSheetReply, MeasuringPoint, Stage
from service.translate.csv_cells import Cell, as_text
from service.wire.optional import given

_BEFORE = ("stage", "stage_name", "test_point", "name", "quantity", "unit")

_EACH = ("expected", "tolerance", "verdict")

_AFTER = (
    "window_minimum_v",
    "window_maximum_v",
    "read",
    "id",
    "subject",
    "subject_number",
    "tap_v",
    "circuit",
    "state",
    "mains_read",
)


def commissioning_csv(reply: CommissioningSheetReply) -> str:
    """A header and a row for each place, the values of one column of the sheet beside those of the next.

    Texts that a spreadsheet would compute get an apostrophe in front; where nothing is expected the cells
    are empty, and so are those for what the meter says.
    """
    text = StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    names = [column.name.replace(" ", "_") for column in reply.mains]
    writer.writerow([*_BEFORE, *(f"{each} {name}" for name in names for each in _EACH), *_AFTER])
    for stage in reply.stages:
        writer.writerows(_row(reply, stage, point) for point in stage.test_points)
    return text.getvalue()


def _row(reply: CommissioningSheetReply, stage: Stage, point: MeasuringPoint) -> list[Cell]:
    unit = UNITS[point.quantity]
    expected = {each.mains_number: each for each in point.expected}
    values: list[Cell] = []
    for column in reply.mains:
        found = expected.get(column.number)
        values += (
            [None] * len(_EACH)
            if found is None
            else [
                found.value.value,
                found.tolerance.value,
                given(found.verdict),
            ]
        )
    return [
        stage.number,
        as_text(stage.name),
        point.number,
        as_text(point.name),
        point.quantity,
        unit,
        *values,
        *_rest(stage, point),
    ]


def _rest(stage: Stage, point: MeasuringPoint) -> list[Cell]:
    """The window, places to write in, and what place and stage are in the request."""
    window, own_id = given(point.window), given(point.id)
    tap, circuit, lit = given(point.subject.tap), given(point.subject.circuit), given(stage.state.lit)
    limits: list[Cell] = [None, None] if window is None else [window.minimum.value, window.maximum.value]
    return [
        *limits,
        None,
        None if own_id is None else as_text(own_id),
        given(point.subject.pointer) or point.subject.kind,
        given(point.subject.number),
        None if tap is None else tap.value,
        None if circuit is None else as_text(circuit),
        stage.state.on if lit is None else " ".join(each.pointer for each in lit),
        None,
    ]
