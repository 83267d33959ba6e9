"""A second way to every choice of cables: try all of them.

The oracle lays nothing, prunes nothing and shares no code with the service: dense matrices, a fixed point
from no load (the textbook method of `tests/cases/derivation.py`), every choice at once, and prices in
fractions.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from functools import cache
from itertools import product
from math import ceil
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tests.cases.derivation import nec_awg
from tests.jobs import Json

Numbers = NDArray[np.complex128]

# NEC 310.16, 60 °C column, and 240.4(D); 16 and 18 AWG are the limits of the device.
AMPACITY_A = {18: 7.0, 16: 10.0, 14: 15.0, 12: 20.0, 10: 30.0, 8: 40.0}

MOST_CHOICES = 700

MARGINAL = 1e-6
"""A choice this near to a limit is no fair question. [V], [A], [-]"""


@dataclass
class Piece:
    """A stretch of cable between two points; a lead has its resistance, and no place to choose for."""

    start: int
    end: int
    length_m: int
    cable_at: str
    from_m: float
    ohm: float | None = None
    leg: bool = False


@dataclass
class Hung:
    """One lamp: how it draws, its window, and the run that it hangs on."""

    point: int
    kind: str
    real: float
    other: float
    low_v: float
    high_v: float
    run: int


@dataclass
class Garden:
    """A request, and the same garden for the oracle."""

    request: Json
    sizes: list[int]
    open_circuit_v: float
    source_ohm: float
    limit_ratio: float | None
    device_a: float | None
    rating_va: float | None = None
    pieces: list[Piece] = field(default_factory=list)
    lamps: list[Hung] = field(default_factory=list)

    @property
    def points(self) -> int:
        """The terminal counted."""
        return 1 + max((piece.end for piece in self.pieces), default=0)

    def few_choices(self, scope: str) -> bool:
        """Whether every choice can be tried."""
        return bool(len(self.sizes) ** len(self.places(scope)) <= MOST_CHOICES)

    def places(self, scope: str) -> list[tuple[Any, list[Piece]]]:
        """What is chosen together, in the order of laying."""
        groups: dict[Any, list[Piece]] = {}
        for index, piece in enumerate(self.pieces):
            if piece.ohm is None:
                groups.setdefault({"one": 0, "per-run": piece.cable_at, "per-span": index}[scope], []).append(
                    piece
                )
        return list(groups.items())

    def ohms(self, choices: NDArray[np.int64], scope: str) -> NDArray[np.float64]:
        """Resistance of each piece under each choice. [ohm], (choices, pieces)"""
        per_m = np.array([nec_awg(size, 1.0 / 0.3048) for size in self.sizes])
        ohms = np.array([[piece.ohm or 0.0 for piece in self.pieces]] * len(choices))
        at = {id(piece): index for index, piece in enumerate(self.pieces)}
        for slot, (_, group) in enumerate(self.places(scope)):
            for piece in group:
                ohms[:, at[id(piece)]] = piece.length_m * per_m[choices[:, slot]]
        return ohms

    def voltages(self, ohms: NDArray[np.float64], tap_ratio: NDArray[np.float64] | None = None) -> Numbers:
        """Voltage at each point, the terminal first, NaN where nothing settles. [V], (choices, points)"""
        return settle(self, ohms, tap_ratio)

    def passing(self, choices: NDArray[np.int64], scope: str) -> tuple[NDArray[np.bool_], bool]:
        """Which choices keep every limit, and whether one of them comes too near to a limit to tell."""
        ohms = self.ohms(choices, scope)
        volts_at = self.voltages(ohms)
        margins = [
            *self._window_margins(volts_at),
            *self._current_margins(volts_at, ohms, choices, scope),
            *self.supply_margins(volts_at, ohms),
        ]
        # A choice that collapsed has no voltages, and does not pass.
        worst = np.nan_to_num(np.min(margins, axis=0), nan=-1.0)
        return worst >= 0.0, bool((np.abs(worst) < MARGINAL).any())

    def _window_margins(self, volts_at: Numbers) -> list[NDArray[np.float64]]:
        level = np.abs(volts_at)
        margins = []
        for hung in self.lamps:
            lamp_v = level[:, hung.point]
            margins += [lamp_v - hung.low_v, hung.high_v - lamp_v]
            if self.limit_ratio is not None:
                margins.append(self.limit_ratio - (level[:, 0] - lamp_v) / 12.0)
        return margins or [np.ones(len(volts_at))]

    def supply_margins(self, volts_at: Numbers, ohms: NDArray[np.float64]) -> list[NDArray[np.float64]]:
        """The rating of the transformer, as a share of it, and the device of the one circuit. [-], [A]"""
        margins = []
        if self.rating_va is not None:
            # What comes through the winding, at the terminals.
            amps = np.abs(self.open_circuit_v - volts_at[:, 0]) / self.source_ohm
            margins.append(1.0 - np.abs(volts_at[:, 0]) * amps / self.rating_va)
        if self.device_a is not None:
            leaving = [index for index, piece in enumerate(self.pieces) if piece.start == 0]
            drawn = sum((volts_at[:, 0] - volts_at[:, self.pieces[i].end]) / ohms[:, i] for i in leaving)
            margins.append(self.device_a - np.abs(drawn))
        return margins

    def _current_margins(
        self, volts_at: Numbers, ohms: NDArray[np.float64], choices: NDArray[np.int64], scope: str
    ) -> list[NDArray[np.float64]]:
        ampacity = np.array([AMPACITY_A[size] for size in self.sizes])
        margins = []
        for slot, (_, group) in enumerate(self.places(scope)):
            if self.device_a is not None:
                margins.append(np.where(ampacity[choices[:, slot]] >= self.device_a, 1.0, -1.0))
            for piece in group:
                index = next(i for i, other in enumerate(self.pieces) if other is piece)
                amps = np.abs(volts_at[:, piece.start] - volts_at[:, piece.end]) / ohms[:, index]
                margins.append(ampacity[choices[:, slot]] - amps)
        return margins

    def best(self, scope: str) -> tuple[tuple[int, ...] | None, bool]:
        """The cheapest choice that passes, of equals the first; and whether the question is a fair one."""
        every = list(product(range(len(self.sizes)), repeat=len(self.places(scope))))
        passing, marginal = self.passing(np.array(every, dtype=np.int64).reshape(len(every), -1), scope)
        priced = [
            (cost, choice)
            for choice, good in zip(every, passing, strict=True)
            if good and (cost := self.cost(choice, scope)) is not None
        ]
        return (min(priced)[1] if priced else None), not marginal

    def cost(self, choice: tuple[int, ...], scope: str) -> Fraction | None:
        """Price of a choice, whole spools included; of an unpriced stock its metal, by ASTM B258 areas.

        None where a piece is longer than every spool of its cable, and may not be joined.
        """
        lengths: dict[int, int] = {}
        joined = self.request.get("cutting") == {"joints": "anywhere"}
        in_spools = {} if joined else self.spooled(choice, scope)
        if None in in_spools.values():
            return None
        for index, (_, group) in zip(choice, self.places(scope), strict=True):
            lengths[index] = lengths.get(index, 0) + sum(piece.length_m for piece in group)
        stock = self.request["stock"]
        if any("price" not in cable for cable in stock):
            # Circular mils of the sizes, NEC chapter 9 table 8; wire sizes differ by enough to order any sum.
            mils = {18: 1620, 16: 2580, 14: 4110, 12: 6530, 10: 10380, 8: 16510}
            return Fraction(sum(mils[self.sizes[index]] * length for index, length in lengths.items()))
        total = Fraction(0)
        for index, length in lengths.items():
            total += in_spools.get(index) or price(stock[index]["price"], length)
        return total

    def spooled(self, choice: tuple[int, ...], scope: str) -> dict[int, Fraction | None]:
        """Price of each cable that is sold in spools, every piece in one; None where one is too long."""
        cable_of = {
            id(piece): index
            for index, (_, group) in zip(choice, self.places(scope), strict=True)
            for piece in group
        }
        cut: dict[int, list[int]] = {}
        before: Piece | None = None
        for piece in self.pieces:
            if piece.ohm is not None:
                continue
            own = cut.setdefault(cable_of[id(piece)], [])
            if (
                before is not None
                and (before.cable_at, before.end, False) == (piece.cable_at, piece.start, piece.leg)
                and cable_of[id(before)] == cable_of[id(piece)]
            ):
                own[-1] += piece.length_m
            else:
                own.append(piece.length_m)
            before = piece
        offers = [cable.get("price", {"kind": "per-length"}) for cable in self.request["stock"]]
        return {
            index: cut_price(
                tuple((int(each["length"]["value"]), Fraction(each["amount"])) for each in offer["spools"]),
                tuple(sorted(lengths)),
            )
            for index, lengths in cut.items()
            for offer in [offers[index]]
            if offer["kind"] == "per-spool"
        }


@cache
def cut_price(spools: tuple[tuple[int, Fraction], ...], pieces: tuple[int, ...]) -> Fraction | None:
    """The cheapest spools that hold every piece whole, by trying every set of pieces with the first."""
    if not pieces:
        return Fraction(0)
    first, others = pieces[0], pieces[1:]
    best: Fraction | None = None
    for chosen in product((False, True), repeat=len(others)):
        length = first + sum(each for each, with_it in zip(others, chosen, strict=True) if with_it)
        own = min((cost for size, cost in spools if size >= length), default=None)
        if own is None:
            continue
        rest = cut_price(
            spools, tuple(each for each, with_it in zip(others, chosen, strict=True) if not with_it)
        )
        if rest is not None and (best is None or own + rest < best):
            best = own + rest
    return best


def price(offer: Json, length_m: int) -> Fraction:
    """Price of a length, by trying every number of every spool."""
    if offer["kind"] == "per-length":
        return Fraction(offer["amount"]) * length_m
    spools = [(int(spool["length"]["value"]), Fraction(spool["amount"])) for spool in offer["spools"]]
    counts = product(*(range(ceil(length_m / size) + 1) for size, _ in spools))
    return min(
        sum((number * cost for number, (_, cost) in zip(numbers, spools, strict=True)), Fraction(0))
        for numbers in counts
        if sum(number * size for number, (size, _) in zip(numbers, spools, strict=True)) >= length_m
    )


def settle(
    garden: Garden, ohms: NDArray[np.float64], tap_ratio: NDArray[np.float64] | None = None
) -> Numbers:
    """Fixed point from no load, for every row of resistances at once.

    `tap_ratio` is the tap of each run over the rated secondary, (rows, runs): everything is referred to the
    rated secondary, on which a higher tap draws as much more current.
    """
    rows, points = len(ohms), garden.points
    ratio = np.ones((rows, 1 + max((hung.run for hung in garden.lamps), default=0)))
    ratio = ratio if tap_ratio is None else tap_ratio
    run_of = _run_of_points(garden)
    matrix = np.zeros((rows, points, points))
    for index, piece in enumerate(garden.pieces):
        siemens = ratio[:, run_of[piece.end]] ** 2 / ohms[:, index]
        matrix[:, piece.start, piece.start] += siemens
        matrix[:, piece.end, piece.end] += siemens
        matrix[:, piece.start, piece.end] -= siemens
        matrix[:, piece.end, piece.start] -= siemens
    matrix[:, 0, 0] += 1.0 / max(garden.source_ohm, 1e-9)
    transfer = np.linalg.inv(matrix)
    level = np.full((rows, points), complex(garden.open_circuit_v))
    scale = np.stack([ratio[:, run_of[point]] for point in range(points)], axis=1)
    for _ in range(4_000):
        with np.errstate(invalid="ignore"):  # rows that collapsed stay NaN
            drawn = _drawn(garden, level * scale.astype(complex)) * scale
            after = garden.open_circuit_v - np.einsum("rij,rj->ri", transfer, drawn)
            after[after.real.min(axis=1) <= 0.0] = np.nan
            moved = np.nan_to_num(np.abs(after - level)).max()
        level = after
        if moved < 1e-12:
            break
    settled: Numbers = level * scale.astype(complex)
    return settled


def _run_of_points(garden: Garden) -> list[int]:
    run_of = [0] * garden.points
    for piece in garden.pieces:
        run_of[piece.end] = int(piece.cable_at.split("/")[3])
    return run_of


def _drawn(garden: Garden, volts_at: Numbers) -> Numbers:
    drawn = np.zeros_like(volts_at)
    for hung in garden.lamps:
        at = volts_at[:, hung.point]
        turn = at / np.abs(at)
        if hung.kind == "power":
            drawn[:, hung.point] += np.conj(complex(hung.real, hung.other) / at)
        elif hung.kind == "current":
            drawn[:, hung.point] += complex(hung.real, -hung.other) * turn
        elif hung.kind == "resistor":
            drawn[:, hung.point] += hung.real / 144.0 * at
        else:
            drawn[:, hung.point] += hung.real / 12.0**1.55 * np.abs(at) ** 0.55 * turn
    return drawn
