"""The states that a job must stand: low and high mains, cold and hot cable, and what is on alone.

The hot corner is not always the lowest (behind a winding more resistance in the cable sheds load), and a
filament draws most at high mains in the cold: every corner is solved and the extremes are taken for each
quantity.
"""

from __future__ import annotations

from typing import NamedTuple

from service.circuit.job import Corners, Job, JobPart, Mains, Supply

TOGETHER, BY_RUN, INDIVIDUALLY = "together", "by-run", "individually"


class Corner(NamedTuple):
    """One state of supply and cable; `on` is what alone is on, None where all is. [-], [°C]"""

    mains: str
    mains_ratio: float | None
    temperature: str
    temperature_c: float | None
    on: JobPart | None = None

    def is_light(self, switching: str) -> bool:
        """Whether the highest voltage may be that of a light load in this corner.

        So it may on hot cable as well: that keeps the other lamps of a run, or the filament itself, from the
        current that costs the shared cable and the winding their volts.
        """
        return switching != TOGETHER and self.mains != "lowest"


AS_STATED = Corner("as stated", None, "as stated", None)
"""The state that a request describes, which is no corner."""


def states_of(job: Job) -> list[Corner]:
    """Every state that a choice for a job must stand: the one that was said, and every corner asked for."""
    corners = [] if job.corners is None else corners_of(job.corners)
    return list(dict.fromkeys([*corners, AS_STATED]))


def corners_of(corners: Corners) -> list[Corner]:
    """Every corner with all on: {lowest, highest mains} x {cold, hot cable}."""
    mains: list[tuple[str, float | None]] = [("as stated", None)]
    if corners.mains_ratios is not None:
        mains = list(zip(("lowest", "highest"), corners.mains_ratios, strict=True))
    temperatures: list[tuple[str, float | None]] = [("as stated", None)]
    if corners.temperatures_c is not None:
        temperatures = list(zip(("cold", "hot"), corners.temperatures_c, strict=True))
    return [
        Corner(level, ratio, warmth, temperature_c)
        for level, ratio in mains
        for warmth, temperature_c in temperatures
    ]


def at_corner(job: Job, corner: Corner) -> Job:
    """The job as it stands in a corner."""
    temperature_c = job.temperature_c if corner.temperature_c is None else corner.temperature_c
    supply = job.supply
    if corner.mains_ratio is not None:
        supply = _battery_at(supply, corner) if supply.range_v else _mains_at(supply, corner.mains_ratio)
    return job._replace(supply=supply, temperature_c=temperature_c, margin=False, corners=None)


def _battery_at(supply: Supply, corner: Corner) -> Supply:
    """A battery stands at its lowest or its highest where a transformer has low or high mains."""
    if supply.range_v is None:
        return supply
    lowest_v, highest_v = min(supply.range_v), max(supply.range_v)
    return supply._replace(standing_v=lowest_v if corner.mains == "lowest" else highest_v)


def _mains_at(supply: Supply, ratio: float) -> Supply:
    """A transformer at this share of its rated mains [-]; a DC supply does not follow the mains.

    A no-load voltage that was measured without its mains belongs to the mains as they were said, or to the
    rated.
    """
    if supply.direct_current:
        return supply
    said = supply.mains or Mains(1.0, 1.0)
    measured = supply.open_circuit
    if measured is not None and measured.at_primary_v is None:
        measured = measured._replace(at_primary_v=said.actual_v)
    return supply._replace(mains=Mains(said.rated_v, said.rated_v * ratio), open_circuit=measured)
