"""What a meter, a supply and a wiring may be off by, as standard uncertainties, and those assumptions."""

from __future__ import annotations

from math import sqrt
from typing import Final, NamedTuple

from service.circuit.job import USUAL_RATED_V, Supply
from service.estimation.job import CURRENT, RESISTANCE, VOLTAGE, MeterSpec, ReadingsJob
from service.estimation.model import Model
from service.findings.assumptions import (
    CONDUCTOR_20_DEGREES,
    FIRST_CIRCUIT_TAKEN,
    MAINS_NOMINAL,
    ONE_CIRCUIT,
    WINDOW_DEFAULT,
    AssumptionKind,
    assumptions_of,
    sources_of,
)

COVERAGE = 2.0
"""Expanded uncertainty over standard uncertainty, for about 95 % (GUM, JCGM 100:2008, 6.3.3). [-]"""

ROOT_3 = sqrt(3.0)

ACCURACY_PERCENT, COUNTS, RESOLUTION_V = 0.8, 3.0, 0.01
"""A hand-held meter: common practice, no published source."""

CLAMP_PERCENT, CLAMP_COUNTS, RESOLUTION_A = 2.5, 5.0, 0.01
"""A clamp meter: common practice, no published source."""

OHM_PERCENT, OHM_COUNTS, RESOLUTION_OHM = 1.0, 3.0, 0.1
"""An ohmmeter in its lowest range: common practice, no published source."""

LEADS_OHM, LEADS_WITHIN_OHM = 0.2, 0.2
"""Test leads whose resistance nobody stated: common practice, no published source. [ohm]"""

GAIN_SHARE = 0.8
"""Share of the variance of the percentage that is one gain, common to all readings of a meter. [-]

Most of it is the calibration of the range, which one visit does not change; the rest follows level and crest
factor. How a probe is held and what the mains do meanwhile is for the counts to cover.
"""

LEAST_ERROR = 5e-4
"""No reading is better than this, whatever the sheet says. [V], [A]"""

LENGTH_PERCENT = 2.0

POWER_PERCENT = 3.0

RESISTANCE_PERCENT = 2.0

WINDING_PERCENT = 10.0

TAP_PERCENT = 1.0
"""Of the ratio of a further tap to the secondary, as a winding has whole turns: common practice, no published
source."""

TAP_RATIO = TAP_PERCENT / 100.0 / ROOT_3
"""Its standard uncertainty. [-]"""

MAINS_PERCENT, SUPPLY_MEASURED_PERCENT = 5.0, 1.0
"""Where nobody measured the supply, and where somebody did."""

MOST_DRIFT_PERCENT = 1.0
"""From state to state the mains move by half their uncertainty and at most this."""

LOWEST_C, HIGHEST_C = 5.0, 35.0
"""Conductors in the ground or in the open, unless their temperature is stated."""

SAID_WITHIN_K = 5.0
"""A temperature that was stated holds within this. [K]"""


class Uncertainty(NamedTuple):
    """Standard uncertainties; ratios but for the temperature. [-], [K]

    `temperature_c` is where the prediction is made. [°C]
    """

    length: float
    power: float
    resistance: float
    winding: float
    temperature_k: float
    temperature_c: float


def uncertainty_of(job: ReadingsJob) -> Uncertainty:
    """Uncertainties of the wiring."""
    priors = job.priors
    lowest_c, highest_c = priors.temperatures_c or _usual_temperatures(job.circuit.temperature_c)
    stated_c = job.circuit.temperature_c
    temperature_c = 0.5 * (lowest_c + highest_c) if stated_c is None else stated_c
    return Uncertainty(
        length=_ratio(priors.length_percent, LENGTH_PERCENT),
        power=_ratio(priors.power_percent, POWER_PERCENT),
        resistance=_ratio(priors.resistance_percent, RESISTANCE_PERCENT),
        winding=_ratio(priors.winding_percent, WINDING_PERCENT),
        temperature_k=max(highest_c - temperature_c, temperature_c - lowest_c, 0.0) / ROOT_3,
        temperature_c=temperature_c,
    )


def _usual_temperatures(stated_c: float | None) -> tuple[float, float]:
    if stated_c is None:
        return LOWEST_C, HIGHEST_C
    return stated_c - SAID_WITHIN_K, stated_c + SAID_WITHIN_K


def _ratio(stated_percent: float | None, usual_percent: float) -> float:
    return (usual_percent if stated_percent is None else stated_percent) / 100.0 / ROOT_3


def supply_uncertainty(job: ReadingsJob, *, measured: bool) -> tuple[float, float]:
    """Of the open-circuit voltage: what is common to all states, and what each adds of its own. [-]"""
    usual = SUPPLY_MEASURED_PERCENT if measured else _usual_supply_percent(job.circuit.supply)
    stated = job.priors.mains_percent
    percent = usual if stated is None else stated
    return percent / 100.0 / ROOT_3, min(0.5 * percent, MOST_DRIFT_PERCENT) / 100.0 / ROOT_3


def _usual_supply_percent(supply: Supply) -> float:
    """Of the mains; or of a battery, anywhere between empty and full unless it is stated where."""
    if supply.kind != "battery" or supply.range_v is None or supply.standing_v is not None:
        return MAINS_PERCENT
    lowest_v, highest_v = supply.range_v
    return 100.0 * max(highest_v - supply.rated_v, supply.rated_v - lowest_v) / supply.rated_v


def supply_measured(supply: Supply, mains_v: float | None) -> bool:
    """Whether the open-circuit voltage stands on a measurement, or is regulated."""
    measured = mains_v is not None or supply.mains is not None or supply.open_circuit is not None
    return supply.kind == "dc-supply" or (supply.kind == "transformer" and measured)


def lead_resistance(instrument: MeterSpec) -> float:
    """What an ohmmeter's own leads add to each reading. [ohm]"""
    return LEADS_OHM if instrument.lead_ohm is None else instrument.lead_ohm


class MeterError(NamedTuple):
    """Of one reading: its own standard uncertainty [V], [A] or [ohm], and that of the common gain. [-]"""

    own: float
    gain: float


def meter_error(instrument: MeterSpec, quantity: str, value: float) -> MeterError:
    """Uncertainty of a reading."""
    if quantity == VOLTAGE:
        stated = instrument.accuracy_percent, instrument.counts, instrument.resolution_v
        usual = ACCURACY_PERCENT, COUNTS, RESOLUTION_V
    elif quantity == RESISTANCE:
        stated = (
            instrument.resistance_accuracy_percent,
            instrument.resistance_counts,
            instrument.resolution_ohm,
        )
        usual = OHM_PERCENT, OHM_COUNTS, RESOLUTION_OHM
    else:
        stated = instrument.current_accuracy_percent, instrument.current_counts, instrument.resolution_a
        usual = CLAMP_PERCENT, CLAMP_COUNTS, RESOLUTION_A
    percent, counts, resolution = (
        default if each is None else each for each, default in zip(stated, usual, strict=True)
    )
    relative = percent / 100.0 / ROOT_3
    # Half a count is lost in the display, whatever the sheet says.
    steps = max(counts, 0.5) * resolution / ROOT_3
    leads = LEADS_WITHIN_OHM / ROOT_3 if quantity == RESISTANCE and instrument.lead_ohm is None else 0.0
    own = sqrt(leads**2 + max(steps, LEAST_ERROR) ** 2 + (1.0 - GAIN_SHARE) * (relative * value) ** 2)
    return MeterError(own, sqrt(GAIN_SHARE) * relative)


NOT_HERE: Final = frozenset({WINDOW_DEFAULT, CONDUCTOR_20_DEGREES, ONE_CIRCUIT, FIRST_CIRCUIT_TAKEN})
"""Assumptions of a voltage drop that no reading depends on, or that are here in other words."""

METER_USUAL: Final = AssumptionKind(
    "meter-usual",
    f"A meter whose sheet is not stated is within {ACCURACY_PERCENT:g} % of the reading and {COUNTS:g} counts"
    f" of {RESOLUTION_V:g} V: common"
    " practice, no published source.",
)

CLAMP_USUAL: Final = AssumptionKind(
    "clamp-usual",
    f"A clamp meter whose sheet is not stated is within {CLAMP_PERCENT:g} % of the reading and"
    f" {CLAMP_COUNTS:g} counts of {RESOLUTION_A:g} A: common"
    " practice, no published source.",
)

OHMMETER_USUAL: Final = AssumptionKind(
    "ohmmeter-usual",
    f"An ohmmeter whose sheet is not stated is within {OHM_PERCENT:g} % of the reading and {OHM_COUNTS:g}"
    f" counts of {RESOLUTION_OHM:g} ohm: common"
    " practice, no published source.",
)

LEADS_USUAL: Final = AssumptionKind(
    "leads-usual",
    f"The leads of an ohmmeter have {LEADS_OHM:g} ohm, within {LEADS_WITHIN_OHM:g} ohm: common practice, no"
    " published source. Hold the tips together and state what it shows.",
)

METER_GAIN_COMMON: Final = AssumptionKind(
    "meter-gain-common",
    "Limits of error count as rectangular. Four fifths of the variance of a meter's percentage are one"
    " gain, common to all its readings of volts or of amperes; the rest and the counts are each reading's"
    " own.",
)

TEMPERATURE_USUAL: Final = AssumptionKind(
    "temperature-usual",
    f"All conductors have one temperature, anything between {LOWEST_C:g} and {HIGHEST_C:g} °C; predictions"
    f" are for {0.5 * (LOWEST_C + HIGHEST_C):g} °C.",
)

TEMPERATURE_WITHIN_5: Final = AssumptionKind(
    "temperature-within-5",
    f"All conductors have one temperature, within {SAID_WITHIN_K:g} K of the one stated.",
)

LENGTHS_WITHIN_2: Final = AssumptionKind(
    "lengths-within-2",
    f"Each stretch of cable is within {LENGTH_PERCENT:g} % of its stated length: common practice, no"
    " published source.",
)

RESISTANCE_WITHIN_2: Final = AssumptionKind(
    "resistance-within-2",
    f"Each kind of cable is within {RESISTANCE_PERCENT:g} % of its table: IEC 60228 gives a maximum, and"
    " copper on sale is a few per cent below it or, sold short, above.",
)

POWER_WITHIN_3: Final = AssumptionKind(
    "power-within-3",
    f"Each fixture draws its stated load within {POWER_PERCENT:g} %: common practice, no published source.",
)

WINDING_WITHIN_10: Final = AssumptionKind(
    "winding-within-10",
    f"The resistance of the supply is within {WINDING_PERCENT:g} % of what its regulation says: common"
    " practice, no published source.",
)

SUPPLY_WITHIN: Final = AssumptionKind(
    "supply-within",
    f"The volts that the supply gives without load are within {SUPPLY_MEASURED_PERCENT:g} % where they were"
    " measured, follow measured mains or are regulated, a battery's between empty and full as stated, else"
    f" within {MAINS_PERCENT:g} %.",
)

TAPS_WITHIN_1: Final = AssumptionKind(
    "taps-within-1",
    f"The volts of each further tap keep their rated ratio to those of the secondary within {TAP_PERCENT:g}"
    " %: common practice, no published source.",
)

SUPPLY_COMMON: Final = AssumptionKind(
    "supply-common",
    "What the supply is off by is common to all states; from one state to the next it moves by half of"
    f" that at most, and by no more than {MOST_DRIFT_PERCENT:g} %.",
)

PRIMARY_USUAL: Final = AssumptionKind(
    "primary-usual",
    "Mains were measured but the rated primary is not stated: "
    f"{USUAL_RATED_V[0]:g} V or {USUAL_RATED_V[1]:g} V, whichever is nearer in kind.",
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


def assumptions_of_readings(job: ReadingsJob, model: Model, *, left_out: int = 0) -> list[AssumptionKind]:
    """The assumptions, in a fixed order: of the wiring, then of the meter and of what may be off."""
    circuit, meter, priors = job.circuit, job.instrument, job.priors
    quantities = {reading.quantity for reading in job.readings}
    measured = any(state.mains_v is not None for state in model.states)
    volts_stated = None not in {meter.accuracy_percent, meter.counts, meter.resolution_v}
    amps_stated = None not in {meter.current_accuracy_percent, meter.current_counts, meter.resolution_a}
    ohms = {meter.resistance_accuracy_percent, meter.resistance_counts, meter.resolution_ohm}
    ohms_stated = None not in ohms
    held = {
        METER_USUAL: VOLTAGE in quantities and not volts_stated,
        CLAMP_USUAL: CURRENT in quantities and not amps_stated,
        OHMMETER_USUAL: RESISTANCE in quantities and not ohms_stated,
        LEADS_USUAL: RESISTANCE in quantities and meter.lead_ohm is None,
        METER_GAIN_COMMON: True,
        TEMPERATURE_USUAL: priors.temperatures_c is None and circuit.temperature_c is None,
        TEMPERATURE_WITHIN_5: priors.temperatures_c is None and circuit.temperature_c is not None,
        LENGTHS_WITHIN_2: priors.length_percent is None,
        RESISTANCE_WITHIN_2: priors.resistance_percent is None,
        POWER_WITHIN_3: priors.power_percent is None,
        WINDING_WITHIN_10: priors.winding_percent is None and model.source_ohm > 0.0,
        SUPPLY_WITHIN: priors.mains_percent is None,
        TAPS_WITHIN_1: len({circuit.supply.rated_v, *circuit.supply.taps_v}) > 1,
        SUPPLY_COMMON: len(model.states) > 1,
        PRIMARY_USUAL: measured and circuit.supply.mains is None and circuit.supply.open_circuit is None,
        MAINS_SET_ASIDE: measured and circuit.supply.direct_current,
        ONE_CAUSE: True,
        CAUSES_LEFT_OUT: left_out > 0,
    }
    wiring = [kind for kind in assumptions_of(model.connected) if kind not in NOT_HERE]
    if measured:
        wiring = [kind for kind in wiring if kind is not MAINS_NOMINAL]
    return [*wiring, *(kind for kind, holds in held.items() if holds)]


def sources_of_readings(model: Model) -> list[str]:
    """Ids of the sources of the wiring's numbers, and of how a meter's error is counted."""
    return [*sources_of(model.connected, []), "gum", "hand-meter"]
