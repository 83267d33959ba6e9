"""What was assumed to judge readings, and where the numbers come from."""

from __future__ import annotations

from typing import Final

from service.estimation.job import CURRENT, VOLTAGE, ReadingsJob
from service.estimation.model import Model
from service.findings.assumptions import (
    CONDUCTOR_20_DEGREES,
    MAINS_NOMINAL,
    ONE_CIRCUIT,
    WINDOW_DEFAULT,
    AssumptionKind,
    assumptions_of,
    sources_of,
)

NOT_HERE: Final = frozenset({WINDOW_DEFAULT, CONDUCTOR_20_DEGREES, ONE_CIRCUIT})
"""Assumptions of a voltage drop that no reading depends on, or that stand here in other words."""


METER_USUAL: Final = AssumptionKind(
    "meter-usual",
    "A meter whose sheet is not stated is within 0.8 % of the reading and 3 counts of 0.01 V: common"
    " practice, no published source.",
)

CLAMP_USUAL: Final = AssumptionKind(
    "clamp-usual",
    "A clamp meter whose sheet is not stated is within 2.5 % of the reading and 5 counts of 0.01 A: common"
    " practice, no published source.",
)

METER_GAIN_COMMON: Final = AssumptionKind(
    "meter-gain-common",
    "Limits of error count as rectangular. Four fifths of the variance of a meter's percentage are one"
    " gain, common to all its readings of volts or of amperes; the rest and the counts are each reading's"
    " own.",
)

TEMPERATURE_USUAL: Final = AssumptionKind(
    "temperature-usual",
    "All conductors have one temperature, anything between 5 and 35 °C; predictions are for 20 °C.",
)

TEMPERATURE_WITHIN_5: Final = AssumptionKind(
    "temperature-within-5",
    "All conductors have one temperature, within 5 K of the one stated.",
)

LENGTHS_WITHIN_2: Final = AssumptionKind(
    "lengths-within-2",
    "Each stretch of cable is within 2 % of its stated length: common practice, no published source.",
)

RESISTANCE_WITHIN_2: Final = AssumptionKind(
    "resistance-within-2",
    "Each kind of cable is within 2 % of its table: IEC 60228 gives a maximum, and copper on sale is a few"
    " per cent below it or, sold short, above.",
)

POWER_WITHIN_3: Final = AssumptionKind(
    "power-within-3",
    "Each fixture draws its stated load within 3 %: common practice, no published source.",
)

WINDING_WITHIN_10: Final = AssumptionKind(
    "winding-within-10",
    "The resistance of the supply is within 10 % of what its regulation says: common practice, no"
    " published source.",
)

SUPPLY_WITHIN: Final = AssumptionKind(
    "supply-within",
    "The volts that the supply gives without load are within 1 % where they were measured, follow measured"
    " mains or are regulated, a battery's between empty and full as stated, else within 5 %.",
)

SUPPLY_COMMON: Final = AssumptionKind(
    "supply-common",
    "What the supply is off by is common to all states; from one state to the next it moves by half of"
    " that at most, and by no more than 1 %.",
)

PRIMARY_USUAL: Final = AssumptionKind(
    "primary-usual",
    "Mains were measured but the rated primary is not stated: 120 V or 230 V, whichever is nearer in kind.",
)

MAINS_SET_ASIDE: Final = AssumptionKind(
    "mains-set-aside",
    "The mains of a state are set aside: a DC supply and a battery do not follow them.",
)

ONE_CAUSE: Final = AssumptionKind(
    "one-cause",
    "One single thing is wrong at a time. Two at once may look like a third.",
)

CAUSES_LEFT_OUT: Final = AssumptionKind(
    "causes-left-out",
    "Causes that promise least were not tried, because the work of one request is limited.",
)


def assumptions_made(asked: ReadingsJob, model: Model, *, left_out: int = 0) -> list[AssumptionKind]:
    """The assumptions, in a fixed order: of the wiring, then of the meter and of what may be off."""
    job, meter, priors = asked.job, asked.instrument, asked.priors
    quantities = {reading.quantity for reading in asked.readings}
    measured = any(state.mains_v is not None for state in model.states)
    volts_said = None not in {meter.accuracy_percent, meter.counts, meter.resolution_v}
    amps_said = None not in {meter.current_accuracy_percent, meter.current_counts, meter.resolution_a}
    held = {
        METER_USUAL: VOLTAGE in quantities and not volts_said,
        CLAMP_USUAL: CURRENT in quantities and not amps_said,
        METER_GAIN_COMMON: True,
        TEMPERATURE_USUAL: priors.temperatures_c is None and job.temperature_c is None,
        TEMPERATURE_WITHIN_5: priors.temperatures_c is None and job.temperature_c is not None,
        LENGTHS_WITHIN_2: priors.length_percent is None,
        RESISTANCE_WITHIN_2: priors.resistance_percent is None,
        POWER_WITHIN_3: priors.power_percent is None,
        WINDING_WITHIN_10: priors.winding_percent is None and model.source_ohm > 0.0,
        SUPPLY_WITHIN: priors.mains_percent is None,
        SUPPLY_COMMON: len(model.states) > 1,
        PRIMARY_USUAL: measured and job.supply.mains is None and job.supply.open_circuit is None,
        MAINS_SET_ASIDE: measured and job.supply.direct_current,
        ONE_CAUSE: True,
        CAUSES_LEFT_OUT: left_out > 0,
    }
    wiring = [kind for kind in assumptions_of(model.connected) if kind not in NOT_HERE]
    if measured:
        wiring = [kind for kind in wiring if kind is not MAINS_NOMINAL]
    return [*wiring, *(kind for kind, holds in held.items() if holds)]


def sources_used(model: Model) -> list[str]:
    """Ids of the sources of the wiring's numbers, and of how a meter's error is counted."""
    return [*sources_of(model.connected, []), "gum", "hand-meter"]
