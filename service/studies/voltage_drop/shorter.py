"""What is left of the reply where less is wanted: each fixture in short, and what a part of the job gets."""

from collections.abc import Sequence
from typing import Any, Final

from msgspec import UNSET, UnsetType
from msgspec.structs import replace

from service.studies.shortening import Kept, faults
from service.studies.voltage_drop.reply import FixtureRow, LampRow, Solved, VoltageDropReply


def _lamps(reply: VoltageDropReply, is_longer: bool) -> dict[str, Any]:  # noqa: FBT001  # as every `cut` is called
    """Each fixture in short; of a job that cannot be carried those of the part that can."""
    if isinstance(reply, Solved):
        return {"lamps": _in_short(reply.fixtures)} if is_longer else {}
    if isinstance(reply.rest, UnsetType):
        return {}
    lamps = _in_short(reply.rest.fixtures) if is_longer else UNSET
    findings = faults(reply.rest.findings)
    return {"rest": replace(reply.rest, fixtures=[], spans=[], runs=[], findings=findings, lamps=lamps)}


def _in_short(rows: Sequence[FixtureRow]) -> list[LampRow]:
    return [
        LampRow(row.pointer, row.name, row.voltage, row.verdict, row.id, row.number, row.count)
        for row in rows
    ]


KEPT: Final = Kept(
    cut=_lamps,
    always_in_part="`rest` with its faults and without its other lists",
    fixtures_in_part="`lamps`, here or in `rest`",
)
"""Of a shorter reply."""
