r"""From degrees on the ellipsoid of WGS 84 to a plane that touches it, and back.

.. math:: x = \Delta\lambda \, N(\varphi) \cos\varphi, \quad
          y = \Delta\varphi \, M\!\left(\varphi_0 + \tfrac{1}{2}\Delta\varphi\right)
              + \tfrac{1}{2} \Delta\lambda^2 N(\varphi) \sin\varphi \cos\varphi

These are the first terms of the transverse Mercator series about the point of contact; M and N are the radii
of curvature along and across the meridian. Lengths on a plan of 500 m are off by less than 1 mm, up to 85° of
latitude.

References
----------
.. [1] NIMA TR8350.2, third edition, table 3.1: the ellipsoid of WGS 84.
.. [2] J. P. Snyder, Map Projections, a Working Manual, USGS Professional Paper 1395 (1987), chapter 8:
   the series of which these are the first terms; from memory.
"""

from __future__ import annotations

from math import cos, degrees, radians, sin, sqrt
from typing import Final

SEMI_MAJOR_M: Final = 6_378_137.0
"""[m]"""


FLATTENING: Final = 1.0 / 298.257223563
"""[-]"""


ECCENTRICITY_SQUARED: Final = FLATTENING * (2.0 - FLATTENING)


STEPS_BACK: Final = 4
"""Each makes what is off about a thousand times smaller."""


def radii_m(latitude: float) -> tuple[float, float]:
    """Radii of curvature along and across the meridian at a latitude [°]. [m]"""
    sine = sin(radians(latitude))
    bulge = 1.0 - ECCENTRICITY_SQUARED * sine * sine
    return SEMI_MAJOR_M * (1.0 - ECCENTRICITY_SQUARED) / bulge**1.5, SEMI_MAJOR_M / sqrt(bulge)


def flattened(origin: tuple[float, float], place: tuple[float, float]) -> tuple[float, float]:
    """East and north of an origin [m] of a place, both by longitude and latitude. [°]"""
    longitude, latitude = radians(place[0] - origin[0]), place[1]
    east_m, bend_m = _across(longitude, latitude)
    along_m, _ = radii_m(0.5 * (origin[1] + latitude))
    return east_m, radians(latitude - origin[1]) * along_m + bend_m


def unflattened(origin: tuple[float, float], position: tuple[float, float]) -> tuple[float, float]:
    """Longitude and latitude [°] of what lies so far east and north of an origin. [m]"""
    (east_m, north_m), latitude, longitude = position, origin[1], 0.0
    for _ in range(STEPS_BACK):
        a_radian_m, _ = _across(1.0, latitude)
        longitude = east_m / a_radian_m
        _, bend_m = _across(longitude, latitude)
        along_m, _ = radii_m(0.5 * (origin[1] + latitude))
        latitude = origin[1] + degrees((north_m - bend_m) / along_m)
    return origin[0] + degrees(longitude), latitude


def _across(longitude: float, latitude: float) -> tuple[float, float]:
    """How far east a longitude beyond the origin's [rad] lies, and how far its parallel bends north. [m]"""
    _, across_m = radii_m(latitude)
    parallel_m = across_m * cos(radians(latitude))
    return longitude * parallel_m, 0.5 * longitude * longitude * parallel_m * sin(radians(latitude))
