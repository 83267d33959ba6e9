"""What a job left open and how it was read; and the sources of the numbers that were used."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from service import tables
from service.circuit.cables import DATUM_20_C
from service.circuit.corners import USUAL_MAINS, USUAL_TEMPERATURES_C
from service.circuit.job import Remark, Supply
from service.circuit.layout import SAME_PLACE_M, STRIP_LUMPS
from service.circuit.runs import LUMPS
from service.circuit.state import DEFAULT_TEMPERATURE_C, Connected
from service.circuit.windows import REFERENCE_NOMINAL_V
from service.findings.finding import FindingFacts


@dataclass(frozen=True, slots=True, eq=False)
class AssumptionKind:
    """Something that a job leaves open, or a way in which it is read: its code and its sentence.

    There is one of each kind, which is equal to itself alone.
    """

    code: str
    message: str


SUPPLY_IDEAL: Final = AssumptionKind(
    "supply-ideal",
    "The supply's own resistance is not stated and taken as zero: its voltage does not sag with load.",
)

MAINS_NOMINAL: Final = AssumptionKind(
    "mains-nominal",
    "The mains are taken at their rated voltage.",
)

MAINS_AS_MEASURED: Final = AssumptionKind(
    "mains-as-measured",
    "The mains are taken as they were when the open-circuit voltage was measured.",
)

TAPS_SHARE_WINDING: Final = AssumptionKind(
    "taps-share-winding",
    "All taps share one winding whose resistance is referred to the primary; on a real tapped winding a"
    " low tap may read up to 0.06 V less.",
)

BATTERY_NOMINAL: Final = AssumptionKind(
    "battery-nominal",
    "What is shown is at the battery's nominal voltage; it is judged from its lowest to its highest.",
)

ONE_CIRCUIT: Final = AssumptionKind(
    "one-circuit",
    "All runs are on one circuit.",
)

FIRST_CIRCUIT_TAKEN: Final = AssumptionKind(
    "first-circuit-taken",
    "A run that names no circuit is taken to be on the first of the supply.",
)

FIXTURES_12_VOLT: Final = AssumptionKind(
    "fixtures-12-volt",
    f"The fixtures are made for {REFERENCE_NOMINAL_V:g} V.",
)

POWER_FACTOR_ONE: Final = AssumptionKind(
    "power-factor-one",
    "Where neither power factor nor volt-amperes are stated, volt-amperes equal watts. Many LED lamps on"
    " AC draw more: the label's VA is better.",
)

WINDOW_DEFAULT: Final = AssumptionKind(
    "window-default",
    "Fixtures without a window of their own are judged by common practice, no published source.",
)

CONDUCTOR_20_DEGREES: Final = AssumptionKind(
    "conductor-20-degrees",
    f"Conductors are at {DEFAULT_TEMPERATURE_C:g} °C. Warm ones have more resistance, about"
    f" {100.0 * tables.coefficient('copper', DATUM_20_C).coefficient_per_k:.1f} % a degree.",
)

CONDUCTOR_COPPER: Final = AssumptionKind(
    "conductor-copper",
    "Conductors without a stated material are copper.",
)

CONDUCTOR_STRANDED: Final = AssumptionKind(
    "conductor-stranded",
    "Conductors without a stated stranding are stranded (metric: IEC 60228 class 2).",
)

CONDUCTOR_DERIVED: Final = AssumptionKind(
    "conductor-derived",
    "A conductor that the tables do not print was derived from one that they do, on the safe side.",
)

POINTS_MERGED: Final = AssumptionKind(
    "points-merged",
    f"Points nearer than {1e3 * SAME_PLACE_M:g} mm to each other are one point.",
)

LAYOUT_UNKNOWN: Final = AssumptionKind(
    "layout-unknown",
    "Only the total load and the length are known. All of it is taken at the far end, the cautious layout;"
    " voltage-drop shows beside it what an even spread would give.",
)

SPREAD_AS_LUMPS: Final = AssumptionKind(
    "spread-as-lumps",
    f"A load spread evenly and without gaps is computed as {LUMPS} lumps; the error that this may leave is"
    " stated beside the end voltage.",
)

STRIP_CONSTANT_POWER: Final = AssumptionKind(
    "strip-constant-power",
    "A strip draws the same watts on each length of it at any voltage, as with regulators on it; one with"
    " resistors alone draws less where the voltage is lower.",
)

STRIP_WITHOUT_RAIL: Final = AssumptionKind(
    "strip-without-rail",
    "A strip whose own resistance is not stated is taken without: its far end is shown as its start.",
)

STRIP_AS_LUMPS: Final = AssumptionKind(
    "strip-as-lumps",
    f"A strip with resistance of its own is computed as {STRIP_LUMPS} lumps: while it loses less than a"
    " third of the voltage at its start, its far end reads low by less than 0.005 % of that.",
)

ALL_CURRENT_IN_PHASE: Final = AssumptionKind(
    "all-current-in-phase",
    "Every volt-ampere is counted as if it were a watt, as the request asks.",
)

_MAINS: Final = tables.mains_range(USUAL_MAINS)

OUTLET: Final = f"{_MAINS.lowest:g} to {_MAINS.highest:g} of {_MAINS.nominal:g} {_MAINS.unit}"
"""The usual range of mains, in words."""

USUAL_RANGE: Final = AssumptionKind(
    "usual-range",
    f"Where the request states no range, what is judged holds at mains of {OUTLET} (a battery's own"
    f" range) and conductors from {USUAL_TEMPERATURES_C[0]} to {USUAL_TEMPERATURES_C[1]} °C: common practice,"
    " no published source.",
)

STATED_STATE_ONLY: Final = AssumptionKind(
    "stated-state-only",
    "No corners were asked for: the choice is made for the state that the request describes, not for low"
    " or high mains or a hot cable.",
)


TAKEN: Final = {
    Remark.POWER_FACTOR_UNSTATED: POWER_FACTOR_ONE,
    Remark.MATERIAL_UNSTATED: CONDUCTOR_COPPER,
    Remark.STRANDING_UNSTATED: CONDUCTOR_STRANDED,
    Remark.CONDUCTOR_DERIVED: CONDUCTOR_DERIVED,
    Remark.SPREAD_AS_LUMPS: SPREAD_AS_LUMPS,
    Remark.STRIP_CONSTANT_POWER: STRIP_CONSTANT_POWER,
    Remark.STRIP_WITHOUT_RAIL: STRIP_WITHOUT_RAIL,
    Remark.STRIP_AS_LUMPS: STRIP_AS_LUMPS,
}
"""What a remark on a load or a cable takes for granted; the others are findings."""


def assumptions_of(connected: Connected) -> list[AssumptionKind]:
    """The assumptions, in a fixed order."""
    job, feed, layout = connected.job, connected.feed, connected.layout
    supply = job.supply
    remarks = {remark for line in layout.lines for remark in line.remarks}
    remarks.update(remark for cable in layout.cables() for remark in cable.remarks)
    taken = {TAKEN[remark] for remark in remarks if remark in TAKEN}
    held = {
        SUPPLY_IDEAL: feed.source_resistance == 0.0,
        MAINS_NOMINAL: _mains_assumed(supply),
        MAINS_AS_MEASURED: _mains_unknown(supply),
        TAPS_SHARE_WINDING: len(feed.taps_v) > 1 and feed.source_resistance > 0.0,
        BATTERY_NOMINAL: supply.kind == "battery",
        ONE_CIRCUIT: len(feed.circuits) == 1 and not supply.circuits,
        FIRST_CIRCUIT_TAKEN: len(supply.circuits) > 1
        and any(feeder.circuit is None for feeder in job.feeders()),
        FIXTURES_12_VOLT: job.nominal_v is None,
        POWER_FACTOR_ONE: POWER_FACTOR_ONE in taken,
        WINDOW_DEFAULT: any(line.window is None for line in layout.lines),
        CONDUCTOR_20_DEGREES: job.temperature_c is None,
        CONDUCTOR_COPPER: CONDUCTOR_COPPER in taken,
        CONDUCTOR_STRANDED: CONDUCTOR_STRANDED in taken,
        CONDUCTOR_DERIVED: CONDUCTOR_DERIVED in taken,
        POINTS_MERGED: layout.merged,
        ALL_CURRENT_IN_PHASE: job.all_in_phase,
        USUAL_RANGE: job.usual_range,
        LAYOUT_UNKNOWN: job.layout_unknown,
        SPREAD_AS_LUMPS: job.layout_unknown or SPREAD_AS_LUMPS in taken,
        STRIP_CONSTANT_POWER: STRIP_CONSTANT_POWER in taken,
        STRIP_WITHOUT_RAIL: STRIP_WITHOUT_RAIL in taken,
        STRIP_AS_LUMPS: STRIP_AS_LUMPS in taken,
    }
    return [kind for kind, holds in held.items() if holds]


def _mains_assumed(supply: Supply) -> bool:
    """Whether the mains were taken as nominal; a no-load voltage measured now already contains them."""
    return supply.kind == "transformer" and supply.mains is None and supply.open_circuit is None


def _mains_unknown(supply: Supply) -> bool:
    """Whether a no-load voltage came with its mains but the actual mains are not stated."""
    measured = supply.open_circuit
    return measured is not None and measured.at_primary_v is not None and supply.mains is None


def sources_of(connected: Connected, findings: list[FindingFacts]) -> list[str]:
    """Ids of the sources used, in the order of use; the caller and our own calculation among them."""
    layout = connected.layout
    used = [source for cable in layout.cables() for source in cable.sources]
    if any(line.filament for line in layout.lines):
        used.append("lamp-rerating")
    used.extend(finding.source for finding in findings)
    return used
