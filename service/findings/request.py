"""What the request itself shows before anything is solved: windows, lamps, names, labels."""

from __future__ import annotations

from math import sqrt

from service.circuit.job import JobPart
from service.circuit.state import Connected
from service.findings.finding import FAULT, NOTE, WARNING, Amount, FindingFacts

SEVERITY = {
    "apparent-below-real": WARNING,
    "power-factor-beside-apparent-power": NOTE,
    "power-factor-on-direct-current": NOTE,
    "first-past-end": NOTE,
}
"""Remarks that are findings; the others are assumptions."""


def empty_window_findings(connected: Connected) -> list[FindingFacts]:
    """Windows whose minimum is above their maximum: no voltage can satisfy them."""
    return [
        FindingFacts(
            "window-empty",
            FAULT,
            JobPart(f"{line.subject.pointer}/window", line.subject.id),
            "caller",
            measured=Amount(line.window.minimum_v, "V", 1),
            limit=Amount(line.window.maximum_v, "V", -1),
        )
        for line in connected.layout.lines
        if line.window is not None and line.window.minimum_v > line.window.maximum_v
    ]


def lamp_kind_findings(connected: Connected) -> list[FindingFacts]:
    """Lamps made for the other kind of current, beside the peak of the voltage that they get at no load."""
    direct = connected.job.supply.direct_current
    wrong, code = ("ac", "ac-lamp-on-dc") if direct else ("dc", "dc-lamp-on-ac")
    found: dict[str, FindingFacts] = {}
    for placed in connected.layout.fixtures:
        line = placed.line
        if line.input == wrong and line.subject.pointer not in found:
            peak_v = placed.open_circuit_v * (1.0 if direct else sqrt(2.0))
            measured = Amount(peak_v, "V", 1)
            found[line.subject.pointer] = FindingFacts(code, FAULT, line.subject, "caller", measured=measured)
    return list(found.values())


def duplicate_name_findings(connected: Connected) -> list[FindingFacts]:
    """Names given twice; answers keep them apart by pointer."""
    seen: set[str] = set()
    found = [
        FindingFacts("duplicate-name", NOTE, circuit.subject, "caller", parameters=(("name", circuit.name),))
        for index, circuit in enumerate(connected.job.supply.circuits)
        if any(circuit.name == other.name for other in connected.job.supply.circuits[:index])
    ]
    named = [(end.name, end.subject) for end in connected.layout.ends]
    named += [(line.name, line.subject) for line in connected.layout.lines]
    for name, subject in named:
        if name is None:
            continue
        if name in seen:
            found.append(
                FindingFacts("duplicate-name", NOTE, subject, "caller", parameters=(("name", name),))
            )
        seen.add(name)
    return found


def remark_findings(connected: Connected) -> list[FindingFacts]:
    """One finding for each remark on each fixture line."""
    return [
        FindingFacts(remark, SEVERITY[remark], line.subject, "caller")
        for line in connected.layout.lines
        for remark in line.remarks
        if remark in SEVERITY
    ]
