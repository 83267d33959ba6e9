"""What a program does with the installed package.

Run as ``using.py ADDRESS JITTER``; prints what came as JSON.
"""

import json
import sys
from collections.abc import Callable

from lastlamp_client import ProblemError, ReplyError, Service
from lastlamp_client.models import (
    ConstantPower,
    DcSupply,
    DirectVoltage,
    EvenWiring,
    Length,
    ListedCable,
    NoOperatingPoint,
    RealPower,
    Solved,
    VoltageDropRequest,
)

JOB = VoltageDropRequest(
    supply=DcSupply(kind="dc-supply", output=DirectVoltage(value=12, unit="V")),
    wiring=EvenWiring(
        form="even",
        count=2,
        length=Length(value=20, unit="m"),
        cable=ListedCable(kind="listed", conductor="1.5 mm2"),
        load=ConstantPower(kind="constant-power", power=RealPower(value=5, unit="W")),
    ),
)


class Misspelt(VoltageDropRequest):
    """A job with a member that the contract does not list, which its types would not let anybody write."""

    def to_dict(self) -> dict[str, object]:
        """Write it as JSON."""
        return {**super().to_dict(), "wirring": {}}


def outcome(asked: Callable[[], Solved | NoOperatingPoint]) -> object:
    """What came of a question."""
    try:
        return asked().summary.text
    except ProblemError as refusal:
        pointers = [error.pointer for error in refusal.errors]
        status = refusal.problem.status
        known = {"code": refusal.code, "status": status, "retry_after": refusal.retry_after}
        return {**known, "pointers": pointers, "message": str(refusal)}
    except ReplyError as stranger:
        return {"status": stranger.status}


address, jitter = sys.argv[1], float(sys.argv[2])
misspelt = Misspelt(supply=JOB.supply, wiring=JOB.wiring)
with (
    Service(address + "/", jitter=lambda: jitter) as service,
    Service(address, key="fern", retries=0) as impatient,
):
    printed = {
        "answered": outcome(lambda: service.voltage_drop(JOB)),
        "refused": outcome(lambda: service.voltage_drop(misspelt)),
        "impatient": outcome(lambda: impatient.voltage_drop(JOB)),
    }
try:
    with Service(address) as service:
        printed["conductors"] = [row.conductor for row in service.conductors().conductors]
except ReplyError as stranger:
    printed["conductors"] = stranger.status
json.dump(printed, sys.stdout)
