"""One thing that may be wrong, and what it changes."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial
from math import exp, log1p
from typing import Final, Literal, NamedTuple

from service.estimation.jacobian import Sensitivities
from service.estimation.model import Change, Measurement, Model, together
from service.estimation.probes import Routes


class FaultKind(NamedTuple):
    """One kind of thing that may be wrong, and how it is told.

    Parameters
    ----------
    code : str
        What a program reads.
    words : str
        The sentence of it.
    special : str
        The sentence of its special case; empty where it has none.
    at : str
        "span" or "point", where other kinds may be at the same place; empty where none are.
    lowest_is_ours, highest_is_ours : bool
        Whether its smallest and its largest size are bounds that we set, and none that there are.
    """

    code: str
    words: str
    special: str = ""
    at: Literal["span", "point", ""] = ""
    lowest_is_ours: bool = False
    highest_is_ours: bool = True


SUPPLY: Final = FaultKind(
    "supply-voltage",
    "The supply is {percent} % {height} than expected: {reason}.",
    lowest_is_ours=True,
)


WINDING: Final = FaultKind(
    "winding-resistance",
    "The supply has {size} ohm of its own in place of {declared}: a weak or overloaded supply, or loose"
    " terminals at it.",
    special="The supply has {size} ohm of its own in place of {declared}: it sags less than stated.",
)
"""Its special case is less of it."""


SPLICE: Final = FaultKind(
    "splice-resistance",
    "{size} extra between {where}: a splice or a terminal there.",
    at="span",
    highest_is_ours=False,
)


SPAN: Final = FaultKind(
    "span-resistance",
    "The cable between {where} has {percent} % {way} resistance than expected: {like}.",
    at="span",
    lowest_is_ours=True,
)


CABLE: Final = FaultKind(
    "cable-resistance",
    "{where} has {percent} % {way} resistance than expected: {like}.",
    lowest_is_ours=True,
)


OPEN: Final = FaultKind(
    "open-circuit",
    "The cable is broken between {where}.",
    special="The supply gives nothing: a timer, photocell, breaker or fuse that is off, or a lead off at its"
    " terminals.",
    at="span",
)
"""Its special case is the supply itself."""


POWER: Final = FaultKind(
    "fixture-power",
    "{where} draws about {watts} W in place of {declared} W.",
    special="{where} draws next to nothing: dark, or not connected.",
    at="point",
)


LINE_POWER: Final = FaultKind(
    "line-power",
    "All fixtures of the line {where} draw {percent} % {way} than stated.",
    special="All fixtures together draw {percent} % {way} than stated: {because}.",
)
"""Its special case is every line."""


POWER_FACTOR: Final = FaultKind(
    "fixture-power-factor",
    "{where} has a power factor of about {size}.",
    at="point",
    highest_is_ours=False,
)


UNDECLARED: Final = FaultKind(
    "undeclared-load",
    "About {size} W more than declared at {where} or beyond.",
    at="point",
)


EXCHANGED: Final = FaultKind("fixtures-exchanged", "{where} and {other} stand in each other's place.")


OTHER_TAP: Final = FaultKind("other-tap", "{where} is on the {tap} V tap, not on the {declared} V tap.")


EXCHANGED_RUNS: Final = FaultKind(
    "exchanged-runs",
    "{where} and {other} are on each other's terminals at the supply: cables or labels are exchanged.",
    special="What was written down for {where} was read on {other}, and the other way round.",
)
"""Its special case is the record alone."""


SEVERAL = 2.0
"""What it costs that several spans or fixtures are wrong in the same way: as much as an unknown. [-]"""

CLOSE = 1e-3
"""A size is at a bound within this share of what is tried. [-]"""


@dataclass(frozen=True, slots=True)
class FaultHypothesis:
    """One thing that may be wrong.

    Parameters
    ----------
    kind : FaultKind
    change : callable
        What a size changes.
    slope : list of float
        What one unit of size does to each reading, near the size at which nothing is wrong; of a fault
        without a size what it does. [V/unit], [A/unit]
    unit : str
        Of its size; empty where it has none: it is there or it is not.
    neutral, low, high : float
        The size at which nothing is wrong, and the bounds of what is tried. [unit]
    scale : float
        Zero where the size is tried as it is; else a small size, and larger ones are tried by their
        logarithm. [unit]
    spans, rows, point
        Where it is: spans and rows of the layout, or a point; of one fixture's load both row and point.
    runs, tap_v, recorded
        Runs by feeder; the tap that one is on [V]; whether two are exchanged in the record alone.
    usual : float
        A size this far from neutral surprises nobody, in the terms of the search; zero: no size does. A
        larger one costs a little (`surprise`). [unit], [-]
    alone : FaultHypothesis or None
        The same without the other fault beside which it is tried.
    """

    kind: FaultKind
    change: Callable[[float], Change]
    slope: list[float]
    unit: str = ""
    neutral: float = 0.0
    low: float = 0.0
    high: float = 0.0
    scale: float = 0.0
    spans: tuple[int, ...] = ()
    rows: tuple[int, ...] = ()
    point: int | None = None
    runs: tuple[int, ...] = ()
    tap_v: float | None = None
    recorded: bool = False
    usual: float = 0.0
    alone: FaultHypothesis | None = None

    @property
    def sized(self) -> bool:
        """Whether it has a size to be found."""
        return self.high > self.low

    @property
    def place(self) -> tuple[object, ...]:
        """Alike for two faults at one place: a splice or a break is on its span, a load at its point."""
        if self.kind.at == "span" and self.spans:
            return "span", *self.spans
        if self.kind.at == "point":
            return "point", self.point
        return self.kind.code, *self.spans, *self.rows, *self.runs, self.point

    def is_cut_short(self, size: float) -> bool:
        """Whether a size is where the search gave up, and not where the readings fit best.

        Nothing, a dark fixture and a broken joint are sizes that there are; any other bound is one
        that we set.
        """
        lowest, highest = self.x(self.low), self.x(self.high)
        close = CLOSE * (highest - lowest)
        if self.kind.lowest_is_ours and self.x(size) <= lowest + close:
            return True
        return self.kind.highest_is_ours and self.sized and self.x(size) >= highest - close

    def surprise(self, size: float) -> float:
        """What a fault costs beside its chi-square for being unusual. [-]

        The logarithm of a Cauchy density of sizes, whose tail forgives what is far out; and a fixed sum where
        several things have to be wrong alike.
        """
        several = len(self.spans) > 1 or (len(self.rows) > 1 and self.sized)
        own = log1p((self.x(size) / self.usual) ** 2) if self.usual else 0.0
        return own + SEVERAL * several

    def size(self, x: float) -> float:
        """The size at a place of the search."""
        return self.neutral + (self.scale * (exp(x) - 1.0) if self.scale else x)

    def x(self, size: float) -> float:
        """The place of the search for a size."""
        return log1p((size - self.neutral) / self.scale) if self.scale else size - self.neutral


USUAL_LOG = 1.0
"""A resistance off by a factor of e surprises nobody. [-]"""


class Basis(NamedTuple):
    """The model, the readings and their slopes, nothing being wrong.

    `urge` says which way each reading pulls: its discrepancy over its variance. [1/V], [1/A]
    """

    model: Model
    routes: Routes
    measurements: list[Measurement]
    sensitivities: list[Sensitivities]
    weighted: list[float]

    def cable_spans(self) -> Iterator[tuple[int, float]]:
        """Spans that somebody cut and joined, leads and strips apart, and their resistance. [ohm]"""
        for index, span in enumerate(self.model.connected.layout.spans):
            if span.cable_at:
                yield index, span.resistance_ohm


def beside(given: Change, fault: FaultHypothesis) -> FaultHypothesis:
    """A fault tried where another fault is taken as given."""
    return replace(fault, change=partial(_beside, given, fault.change), alone=fault)


def _beside(given: Change, change: Callable[[float], Change], size: float) -> Change:
    return together((given, change(size)))


def fixed(change: Change, _: float) -> Change:
    """The change of a fault that has no size."""
    return change
