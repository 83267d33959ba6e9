"""What a meter, a supply and a wiring may be off by, as standard uncertainties."""

from __future__ import annotations

from math import sqrt
from typing import NamedTuple

from service.circuit.job import Supply
from service.estimation.job import VOLTAGE, MeterSpec, ReadingsJob

COVERAGE = 2.0
"""Expanded uncertainty over standard uncertainty, for about 95 % (GUM, JCGM 100:2008, 6.3.3). [-]"""


ROOT_3 = sqrt(3.0)


ACCURACY_PERCENT, COUNTS, RESOLUTION_V = 0.8, 3.0, 0.01
"""A hand-held meter: common practice, no published source."""


CLAMP_PERCENT, CLAMP_COUNTS, RESOLUTION_A = 2.5, 5.0, 0.01
"""A clamp meter: common practice, no published source."""


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


MAINS_PERCENT, SUPPLY_MEASURED_PERCENT = 5.0, 1.0
"""Where nobody measured the supply, and where somebody did."""


MOST_DRIFT_PERCENT = 1.0
"""From state to state the mains move by half their uncertainty and at most this."""


LOWEST_C, HIGHEST_C = 5.0, 35.0
"""Conductors in the ground or in the open, unless their temperature is said."""


SAID_WITHIN_K = 5.0
"""A temperature that was said holds within this. [K]"""


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


def uncertainty_of(asked: ReadingsJob) -> Uncertainty:
    """Uncertainties of the wiring."""
    priors = asked.priors
    lowest_c, highest_c = priors.temperatures_c or _usual_temperatures(asked.job.temperature_c)
    said_c = asked.job.temperature_c
    temperature_c = 0.5 * (lowest_c + highest_c) if said_c is None else said_c
    return Uncertainty(
        length=_ratio(priors.length_percent, LENGTH_PERCENT),
        power=_ratio(priors.power_percent, POWER_PERCENT),
        resistance=_ratio(priors.resistance_percent, RESISTANCE_PERCENT),
        winding=_ratio(priors.winding_percent, WINDING_PERCENT),
        temperature_k=max(highest_c - temperature_c, temperature_c - lowest_c, 0.0) / ROOT_3,
        temperature_c=temperature_c,
    )


def _usual_temperatures(said_c: float | None) -> tuple[float, float]:
    if said_c is None:
        return LOWEST_C, HIGHEST_C
    return said_c - SAID_WITHIN_K, said_c + SAID_WITHIN_K


def _ratio(said_percent: float | None, usual_percent: float) -> float:
    return (usual_percent if said_percent is None else said_percent) / 100.0 / ROOT_3


def supply_spread(asked: ReadingsJob, *, measured: bool) -> tuple[float, float]:
    """Of the open-circuit voltage: what is common to all states, and what each adds of its own. [-]"""
    usual = SUPPLY_MEASURED_PERCENT if measured else _usual_supply_percent(asked.job.supply)
    said = asked.priors.mains_percent
    percent = usual if said is None else said
    return percent / 100.0 / ROOT_3, min(0.5 * percent, MOST_DRIFT_PERCENT) / 100.0 / ROOT_3


def _usual_supply_percent(supply: Supply) -> float:
    """Of the mains; or of a battery, which stands anywhere between empty and full unless it is said where."""
    if supply.kind != "battery" or supply.range_v is None or supply.standing_v is not None:
        return MAINS_PERCENT
    lowest_v, highest_v = supply.range_v
    return 100.0 * max(highest_v - supply.rated_v, supply.rated_v - lowest_v) / supply.rated_v


def supply_measured(supply: Supply, mains_v: float | None) -> bool:
    """Whether the open-circuit voltage stands on a measurement, or is regulated."""
    measured = mains_v is not None or supply.mains is not None or supply.open_circuit is not None
    return supply.kind == "dc-supply" or (supply.kind == "transformer" and measured)


class MeterError(NamedTuple):
    """Of one reading: its own standard uncertainty [V] or [A], and that of the common gain. [-]"""

    own: float
    gain: float


def meter_error(instrument: MeterSpec, quantity: str, value: float) -> MeterError:
    """Uncertainty of a reading."""
    if quantity == VOLTAGE:
        said = instrument.accuracy_percent, instrument.counts, instrument.resolution_v
        usual = ACCURACY_PERCENT, COUNTS, RESOLUTION_V
    else:
        said = instrument.current_accuracy_percent, instrument.current_counts, instrument.resolution_a
        usual = CLAMP_PERCENT, CLAMP_COUNTS, RESOLUTION_A
    percent, counts, resolution = (
        default if each is None else each for each, default in zip(said, usual, strict=True)
    )
    relative = percent / 100.0 / ROOT_3
    # Half a count is lost in the display, whatever the sheet says.
    steps = max(counts, 0.5) * resolution / ROOT_3
    own = sqrt(max(steps, LEAST_ERROR) ** 2 + (1.0 - GAIN_SHARE) * (relative * value) ** 2)
    return MeterError(own, sqrt(GAIN_SHARE) * relative)
