"""Resistance of conductors and of the two-conductor cables made of them."""

from collections.abc import Sequence


def resistance_at(
    temperature_c: float, *, resistance: float, datum_c: float, coefficient_per_k: float
) -> float:
    r"""Resistance of a conductor at a working temperature.

    .. math:: R_\theta = R_d \left[1 + \alpha_d (\theta - \theta_d)\right]

    Parameters
    ----------
    temperature_c : float
        Conductor temperature. [°C]
    resistance : float
        Resistance at the datum temperature. [any unit of resistance]
    datum_c : float
        Temperature at which `resistance` is stated. [°C]
    coefficient_per_k : float
        Temperature coefficient that belongs to that datum, never to another. [1/K]

    Returns
    -------
    resistance : float
        Resistance at `temperature_c`. [same unit as given]

    Notes
    -----
    Linear, as both tables that use it say; between -40 °C and 90 °C the true curve of copper is within 0.2 %
    of it. A 20 °C coefficient used on a 75 °C value is wrong by about 4 % over 55 K, which is why the two
    travel together.

    Examples
    --------
    NEC chapter 9 table 8, 12 AWG stranded copper: 1.98 ohm/kft at 75 °C, note on temperature correction [1]_.

    >>> round(resistance_at(20.0, resistance=1.98, datum_c=75.0, coefficient_per_k=0.00323), 4)
    1.6283

    References
    ----------
    .. [1] NFPA 70, National Electrical Code, chapter 9, table 8 and its notes.
    """
    return resistance * (1.0 + coefficient_per_k * (temperature_c - datum_c))


def cable_resistance(conductor_ohm_per_m: float, *, other_ohm_per_m: float, cables_in_parallel: int) -> float:
    """Resistance of one metre of route: out on one conductor and back on the other.

    This is the only place where the return conductor is counted. Every length elsewhere is one way along the
    route.

    Parameters
    ----------
    conductor_ohm_per_m : float
        One conductor. [ohm/m]
    other_ohm_per_m : float
        The conductor that brings the current back; equal to the first in an ordinary cable. [ohm/m]
    cables_in_parallel : int
        Identical cables side by side, joined at both ends. [-]

    Returns
    -------
    resistance : float
        Both conductors, per metre of one-way route. [ohm/m]

    Examples
    --------
    2 A over 200 m at 0.3 ohm/km a conductor and 1 A/m drops 24.0 V at the end in the textbook that counts
    both conductors [1]_ and 12.0 V in one that forgets the return.

    >>> cable_resistance(0.0003, other_ohm_per_m=0.0003, cables_in_parallel=1)
    0.0006

    References
    ----------
    .. [1] V. K. Mehta, Principles of Power System, chapter 13, example 13.5.
    """
    return (conductor_ohm_per_m + other_ohm_per_m) / cables_in_parallel


def joined_resistance(
    conductor_ohm_per_m: float,
    *,
    other_ohm_per_m: float,
    lengths_m: Sequence[float],
    joints_ohm: Sequence[float],
) -> float:
    r"""Resistance of cables side by side that are joined at both ends, with joints in some of them.

    .. math:: R = \sum_{p=1}^{2} \left[ \sum_c \frac{1}{r_p l_c + R_c / 2} \right]^{-1}

    Each pole by itself is conductors in parallel: the others carry what one with a joint in it does not.

    Parameters
    ----------
    conductor_ohm_per_m : float
        One conductor. [ohm/m]
    other_ohm_per_m : float
        The conductor that brings the current back. [ohm/m]
    lengths_m : sequence of float
        Of each cable, above 0. [m]
    joints_ohm : sequence of float
        Of the joints in each, both conductors alike together. [ohm]

    Returns
    -------
    resistance : float
        Both poles. [ohm]

    Examples
    --------
    Two of three cables of 1 ohm have no joint, one has joints of 1 ohm: by hand 1/(1/1 + 1/1 + 1/2) = 0.4.

    >>> joined_resistance(0.05, other_ohm_per_m=0.05, lengths_m=[10.0] * 3, joints_ohm=[0.0, 0.0, 1.0])
    0.4
    """
    return sum(
        1.0
        / sum(
            1.0 / (ohm_per_m * length_m + ohm / 2.0)
            for length_m, ohm in zip(lengths_m, joints_ohm, strict=True)
        )
        for ohm_per_m in (conductor_ohm_per_m, other_ohm_per_m)
    )
