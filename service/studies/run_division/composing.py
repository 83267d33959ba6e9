"""Zones and plans as the wiring that gauge-recommendation is asked about."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from itertools import count
from typing import Final, NamedTuple

from msgspec import UNSET, UnsetType
from msgspec.structs import replace

from service.circuit.job import JobPart, JobTooLargeError, RunSpec, Supply, WiringContradictoryError
from service.problems import ErrorKind, Mistake
from service.studies.gauge_recommendation.request import GaugeRecommendationRequest
from service.studies.run_division.division import HUB, Lamp, RunPlan, Zone, ZonePlan
from service.studies.run_division.request import MOST_LAMPS, RunDivisionRequest
from service.studies.transformer_loading.division import divide_where_known
from service.translate.job import unit_of_lengths
from service.translate.shared import with_shared
from service.translate.supply import supply_of
from service.translate.wiring import amount, wiring_of
from service.units import from_inside
from service.wire.cable import ListedCable
from service.wire.fixture import FixtureLine
from service.wire.optional import given
from service.wire.quantities import Length
from service.wire.supply import Transformer
from service.wire.wiring import Branch, Run, RunsWiring

ANY_CABLE: Final = ListedCable("12 AWG")
"""What lies where the choice is open only says that a cable lies there."""


LENGTH_DECIMALS: Final = 6


LONGEST_M: Final = 99_999.0
"""Just below the longest cable that a wiring may have, so that it can be written in any unit. [m]"""


ROUTE_TOO_LONG: Final = ErrorKind(
    "route-too-long",
    "The cable of a zone would be longer than any that is calculated.",
    "A cable to the end of this route would be longer than 99.9 km. Send shorter lengths.",
)


NAMED: Final = 60
"""Letters of a zone's name that its runs have in theirs, with their number behind."""


class LampSource(NamedTuple):
    """Where a lamp of a zone stands in the request: its line, and its number there, from 1."""

    line: int
    number: int


class ReadZone(NamedTuple):
    """A zone, and where each of its lamps comes from."""

    zone: Zone
    sources: tuple[LampSource, ...]


class PlacedRun(NamedTuple):
    """A run of the wiring: the zone that it belongs to, its plan, its name, and its circuit."""

    zone: int
    plan: RunPlan
    name: str
    circuit: str | None


def read_zones(request: RunDivisionRequest) -> tuple[ReadZone, ...]:
    """The zones in SI, lamps in their order along the route.

    Raises
    ------
    JobTooLargeError
        There are more fixtures than one request may have.
    WiringContradictoryError
        A fixture has no load, or a type that there is not; or a route is too long.
    """
    refuse_too_many(request)
    supply = supply_of(request.supply, "/supply")
    with _pointers_of_zones():
        shared = with_shared(_as_runs(request))
    runs = wiring_of(shared.wiring, "/wiring", direct_current=supply.direct_current)
    zones = tuple(
        _read_zone(request, index, run, supply) for index, run in enumerate(runs) if isinstance(run, RunSpec)
    )
    mistakes = [
        Mistake(ROUTE_TOO_LONG.code, read.zone.subject.pointer)
        for read in zones
        if _longest_m(read.zone) > LONGEST_M
    ]
    if mistakes:
        raise WiringContradictoryError(mistakes)
    return zones


def _longest_m(zone: Zone) -> float:
    """No cable of it is longer, from the supply or from a hub. [m]"""
    first, last = zone.lamps[0].at_m, zone.lamps[-1].at_m
    ends = (abs(at_m - zone.arrival_m) for at_m in (first, last))
    return max(zone.distance_m + max(ends), last - first)


def refuse_too_many(request: RunDivisionRequest) -> None:
    """Refuse more fixtures than one request may have."""
    lamps = sum(_lamps(line) for zone in request.zones for line in zone.fixtures)
    if lamps > MOST_LAMPS:
        raise JobTooLargeError("fixtures", lamps, MOST_LAMPS, "/zones")


def _lamps(line: FixtureLine) -> int:
    """Places of a line that may be told apart."""
    return 1 if isinstance(line.spacing, UnsetType) else int(given(line.count) or 1)


def _as_runs(request: RunDivisionRequest) -> GaugeRecommendationRequest:
    """Each zone as one run along its route: what its fixtures draw is read there."""
    runs = [Run(cable=ANY_CABLE, fixtures=zone.fixtures) for zone in request.zones]
    wiring = RunsWiring(runs, request.nominal_voltage, fixture_types=request.fixture_types)
    return GaugeRecommendationRequest(request.supply, wiring)


@contextmanager
def _pointers_of_zones() -> Iterator[None]:
    """Mistakes in what is read as runs belong to the zones, and stand there in the request."""
    try:
        yield
    except WiringContradictoryError as error:
        mistakes = [
            mistake._replace(
                pointer=mistake.pointer.replace("/wiring/runs/", "/zones/").replace("/wiring/", "/")
            )
            for mistake in error.mistakes
        ]
        raise WiringContradictoryError(mistakes) from error


def _read_zone(request: RunDivisionRequest, index: int, run: RunSpec, supply: Supply) -> ReadZone:
    asked = request.zones[index]
    found: list[tuple[Lamp, LampSource]] = []
    for place, line in enumerate(run.fixtures):
        volts = supply.rated_v if line.rated_v is None else line.rated_v
        each_va = volts * line.load.rms_current(volts)
        if line.spacing_m is None:
            found.append((Lamp(line.at_m, each_va * line.pieces), LampSource(place, 1)))
            continue
        found += [
            (Lamp(line.at_m + number * line.spacing_m, each_va), LampSource(place, number + 1))
            for number in range(line.pieces)
        ]
    found.sort(key=lambda each: (each[0].at_m, each[1]))
    arrival = given(asked.arrives_at)
    zone = Zone(
        subject=JobPart(f"/zones/{index}", given(asked.id)),
        distance_m=amount(asked.distance),
        arrival_m=0.0 if arrival is None else amount(arrival),
        lamps=tuple(lamp for lamp, _ in found),
    )
    return ReadZone(zone, tuple(source for _, source in found))


def length_unit_of(request: RunDivisionRequest) -> str:
    """Of the reply and of the wiring in it."""
    first = given(request.supply.maximum_cable_length)
    return unit_of_lengths(request.units, request.zones[0].distance if first is None else first)


def placed_runs(request: RunDivisionRequest, plans: Sequence[ZonePlan | None]) -> list[PlacedRun]:
    """The runs of the zones that are wired, in their order, on the circuits of the supply."""
    planned = [
        (index, run) for index, plan in enumerate(plans) for run in (() if plan is None else plan.runs)
    ]
    names = _names([request.zones[index].name for index, _ in planned])
    runs = [PlacedRun(index, run, name, None) for (index, run), name in zip(planned, names, strict=True)]
    circuits = given(request.supply.circuits) or []
    if len(circuits) < 2:  # noqa: PLR2004  # of one nothing is divided
        return runs
    limits = [None if isinstance(each.limit, UnsetType) else amount(each.limit) for each in circuits]
    rated_v = supply_of(request.supply, "/supply").rated_v
    division = divide_where_known([run.plan.load_va / rated_v for run in runs], limits)
    return [
        run._replace(circuit=circuits[place].name)
        for run, place in zip(runs, division.circuit_of, strict=True)
    ]


def _names(zones: Sequence[str]) -> list[str]:
    """A name for each run, from that of its zone: with a number where another run would have the same."""
    stems = [name[:NAMED] for name in zones]
    taken = {name for name, stem in zip(zones, stems, strict=True) if stems.count(stem) == 1}
    names = []
    for name, stem in zip(zones, stems, strict=True):
        numbered = (f"{stem} {number}" for number in count(1))
        own = name if stems.count(stem) == 1 else next(each for each in numbered if each not in taken)
        taken.add(own)
        names.append(own)
    return names


def gauge_request(
    request: RunDivisionRequest, zones: Sequence[ReadZone], runs: Sequence[PlacedRun]
) -> GaugeRecommendationRequest:
    """What gauge-recommendation is asked: the runs, all of their cables and taps open."""
    unit = length_unit_of(request)
    laid = [_Laid(request, run.zone, zones[run.zone], unit).run(run) for run in runs]
    wiring = RunsWiring(laid, request.nominal_voltage, fixture_types=request.fixture_types)
    taps = given(request.supply.taps) if isinstance(request.supply, Transformer) else None
    return with_shared(
        GaugeRecommendationRequest(
            supply=request.supply,
            wiring=wiring,
            id=request.id,
            limits=request.limits,
            conditions=request.conditions,
            units=request.units,
            stock=request.stock,
            family=request.family,
            scope="per-run",
            taps="choose" if taps else UNSET,
            accept=request.accept,
            currency=request.currency,
            cutting=request.cutting,
        )
    )


class _Laid:
    """How the runs of one zone lie, lengths in the unit of the reply."""

    def __init__(self, request: RunDivisionRequest, index: int, read: ReadZone, unit: str) -> None:
        self._lines = request.zones[index].fixtures
        self._zone, self._sources, self._unit = read.zone, read.sources, unit

    def run(self, placed: PlacedRun) -> Run:
        """A run of the wiring."""
        plan, zone = placed.plan, self._zone
        circuit = UNSET if placed.circuit is None else placed.circuit
        if plan.form == HUB:
            feed_m = zone.distance_m + abs(plan.hub_m - zone.arrival_m)
            legs = [
                Branch(
                    at=self._length(feed_m),
                    cable=ANY_CABLE,
                    name=f"leg {number}",
                    fixtures=[self._one(lamp, plan.leg_m)],
                )
                for number, lamp in enumerate(plan.onward, start=1)
            ]
            return Run(cable=ANY_CABLE, fixtures=[], name=placed.name, circuit=circuit, branches=legs)
        branches: list[Branch] | UnsetType = UNSET
        if plan.back:
            back = Branch(
                at=self._length(zone.distance_m),
                cable=ANY_CABLE,
                name="back",
                fixtures=self._lines_of(plan.back, 0.0),
            )
            branches = [back]
        fixtures = self._lines_of(plan.onward, zone.distance_m)
        return Run(cable=ANY_CABLE, fixtures=fixtures, name=placed.name, circuit=circuit, branches=branches)

    def _lines_of(self, lamps: Sequence[int], before_m: float) -> list[FixtureLine]:
        """The lamps of one way, line by line; each line has them in a row."""
        found: dict[int, list[int]] = {}
        for lamp in lamps:
            found.setdefault(self._sources[lamp].line, []).append(lamp)
        lines = []
        for place, own in found.items():
            line = self._lines[place]
            nearest = before_m + abs(self._zone.lamps[own[0]].at_m - self._zone.arrival_m)
            several = not isinstance(line.spacing, UnsetType) and len(own) > 1
            lines.append(
                replace(
                    line,
                    at=self._length(nearest),
                    id=line.id if len(own) == _lamps(line) else UNSET,
                    count=self._count(line, len(own)),
                    spacing=line.spacing if several else UNSET,
                )
            )
        return lines

    def _one(self, lamp: int, at_m: float) -> FixtureLine:
        line = self._lines[self._sources[lamp].line]
        return replace(
            line,
            at=self._length(at_m),
            id=line.id if _lamps(line) == 1 else UNSET,
            count=self._count(line, 1),
            spacing=UNSET,
        )

    def _count(self, line: FixtureLine, lamps: int) -> float | UnsetType:
        """How many of a line; those at one point stay together."""
        if isinstance(line.spacing, UnsetType):
            return line.count
        return lamps if lamps > 1 else UNSET

    def _length(self, length_m: float) -> Length:
        return Length(round(from_inside(length_m, self._unit), LENGTH_DECIMALS), self._unit)  # type: ignore[arg-type]  # lengths of a job are in m or ft
