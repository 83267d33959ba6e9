"""For each finding about a reading the smallest request that shows it and a neighbour that does not."""

from typing import Any

from tests import jobs
from tests.findings.finding_examples import Example
from tests.jobs import Json
from tests.studies.readings_check.jobs import PATH, amps_at, fixture, ohms_at, volts_at

WALK = jobs.job(jobs.run(jobs.lamp(10, jobs.watts(5)), jobs.lamp(20, jobs.watts(5)), cable=jobs.awg(12)))
LAGGING = jobs.job(jobs.run(jobs.lamp(10, jobs.volt_amperes(5, 8)), cable=jobs.awg(12)))
GLOWING = jobs.job(jobs.run(jobs.lamp(10, jobs.resistor(5)), cable=jobs.awg(12)))
FAR = jobs.job(jobs.run(jobs.lamp(120, jobs.watts(60)), cable=jobs.awg(12)))
OWN = "own-calculation"

NEAR = jobs.job(jobs.run(jobs.lamp(8, jobs.watts(5)), cable=jobs.awg(12)))

# 8 m of 12 AWG out and back by NEC chapter 9 table 8: 1.98 ohm/kft at 75 °C, less 0.00323 a kelvin to 20 °C.
EIGHT_METRES_OHM = 2.0 * 8.0 / 304.8 * 1.98 * (1.0 - 0.00323 * 55.0)


def read(*readings: Json, wiring: Json = WALK, **more: Json) -> Json:
    return {**wiring, "readings": list(readings), **more}


def near_the_end(value_v: float) -> Json:
    """Upstream at 11.5 V, by a meter of which each reading may be off by 0.015 V."""
    return read(
        volts_at(fixture(0), 11.5),
        volts_at(fixture(1), value_v),
        instrument={
            "accuracy_percent": 0,
            "counts": 1.2990381,
            "voltage_resolution": jobs.quantity(10, "mV"),
        },
    )


def idle_end(value_v: float) -> Json:
    """The same two places by the same meter with nothing on."""
    request = near_the_end(value_v)
    return {**request, "readings": [{**said, "state": {"on": "no-load"}} for said in request["readings"]]}


# 5 A each behind 0.1 and 0.2 ohm: 11 V and 10 V by Ohm's law.
AMPERES = jobs.job(jobs.run(jobs.lamp(10, jobs.amperes(5)), jobs.lamp(30, jobs.amperes(5))))

READINGS = (
    Example(
        "reading-without-state", "warning", "/readings/0", OWN,
        read(volts_at(fixture(0), 11.9, None)), read(volts_at(fixture(0), 11.9)), path=PATH,
    ),
    Example(
        "reading-above-supply", "fault", "/readings/0", OWN,
        read(volts_at(None, 18, "no-load")), read(volts_at(None, 16.8, "no-load")),
        (18.0, "V"), (12.0, "V"), PATH,
    ),
    Example(
        "reading-above-upstream", "fault", "/readings/1", OWN,
        near_the_end(11.5301), near_the_end(11.5299), (11.5301, "V"), (11.5, "V"), PATH,
    ),
    Example(
        "current-without-load", "warning", "/readings/0", OWN,
        read(amps_at(None, 0.4, "no-load")), read(amps_at(None, 0.05, "no-load")),
        (0.4, "A"), (0.0, "A"), PATH,
    ),
    Example(
        "drop-beyond-cable", "fault", "/readings/0", OWN,
        read(volts_at(fixture(0), 6), wiring=NEAR), read(volts_at(fixture(0), 7.3), wiring=NEAR),
        (6.0, "V"), (round(6.0 / EIGHT_METRES_OHM, 5), "A"), PATH,
    ),
    Example(
        "drop-without-load", "fault", "/readings/1", OWN,
        idle_end(11.4699), idle_end(11.4701), (11.4699, "V"), (11.5, "V"), PATH,
    ),
    Example(
        "clamp-reads-nothing", "note", "/readings/0", OWN,
        read(amps_at(None, 0.0577), wiring=AMPERES), read(amps_at(None, 0.0579), wiring=AMPERES),
        (0.0577, "A"), (10.0, "A"), PATH,
    ),
    Example(
        "reading-decimal", "note", "/readings/0", OWN,
        read(volts_at(None, 1.2599, "no-load")), read(volts_at(None, 1.2601, "no-load")),
        (1.2599, "V"), (12.599, "V"), PATH,
    ),
    Example(
        "readings-exchanged", "note", "/readings/1", OWN,
        read(volts_at(fixture(0), 10.19), volts_at(fixture(1), 10.81), wiring=AMPERES),
        read(volts_at(fixture(0), 10.21), volts_at(fixture(1), 10.79), wiring=AMPERES),
        (10.81, "V"), (10.19, "V"), PATH,
    ),
    Example(
        "meter-averages", "warning", "/readings/0", OWN,
        read(volts_at(fixture(0), 11.9), wiring=LAGGING, instrument={"kind": "averaging"}),
        read(volts_at(fixture(0), 11.9), wiring=LAGGING, instrument={"kind": "true-rms"}), path=PATH,
    ),
    Example(
        "reading-state-unfit", "warning", "/readings/0", OWN,
        read(ohms_at(fixture(0), 0.4, "no-load")), read(ohms_at(fixture(0), 0.4)), path=PATH,
    ),
    Example(
        "resistance-lamps-in", "warning", "/readings/0", OWN,
        read(ohms_at(fixture(0), 0.4), wiring=GLOWING),
        read(ohms_at(fixture(0), 0.4, {"on": "disconnected", "lamps_out": True}), wiring=GLOWING), path=PATH,
    ),
    Example(
        "state-cannot-be-carried", "fault", "/readings/0", OWN,
        read(volts_at(fixture(0), 9), wiring=FAR), read(volts_at(fixture(0), 12, "no-load"), wiring=FAR),
        path=PATH,
    ),
)  # fmt: skip
"""A reading of 1.5 / (2/√3) counts of 10 mV may be off by 15 mV (twice its uncertainty), two by 30 mV."""


def supply_of(**more: Any) -> Json:
    """A transformer, and one reading of it without load."""
    return {**WALK, "supply": jobs.transformer(**more), "readings": [volts_at(None, 12, "no-load")]}


MAINS = {"on": "no-load", "mains": jobs.volts(118)}
"""A state in which the mains were measured."""
