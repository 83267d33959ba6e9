"""The cables of a stock, and how they are sold."""

from __future__ import annotations

from decimal import Decimal
from typing import NamedTuple

from service import tables
from service.circuit.cables import DATUM_20_C, resolve_cable
from service.circuit.job import CableSpec, JobPart, Listed
from service.findings.finding import FindingFacts
from service.findings.protection import unknown_ampacity


class Spool(NamedTuple):
    """One length in which a cable is sold. [m], [currency]"""

    length_m: float
    price: Decimal


CONDUCTORS = 2
"""Conductors in a cable."""


class Candidate(NamedTuple):
    """One cable that may be chosen.

    Parameters
    ----------
    subject : JobPart
        Where it stands in the request; the caller's id names it.
    conductor : Listed
        Size, material and stranding.
    price_per_m : Decimal or None
        [currency/m]
    spools : tuple of Spool
        Lengths in which it is sold, where it is not sold by length.
    """

    subject: JobPart
    conductor: Listed
    price_per_m: Decimal | None = None
    spools: tuple[Spool, ...] = ()

    @property
    def priced(self) -> bool:
        """Whether a price is known."""
        return self.price_per_m is not None or bool(self.spools)

    def spec(self, kept: CableSpec) -> CableSpec:
        """The cable in the place of another; as many in parallel as there were."""
        return CableSpec(self.conductor, None, kept.in_parallel)

    def ruled_out(self) -> list[FindingFacts]:
        """What rules it out wherever it lies."""
        alone = CableSpec(self.conductor, None, 1)
        return unknown_ampacity(self.subject, resolve_cable(alone, DATUM_20_C))

    def price_of(self, length_m: float) -> Decimal:
        """Price of this much cable that is sold by length. [currency]"""
        assert self.price_per_m is not None  # noqa: S101  # asked only of what has one
        return self.price_per_m * Decimal(repr(length_m))

    def least_price_per_m(self) -> Decimal:
        """No length of it costs less than this. [currency/m]"""
        if self.price_per_m is not None:
            return self.price_per_m
        return min(spool.price / Decimal(repr(spool.length_m)) for spool in self.spools)

    def metal_mm2(self) -> float:
        """Cross-section of both conductors. [mm²]"""
        row = tables.conductor(
            self.conductor.name, self.conductor.material or "copper", self.conductor.stranding or "stranded"
        )
        return CONDUCTORS * row.area_mm2
