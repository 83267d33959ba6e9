"""How readings scatter, as the mix states it, by numeric derivatives of the truth solver."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import hypot, sqrt

import numpy as np

from tests.studies.readings_truth.circuit import Floats
from tests.studies.readings_truth.garden import RATED_MAINS_V
from tests.studies.readings_truth.mix import MIX
from tests.studies.readings_truth.plan import Plan
from tests.studies.readings_truth.world import Fault, Truth, World

STEP = 1e-3
"""Of a share; the solver stops at 1e-9."""


def covariance(truth: Truth, fault: Fault, expected: Floats) -> Floats:
    """Covariance of the readings about what a perfect meter reads with a fault. [V² or A²]"""
    columns = [*_nuisances(truth, fault, expected), *_mains(truth, fault, expected)]
    columns += _gains(truth.plan, expected)
    spread = np.array(columns).T
    return np.asarray(spread @ spread.T + np.diag(_each_reading(truth.plan)))


def _nuisances(truth: Truth, fault: Fault, expected: Floats) -> Iterator[Floats]:
    """One standard deviation of each unknown that belongs to the garden."""
    says = MIX["nuisance"]
    nominal = World(fault=fault)
    low_c, high_c = says["temperature_c"]
    warmer = replace(nominal, temperature_c=nominal.temperature_c + 1.0)
    yield (truth.readings(warmer) - expected) * ((high_c - low_c) / sqrt(12.0))
    for point in truth.garden.spans:
        longer = replace(nominal, length_error={point: STEP})
        yield (truth.readings(longer) - expected) / STEP * (says["length_percent"] / 100.0)
    for lamp in range(len(truth.garden.lamps)):
        brighter = replace(nominal, power_error={lamp: STEP})
        yield (truth.readings(brighter) - expected) / STEP * (says["power_percent"] / 100.0)
    stiffer = replace(nominal, winding_error=STEP)
    yield (truth.readings(stiffer) - expected) / STEP * (says["winding_percent"] / 100.0)


def _mains(truth: Truth, fault: Fault, expected: Floats) -> Iterator[Floats]:
    """Mains, of all states together and of each state alone: as they are, or as they were measured."""
    states = len(truth.plan.states)
    higher = World(fault=fault, mains_ratio=(1.0 + STEP,) * states)
    slope = (truth.readings(higher) - expected) / STEP
    common_ratio, own_ratio = _mains_ratios(measured=truth.plan.mains_measured)
    yield slope * common_ratio
    for state in range(states):
        yield slope * np.array([reading.state == state for reading in truth.plan.readings]) * own_ratio


def _mains_ratios(*, measured: bool) -> tuple[float, float]:
    """Standard deviation of the mains common to all states, and of each state on top. [-]"""
    if measured:
        meter = MIX["meter"]
        own_v = _counted(meter["counts"], meter["mains_resolution_v"])
        return _uniform(meter["accuracy_percent"] / 100.0), own_v / RATED_MAINS_V
    return MIX["nuisance"]["mains_percent"] / 100.0, MIX["nuisance"]["mains_drift_percent"] / 100.0


def _gains(plan: Plan, expected: Floats) -> list[Floats]:
    """One gain for all volts, one for all amperes."""
    amperes = np.array([reading.quantity == "current" for reading in plan.readings])
    meter = MIX["meter"]
    return [
        np.where(amperes, 0.0, expected) * _uniform(meter["accuracy_percent"] / 100.0),
        np.where(amperes, expected, 0.0) * _uniform(meter["current_accuracy_percent"] / 100.0),
    ]


def _each_reading(plan: Plan) -> list[float]:
    """Variance of what no two readings share. [V² or A²]"""
    meter = MIX["meter"]
    volts = _counted(meter["counts"], meter["voltage_resolution_v"]) ** 2
    amperes = _counted(meter["current_counts"], meter["current_resolution_a"]) ** 2
    return [amperes if reading.quantity == "current" else volts for reading in plan.readings]


def _counted(counts: float, step: float) -> float:
    """Counts either way, uniform, then rounding."""
    return hypot(_uniform(counts * step), _uniform(step / 2.0))


def _uniform(half_width: float) -> float:
    """Standard deviation of a uniform distribution. [same]"""
    return half_width / sqrt(3.0)
