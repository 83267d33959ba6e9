"""What was assumed to judge readings, and where the numbers come from."""

from __future__ import annotations

from service.estimation.job import CURRENT, VOLTAGE, ReadingsJob
from service.estimation.model import Model
from service.findings.assumptions import assumptions_of, sources_of

NOT_HERE = frozenset({"window-default", "conductor-20-degrees", "one-circuit", "circuit-limit-default"})
"""Assumptions of a voltage drop that no reading depends on, or that stand here in other words."""


def assumptions_made(asked: ReadingsJob, model: Model, *, left_out: int = 0) -> list[str]:
    """Codes of the assumptions, in a fixed order: of the wiring, then of the meter and of what may be off."""
    job, meter, priors = asked.job, asked.instrument, asked.priors
    quantities = {reading.quantity for reading in asked.readings}
    measured = any(state.mains_v is not None for state in model.states)
    volts_said = None not in {meter.accuracy_percent, meter.counts, meter.resolution_v}
    amps_said = None not in {meter.current_accuracy_percent, meter.current_counts, meter.resolution_a}
    held = {
        "meter-usual": VOLTAGE in quantities and not volts_said,
        "clamp-usual": CURRENT in quantities and not amps_said,
        "meter-gain-common": True,
        "temperature-usual": priors.temperatures_c is None and job.temperature_c is None,
        "temperature-within-5": priors.temperatures_c is None and job.temperature_c is not None,
        "lengths-within-2": priors.length_percent is None,
        "resistance-within-2": priors.resistance_percent is None,
        "power-within-3": priors.power_percent is None,
        "winding-within-10": priors.winding_percent is None and model.source_ohm > 0.0,
        "supply-within": priors.mains_percent is None,
        "supply-common": len(model.states) > 1,
        "primary-usual": measured and job.supply.mains is None and job.supply.open_circuit is None,
        "mains-set-aside": measured and job.supply.direct_current,
        "one-cause": True,
        "causes-left-out": left_out > 0,
    }
    wiring = [code for code in assumptions_of(model.connected) if code not in NOT_HERE]
    if measured:
        wiring = [code for code in wiring if code != "mains-nominal"]
    return [*wiring, *(code for code, holds in held.items() if holds)]


def sources_used(model: Model) -> list[str]:
    """Ids of the sources of the wiring's numbers, and of how a meter's error is counted."""
    return [*sources_of(model.connected, []), "gum", "hand-meter"]
