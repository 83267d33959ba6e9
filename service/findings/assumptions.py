"""What a job left open and how it was read; and the sources of the numbers that were used."""

from __future__ import annotations

from service.circuit.job import Supply
from service.circuit.state import Connected
from service.findings.finding import FindingFacts


def assumptions_of(connected: Connected) -> list[str]:
    """Codes of the assumptions, in a fixed order."""
    job, feed, layout = connected.job, connected.feed, connected.layout
    supply = job.supply
    remarks = [remark for line in layout.lines for remark in line.remarks]
    cables = [code for span in layout.spans if span.cable is not None for code in span.cable.assumptions]
    held = {
        "supply-ideal": feed.source_resistance == 0.0,
        "mains-nominal": _mains_assumed(supply),
        "mains-as-measured": _mains_unknown(supply),
        "taps-share-winding": len(feed.taps_v) > 1 and feed.source_resistance > 0.0,
        "battery-nominal": supply.kind == "battery",
        "one-circuit": len(feed.circuits) == 1 and not supply.circuits,
        "circuit-limit-default": bool(supply.circuits or len(feed.circuits) > 1)
        and any(not fed.stated for fed in feed.circuits),
        "fixtures-12-volt": job.nominal_v is None,
        "power-factor-one": "power-factor-one" in remarks,
        "window-default": any(line.window is None for line in layout.lines),
        "conductor-20-degrees": job.temperature_c is None,
        "conductor-copper": "conductor-copper" in cables,
        "conductor-stranded": "conductor-stranded" in cables,
        "conductor-derived": "conductor-derived" in cables,
        "points-merged": layout.merged,
        "all-current-in-phase": job.all_in_phase,
        "layout-unknown": job.layout_unknown,
        "spread-as-lumps": job.layout_unknown or "spread-as-lumps" in remarks,
        "strip-constant-power": "strip-constant-power" in remarks,
        "strip-as-lumps": "strip-as-lumps" in remarks,
    }
    return [code for code, holds in held.items() if holds]


def _mains_assumed(supply: Supply) -> bool:
    """Whether the mains were taken as nominal; a no-load voltage measured now already contains them."""
    return supply.kind == "transformer" and supply.mains is None and supply.open_circuit is None


def _mains_unknown(supply: Supply) -> bool:
    """Whether a no-load voltage came with its mains but the actual mains were not said."""
    measured = supply.open_circuit
    return measured is not None and measured.at_primary_v is not None and supply.mains is None


def sources_of(connected: Connected, findings: list[FindingFacts]) -> list[str]:
    """Ids of the sources used, in the order of use."""
    layout = connected.layout
    used = [source for span in layout.spans if span.cable is not None for source in span.cable.sources]
    if any(line.filament for line in layout.lines):
        used.append("lamp-rerating")
    used.extend(finding.source for finding in findings)
    return [source for source in dict.fromkeys(used) if source not in {"caller", "own-calculation"}]
