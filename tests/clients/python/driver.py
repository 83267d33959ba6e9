"""A quoting program in small: it asks through the generated client and prints what it read as JSON.

Run as ``driver.py ADDRESS [JOB ...]``, each job a file. A test generates the client beside it first.
"""

import json
import sys
from pathlib import Path
from typing import assert_never

from lastlamp_client import Client
from lastlamp_client.api.calculations import voltage_drop
from lastlamp_client.api.catalogues import conductors
from lastlamp_client.models import (
    ConductorCatalogue,
    ConstantPower,
    EvenWiring,
    Filament,
    FixtureLine,
    Length,
    ListedCable,
    NoOperatingPoint,
    Problem,
    RealPower,
    RunsWiring,
    SecondaryVoltage,
    Solved,
    SpansWiring,
    TotalsWiring,
    Transformer,
    VoltageDropRequest,
)
from lastlamp_client.types import Unset


def job_of_our_own() -> VoltageDropRequest:
    """A job written in the client's types, as an editor with completion helps to write it."""
    return VoltageDropRequest(
        supply=Transformer(kind="transformer", secondary=SecondaryVoltage(value=12, unit="V")),
        wiring=EvenWiring(
            form="even",
            count=3,
            length=Length(value=30, unit="m"),
            cable=ListedCable(kind="listed", conductor="1.5 mm2"),
            load=ConstantPower(kind="constant-power", power=RealPower(value=5, unit="W")),
        ),
    )


def watts(line: FixtureLine) -> float:
    """The label of a fixture; each kind of load keeps it in a place of its own."""
    load = line.load
    if isinstance(load, ConstantPower | Filament):
        return load.power.value
    return 0.0


def labels(job: VoltageDropRequest) -> list[float]:
    """What each line of the wiring asks for; every form is named, so that a new one is a type error. [W]"""
    wiring = job.wiring
    if isinstance(wiring, RunsWiring):
        return [watts(line) for run in wiring.runs for line in run.fixtures]
    if isinstance(wiring, EvenWiring | TotalsWiring):
        return [wiring.load.power.value] if isinstance(wiring.load, ConstantPower) else []
    if isinstance(wiring, SpansWiring):
        return []
    assert_never(wiring)


def read(reply: Solved | NoOperatingPoint | Problem | None) -> dict[str, object]:
    """What this program understands of a reply."""
    if reply is None:
        return {"status": "unexpected"}
    if isinstance(reply, Problem):
        return {"code": reply.code, "pointers": [error.pointer for error in reply.errors]}
    findings = [[finding.code, finding.severity, finding.subject.pointer] for finding in reply.findings]
    notes = [assumption.code for assumption in reply.assumptions]
    known = {"status": reply.status, "findings": findings, "assumptions": notes}
    if isinstance(reply, NoOperatingPoint):
        exact = reply.load_margin.exact
        return {**known, "could_carry": None if isinstance(exact, Unset) else exact}
    volts = [fixture.voltage.value for fixture in reply.fixtures]
    return {**known, "volts": volts, "terminal": reply.supply.terminal.value}


def in_short(client: Client) -> dict[str, object]:
    """Our own job, of which no more is wanted than the volts of each lamp."""
    job = job_of_our_own()
    job.detail = "fixtures"
    reply = voltage_drop.sync(client=client, body=job)
    if not isinstance(reply, Solved) or isinstance(reply.lamps, Unset):
        return {}
    volts = [lamp.voltage.value for lamp in reply.lamps]
    return {
        "detail": reply.detail,
        "volts": volts,
        "fixtures": len(reply.fixtures),
        "spans": len(reply.spans),
    }


def catalogue(client: Client) -> list[str]:
    """The conductors that may be named."""
    reply = conductors.sync(client=client)
    if not isinstance(reply, ConductorCatalogue):
        return []
    return [row.conductor for row in reply.conductors]


def main(address: str, files: list[str]) -> None:
    """Ask about our own job and those in the files; print the answers."""
    jobs = {"own": job_of_our_own()}
    for file in files:
        jobs[Path(file).stem] = VoltageDropRequest.from_dict(json.loads(Path(file).read_bytes()))
    with Client(base_url=address) as client:
        printed = {
            "answers": {name: read(voltage_drop.sync(client=client, body=job)) for name, job in jobs.items()},
            "labels": {name: labels(job) for name, job in jobs.items()},
            "short": in_short(client),
            "conductors": catalogue(client),
        }
    json.dump(printed, sys.stdout)


main(sys.argv[1], sys.argv[2:])
