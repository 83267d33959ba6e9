"""What a lamp, a cable, a joint and a supply can have: no fault is offered with a size beyond these.

All of it is common practice, no published source, but where a constant names one.
"""

from __future__ import annotations

from functools import lru_cache

from service.circuit.cables import Cable, resolve_cable
from service.circuit.job import CableSpec, Listed

LOWEST_SUPPLY, HIGHEST_SUPPLY = 0.4, 1.4
"""Of the open-circuit voltage: half of it is 12 V on 24 V lamps; more than the upper one no tap gives. [-]"""

LOWEST_WINDING, MOST_WINDING = 0.02, 20.0
"""Of the winding's resistance; of an ideal supply over a twentieth of the load's own. [-]"""

LOWEST_CABLE, HIGHEST_CABLE = 0.25, 7.0
"""Six sizes of AWG thicker, eight thinner; copper-clad aluminium lies at 1.6. [-]"""

THINNEST, THICKEST = "18 AWG", "6 AWG"
"""Low-voltage lighting is wired in no thinner and no thicker conductor; of another metal or in another length
than stated it may have some more or less."""

OTHERWISE = 2.0
"""A resistance up to so many times as large may be one of length or metal, whatever the size. [-]"""

MOST_SPLICE_OHM, SMALL_SPLICE_OHM = 1e5, 0.02
"""A corroded joint may have any resistance up to a broken one; a good one has less than the small. [ohm]"""

MOST_POWER = 5.0
"""Of a fixture's load: a halogen lamp of the same light in place of an LED; zero is a dark one. [-]"""

MOST_UNDECLARED, LEAST_UNDECLARED_W = 5.0, 300.0
"""Over everything that is declared, and at least so much. [-], [W]"""

LOWEST_POWER_FACTOR = 0.3


def cable_bounds(cable: Cable | None, temperature_c: float) -> tuple[float, float]:
    """Least and most resistance that a cable in place of a stated one can have, over that of the one. [-]"""
    if cable is None:
        return LOWEST_CABLE, HIGHEST_CABLE
    thickest, thinnest = (_ohm_per_m(size, temperature_c) / cable.ohm_per_m for size in (THICKEST, THINNEST))
    low = max(LOWEST_CABLE, min(thickest, 1.0) / OTHERWISE)
    return low, min(HIGHEST_CABLE, max(thinnest, 1.0) * OTHERWISE)


@lru_cache(maxsize=64)
def _ohm_per_m(size: str, temperature_c: float) -> float:
    """Of a copper pair, both conductors. [ohm/m]"""
    return resolve_cable(CableSpec(Listed(size, None, None), None, 1), temperature_c).ohm_per_m
