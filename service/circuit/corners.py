"""The states that a job must stand: low and high mains, cold and hot cable, and what is on alone.

The hot corner is not always the lowest (behind a winding more resistance in the cable sheds load), and a
filament draws most at high mains in the cold: every corner is solved and the extremes are taken for each
quantity.
"""

from __future__ import annotations

from typing import Final, NamedTuple

from service.circuit.job import Corners, Job, JobPart, Mains, Supply

TOGETHER, BY_RUN, INDIVIDUALLY = "together", "by-run", "individually"

LOWEST, HIGHEST = "lowest", "highest"


class Corner(NamedTuple):
    """One state of supply and cable; `on` is what alone is on, None where all is. [-], [°C]

    `battery` is lowest or highest where a battery stands there; the mains are then as stated.
    """

    mains: str
    mains_ratio: float | None
    temperature: str
    temperature_c: float | None
    on: JobPart | None = None
    battery: str = ""

    def is_light(self, switching: str) -> bool:
        """Whether the highest voltage may be that of a light load in this corner.

        So it may on hot cable as well: that keeps the other lamps of a run, or the filament itself, from the
        current that costs the shared cable and the winding their volts.
        """
        return switching != TOGETHER and LOWEST not in {self.mains, self.battery}


USUAL_MAINS: Final = "outlet"
"""The range of mains, by its name in the tables, over which a choice is judged where none is stated."""

USUAL_TEMPERATURES_C: Final = (-10, 40)
"""And of conductors: common practice, no published source. [°C]"""


AS_STATED = Corner("as stated", None, "as stated", None)
"""The state that a request describes, which is no corner."""


def states_of(job: Job) -> list[Corner]:
    """Every state that a choice for a job must stand: the stated one, and every corner asked for."""
    return list(dict.fromkeys([*corners_of(job.corners), AS_STATED]))


def corners_of(corners: Corners | None) -> list[Corner]:
    """Every corner with all on: {lowest, highest mains or battery} x {cold, hot cable}; none without any."""
    if corners is None:
        return []
    levels = [AS_STATED]
    if corners.battery:
        levels = [AS_STATED._replace(battery=level) for level in (LOWEST, HIGHEST)]
    elif corners.mains_ratios is not None:
        named = zip((LOWEST, HIGHEST), corners.mains_ratios, strict=True)
        levels = [AS_STATED._replace(mains=level, mains_ratio=ratio) for level, ratio in named]
    temperatures: list[tuple[str, float | None]] = [(AS_STATED.temperature, None)]
    if corners.temperatures_c is not None:
        temperatures = list(zip(("cold", "hot"), corners.temperatures_c, strict=True))
    return [
        level._replace(temperature=warmth, temperature_c=temperature_c)
        for level in levels
        for warmth, temperature_c in temperatures
    ]


def at_corner(job: Job, corner: Corner) -> Job:
    """The job as it stands in a corner."""
    temperature_c = job.temperature_c if corner.temperature_c is None else corner.temperature_c
    supply = job.supply
    if corner.battery and supply.range_v is not None:
        supply = supply._replace(standing_v=(min if corner.battery == LOWEST else max)(supply.range_v))
    elif corner.mains_ratio is not None:
        supply = _mains_at(supply, corner.mains_ratio)
    return job._replace(supply=supply, temperature_c=temperature_c, margin=False, corners=None)


def _mains_at(supply: Supply, ratio: float) -> Supply:
    """A transformer at this share of its rated mains [-]; a DC supply does not follow the mains.

    A no-load voltage that was measured without its mains belongs to the mains as stated, or to the
    rated.
    """
    if supply.direct_current:
        return supply
    mains = supply.mains or Mains(1.0, 1.0)
    measured = supply.open_circuit
    if measured is not None and measured.at_primary_v is None:
        measured = measured._replace(at_primary_v=mains.actual_v)
    return supply._replace(mains=Mains(mains.rated_v, mains.rated_v * ratio), open_circuit=measured)
