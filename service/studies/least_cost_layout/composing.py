"""A request as a site, and a design as bodies for voltage-drop."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from decimal import Decimal
from math import hypot, inf, sqrt
from typing import Final, NamedTuple

from msgspec import UNSET, UnsetType

from service import tables
from service.circuit.cables import resolve_cable
from service.circuit.corners import TOGETHER, at_corner, states_of
from service.circuit.job import (
    CableSpec,
    FixtureSpec,
    Graph,
    Job,
    JobPart,
    Remark,
    WiringContradictoryError,
)
from service.circuit.state import conductor_temperature
from service.circuit.supply import connect
from service.circuit.windows import REFERENCE_NOMINAL_V, bounds_of
from service.findings.loading import CIRCUIT_NEAR_LIMIT, RATING_AT_USUAL_POWER_FACTOR
from service.findings.protection import CONDUCTOR_BELOW_DEVICE, SHORT_CIRCUIT_BELOW_TRIP
from service.findings.violation import least_v
from service.physics.load import Load
from service.problems import ErrorKind, Mistake, ProblemKind, UnansweredError
from service.studies.gauge_recommendation.candidates import Candidate
from service.studies.gauge_recommendation.translate import candidate_of
from service.studies.least_cost_layout.drafts import DesignRun, SiteDesign
from service.studies.least_cost_layout.request import (
    GeographicPlaces,
    LeastCostLayoutRequest,
    MountingPoint,
    SiteFixture,
)
from service.studies.least_cost_layout.site import (
    PER_SPAN,
    TEE,
    BoxOffer,
    CableOffer,
    Feeding,
    JointPrices,
    LayoutRules,
    MountingPlace,
    Position,
    Route,
    Site,
    SiteLamp,
    distances_m,
    plane_of,
    straight_m,
    usable_taps,
)
from service.studies.voltage_drop.request import VoltageDropRequest
from service.translate.job import described_job, judged_conditions, unit_of_lengths
from service.translate.shared import with_shared
from service.translate.wiring import amount
from service.units import from_inside
from service.wire.cable import ListedCable
from service.wire.conditions import Conditions
from service.wire.fixture import PointFixture
from service.wire.money import Amount
from service.wire.optional import given
from service.wire.quantities import Length, SecondaryVoltage
from service.wire.stock import StockCable, StockTransformer
from service.wire.supply import Transformer, Winding
from service.wire.wiring import GraphSpan, SpansWiring

SITE_INVALID: Final = ProblemKind(
    "site-invalid",
    422,
    "Places, routes and fixtures do not fit together",
    "A name is not among the places, something is not reached by any route, or a price is missing.",
    "Change every place that is listed.",
    detail="{places} of the site cannot be as described; `errors` lists {which}.",
)


PLACE_UNKNOWN: Final = ErrorKind(
    "place-unknown", "A name is not among the places.", 'No place is called "{0}". Use a name of `places`.'
)


PLACE_TWICE: Final = ErrorKind(
    "place-twice",
    "Two places have one name, or two mounting points one place.",
    '"{0}" stands here a second time. Give each its own.',
)


ROUTE_WITHOUT_LENGTH: Final = ErrorKind(
    "route-without-length",
    "A route begins where it ends.",
    "The route begins where it ends. Name two places that are apart, or give its length.",
)


FIXTURE_AT_MOUNTING_POINT: Final = ErrorKind(
    "fixture-at-mounting-point",
    "A fixture stands where transformers are mounted, with no cable to it.",
    'The fixture stands at the mounting point "{0}". Give it a place of its own, with a route to it.',
)


PLACE_UNREACHED: Final = ErrorKind(
    "place-unreached",
    "No route leads from a mounting point to a fixture.",
    'No route leads from any mounting point to "{0}". Add one.',
)


PRICE_MISSING: Final = ErrorKind(
    "price-missing",
    "A cable or a transformer has no price, so that nothing can be said of the least cost.",
    '"{0}" has no price. Send one.',
)


LATITUDE_OUT_OF_RANGE: Final = ErrorKind(
    "latitude-out-of-range",
    "A latitude is beyond a pole.",
    "The second coordinate is a latitude, -90 to 90. Longitude comes first.",
)


PLAN_TOO_WIDE: Final = ErrorKind(
    "plan-too-wide",
    "The places of a plan are more than a kilometre apart.",
    "The places are more than 1 km apart, where lengths are no longer exact. Check the coordinates.",
)


WIDEST_M: Final = 1_000.0
"""Extent of a plan in degrees. [m]"""


LEAST_ROUTE_M: Final = 0.01
"""A shorter route is none. [m]"""


RIGHT_ANGLE_DEG: Final = 90.0


DECIMALS_OF_LENGTH: Final = 6


LOAD_POINT: Final = "lamps"
"""Where all fixtures hang in the job that only reads them."""


ANY_CABLE: Final = ListedCable("12 AWG")
"""What lies there only says that a cable does."""


class LayoutQuestion(NamedTuple):
    """The site of a request, and what its answer is told with.

    `candidates` are the cables of the site, in its order; `conditions` what is judged; `taps_v` all taps of
    each transformer, those too that the site leaves out. [V]
    """

    site: Site
    names: tuple[str, ...]
    candidates: tuple[Candidate, ...]
    conditions: Conditions
    unit: str
    effort: int
    taps_v: tuple[tuple[float, ...], ...]


def question_of(request: LeastCostLayoutRequest, usual_effort: int) -> LayoutQuestion:
    """What a request asks.

    Raises
    ------
    UnansweredError
        Places, routes and fixtures do not fit together.
    WiringContradictoryError
        A fixture has no load, or a type that there is not.
    """
    names = place_names(request)
    _refuse(_mistakes(request, names))
    positions = positions_of(request)
    index = {name: place for place, name in enumerate(names)}
    routes = tuple(_route(request, number, index, positions) for number in range(len(request.routes)))
    _refuse(
        [
            Mistake(ROUTE_WITHOUT_LENGTH.code, each.subject.pointer)
            for each in routes
            if each.length_m < LEAST_ROUTE_M
        ]
    )
    job = job_of_fixtures(request)
    temperatures_c = [conductor_temperature(at_corner(job, corner)) for corner in states_of(job)]
    feeds = _feeds(request)
    hardest = _hardest(feeds, temperatures_c)
    hot_c, cold_c = temperatures_c[hardest], min(temperatures_c)
    candidates = _candidates(request.stock)
    cutting = given(request.cutting)
    joined = cutting is not None and cutting.joints == "anywhere"
    rules = _rules(request, job)
    site = Site(
        positions=tuple(positions),
        routes=routes,
        lamps=tuple(_lamps(request, job, index, hot_c)),
        mounts=tuple(
            MountingPlace(
                JobPart(f"/mounting_points/{number}", given(mount.id)),
                index[mount.place],
                _money(mount.price),
                int(given(mount.transformers_at_most) or 1),
            )
            for number, mount in enumerate(request.mounting_points)
        ),
        boxes=tuple(
            _box(request, number, feeds[number], hardest, rules.highest_open_v)
            for number in range(len(feeds))
        ),
        cables=tuple(_cable(each, hot_c, cold_c, joined=joined) for each in candidates),
        joints=_joints(request),
        rules=rules,
    )
    far_m = distances_m(site, range(len(site.mounts)))
    _refuse(
        [
            Mistake(PLACE_UNREACHED.code, f"{lamp.subject.pointer}/place", (names[lamp.place],))
            for lamp in site.lamps
            if far_m[lamp.place] == inf
        ]
    )
    return LayoutQuestion(
        site,
        tuple(names),
        candidates,
        _conditions(request, request.mounting_points[0], request.transformers[0]),
        length_unit_of(request),
        int(given(request.effort) or usual_effort),
        tuple(tuple(amount(tap) for tap in each.taps) for each in request.transformers),
    )


def _refuse(mistakes: Sequence[Mistake]) -> None:
    if mistakes:
        raise UnansweredError(SITE_INVALID, f"{len(mistakes)} mistakes in the site", mistakes)


def place_names(request: LeastCostLayoutRequest) -> list[str]:
    """The names of the places, in their order."""
    places = request.places
    if isinstance(places, GeographicPlaces):
        return [feature.properties.name for feature in places.features]
    return [point.name for point in places.points]


def _name_pointer(request: LeastCostLayoutRequest, place: int) -> str:
    if isinstance(request.places, GeographicPlaces):
        return f"/places/features/{place}/properties/name"
    return f"/places/points/{place}/name"


def _mistakes(request: LeastCostLayoutRequest, names: list[str]) -> list[Mistake]:
    """What can be told before anything is measured."""
    known, mounted = set(names), {mount.place for mount in request.mounting_points}
    asked = [
        *((f"/routes/{n}/from", each.start) for n, each in enumerate(request.routes)),
        *((f"/routes/{n}/to", each.end) for n, each in enumerate(request.routes)),
        *((f"/fixtures/{n}/place", each.place) for n, each in enumerate(request.fixtures)),
        *((f"/mounting_points/{n}/place", each.place) for n, each in enumerate(request.mounting_points)),
    ]
    stands = [mount.place for mount in request.mounting_points]
    priced: list[tuple[str, StockCable | StockTransformer]] = [
        *((f"/transformers/{n}", each) for n, each in enumerate(request.transformers)),
        *((f"/stock/{n}", each) for n, each in enumerate(request.stock)),
    ]
    return [
        *(
            Mistake(PLACE_TWICE.code, _name_pointer(request, place), (name,))
            for place, name in enumerate(names)
            if name in names[:place]
        ),
        *(Mistake(PLACE_UNKNOWN.code, at, (name,)) for at, name in asked if name not in known),
        *(
            Mistake(PLACE_TWICE.code, f"/mounting_points/{n}/place", (name,))
            for n, name in enumerate(stands)
            if name in stands[:n]
        ),
        *(
            Mistake(FIXTURE_AT_MOUNTING_POINT.code, f"/fixtures/{n}/place", (each.place,))
            for n, each in enumerate(request.fixtures)
            if each.place in mounted
        ),
        *(
            Mistake(ROUTE_WITHOUT_LENGTH.code, f"/routes/{n}")
            for n, each in enumerate(request.routes)
            if each.start == each.end
        ),
        *(Mistake(PRICE_MISSING.code, at, (each.id,)) for at, each in priced if each.price is UNSET),
        *_wrong_degrees(request),
    ]


def _wrong_degrees(request: LeastCostLayoutRequest) -> Iterator[Mistake]:
    if isinstance(request.places, GeographicPlaces):
        for place, feature in enumerate(request.places.features):
            if abs(feature.geometry.coordinates[1]) > RIGHT_ANGLE_DEG:
                yield Mistake(LATITUDE_OUT_OF_RANGE.code, f"/places/features/{place}/geometry/coordinates/1")


def positions_of(request: LeastCostLayoutRequest) -> list[Position]:
    """Where each place lies in the plane."""
    places = request.places
    if not isinstance(places, GeographicPlaces):
        return [Position(amount(point.x), amount(point.y)) for point in places.points]
    degrees = [(each.geometry.coordinates[0], each.geometry.coordinates[1]) for each in places.features]
    positions = plane_of(degrees)
    east = [each.east_m for each in positions]
    north = [each.north_m for each in positions]
    if hypot(max(east) - min(east), max(north) - min(north)) > WIDEST_M:
        _refuse([Mistake(PLAN_TOO_WIDE.code, "/places/features")])
    return positions


def _money(stated: Amount | UnsetType) -> Decimal:
    return Decimal(0) if isinstance(stated, UnsetType) else Decimal(stated)


def _route(
    request: LeastCostLayoutRequest, number: int, index: dict[str, int], positions: Sequence[Position]
) -> Route:
    route = request.routes[number]
    start, end = index[route.start], index[route.end]
    straight = straight_m(positions[start], positions[end])
    length_m = straight if isinstance(route.length, UnsetType) else amount(route.length)
    trench = Decimal(0)
    if not isinstance(route.trench, UnsetType):
        per = Decimal(repr(from_inside(length_m, route.trench.per)))
        trench = Decimal(route.trench.amount) * per
    return Route(JobPart(f"/routes/{number}", given(route.id)), start, end, length_m, trench)


def supply_of_box(transformer: StockTransformer, mount: MountingPoint) -> Transformer:
    """A transformer of the stock at a mounting point, as voltage-drop takes it.

    Its secondary is the lowest of its taps: all share the winding, and one that nothing is on is judged too.
    """
    regulation = given(transformer.regulation_percent)
    return Transformer(
        secondary=min(transformer.taps, key=amount),
        winding=Winding(transformer.rating, 0.0 if regulation is None else regulation),
        primary=mount.primary,
        taps=transformer.taps,
        circuits=transformer.circuits,
        minimum_load=transformer.minimum_load,
        item=transformer.id,
    )


def _conditions(
    request: LeastCostLayoutRequest, mount: MountingPoint, transformer: StockTransformer
) -> Conditions:
    judged = judged_conditions(request.conditions, supply_of_box(transformer, mount), usual=True)
    return Conditions() if isinstance(judged, UnsetType) else judged


def _body(
    request: LeastCostLayoutRequest,
    mount: MountingPoint,
    transformer: StockTransformer,
    spans: list[GraphSpan],
    fixtures: list[PointFixture],
) -> VoltageDropRequest:
    return VoltageDropRequest(
        supply=supply_of_box(transformer, mount),
        wiring=SpansWiring(spans, fixtures, request.nominal_voltage, fixture_types=request.fixture_types),
        limits=request.limits,
        conditions=_conditions(request, mount, transformer),
        units=request.units,
    )


def _fixture(request: LeastCostLayoutRequest, number: int, point: str) -> PointFixture:
    own = request.fixtures[number]
    return PointFixture(point=point, **{member: getattr(own, member) for member in SHARED})


SHARED: Final = tuple(member for member in SiteFixture.__struct_fields__ if member != "place")
"""Members that a fixture of a site has from one of a wiring, by their names."""


def job_of_fixtures(
    request: LeastCostLayoutRequest, mount: int = 0, transformer: int = 0, fixtures: int | None = None
) -> Job:
    """All fixtures, or the first ones, at one point behind a box: what they draw is read there."""
    span = GraphSpan(start="supply", end=LOAD_POINT, length=Length(1.0, "m"), cable=ANY_CABLE)
    number = len(request.fixtures) if fixtures is None else fixtures
    lamps = [_fixture(request, each, LOAD_POINT) for each in range(number)]
    body = _body(request, request.mounting_points[mount], request.transformers[transformer], [span], lamps)
    with _pointers_of_the_site():
        return described_job(with_shared(body))


@contextmanager
def _pointers_of_the_site() -> Iterator[None]:
    """Mistakes in what is read as a wiring stand elsewhere in the request."""
    try:
        yield
    except WiringContradictoryError as error:
        mistakes = [each._replace(pointer=each.pointer.removeprefix("/wiring")) for each in error.mistakes]
        raise WiringContradictoryError(mistakes) from error


def _lamps(
    request: LeastCostLayoutRequest, job: Job, index: dict[str, int], hot_c: float
) -> Iterator[SiteLamp]:
    assert isinstance(job.wiring, Graph)  # noqa: S101  # so it was made
    nominal_v = REFERENCE_NOMINAL_V if job.nominal_v is None else job.nominal_v
    accepted = accepted_of(request)
    for number, each in enumerate(job.wiring.fixtures):
        line = each.line
        window = bounds_of(line, nominal_v=nominal_v)
        yield SiteLamp(
            JobPart(f"/fixtures/{number}", line.subject.id),
            index[request.fixtures[number].place],
            line.load.all_in_phase() if job.all_in_phase else line.load,
            least_v(window, accepted),
            window.highest_v,
            _own_ohm(line, hot_c),
        )


def _own_ohm(line: FixtureSpec, hot_c: float) -> float:
    """Of lead, splice and half of a strip's rail. [ohm]"""
    lead_ohm = 0.0
    if line.lead is not None:
        lead_ohm = line.lead.length_m * resolve_cable(line.lead.cable, hot_c).ohm_per_m
    return lead_ohm + line.splice_ohm + 0.5 * line.rail_ohm


def trial_site(request: LeastCostLayoutRequest, site: Site, job: Job) -> Site:
    """A site in which changes are tried: what is found in it passes in that of a request.

    Parameters
    ----------
    request : LeastCostLayoutRequest
    site : Site
    job : Job
        All fixtures of the request.

    Notes
    -----
    A search knows low voltages to a hundredth of a volt and high ones to less than a tenth, and nothing of
    the warning that a transformer has where it does not carry lamps of unstated power factor at a usual one.
    """
    assert isinstance(job.wiring, Graph)  # noqa: S101  # so it was made
    warned = RATING_AT_USUAL_POWER_FACTOR.code not in accepted_of(request)
    return site._replace(
        lamps=tuple(
            lamp._replace(
                least_v=lamp.least_v + SPARE_V,
                highest_v=lamp.highest_v - SPARE_TOP_V,
                load=_at_usual_power_factor(lamp.load, in_phase=job.all_in_phase)
                if warned and Remark.POWER_FACTOR_UNSTATED in each.line.remarks
                else lamp.load,
            )
            for lamp, each in zip(site.lamps, job.wiring.fixtures, strict=True)
        )
    )


SPARE_V, SPARE_TOP_V = 0.02, 0.1
"""By which a window begins higher and ends lower where changes are tried. [V]"""


def _at_usual_power_factor(load: Load, *, in_phase: bool) -> Load:
    cosine = tables.constant("usual_power_factor").value
    if in_phase:
        return load.scaled(1.0 / cosine)
    lagging = sqrt(1.0 / (cosine * cosine) - 1.0)
    return load._replace(non_active_var=load.power_w * lagging, non_active_a=load.current_a * lagging)


def accepted_of(request: LeastCostLayoutRequest) -> frozenset[str]:
    """Codes of warnings with which a layout passes all the same."""
    return frozenset(() if isinstance(request.accept, UnsetType) else request.accept)


class _Fed(NamedTuple):
    """A box in one state: open circuit over the rated voltage of a tap [-], its resistance over E² [1/W]."""

    ratio: float
    resistance: float


def _feeds(request: LeastCostLayoutRequest) -> list[list[list[_Fed]]]:
    """Of each transformer at each mounting point every state that is judged, in the order of `states_of`."""
    return [
        [_fed(request, mount, transformer) for mount in range(len(request.mounting_points))]
        for transformer in range(len(request.transformers))
    ]


def _fed(request: LeastCostLayoutRequest, mount: int, transformer: int) -> list[_Fed]:
    job = job_of_fixtures(request, mount, transformer, fixtures=1)
    found = []
    for corner in states_of(job):
        at = at_corner(job, corner)
        feed = connect(at.supply, at.feeders())
        found.append(_Fed(feed.open_circuit_v[0] / at.supply.rated_v, feed.source_resistance))
    return found


def _hardest(feeds: Sequence[Sequence[Sequence[_Fed]]], temperatures_c: Sequence[float]) -> int:
    """Which state asks most of a layout: the lowest mains, and of those the hottest cable.

    It is one state, and no mixture of several: what is proven in it holds for every layout that passes.
    """

    def ease(state: int) -> tuple[float, float, int]:
        highest = max(each[state].ratio for of_box in feeds for each in of_box)
        return highest, -temperatures_c[state], state

    return min(range(len(temperatures_c)), key=ease)


def _box(
    request: LeastCostLayoutRequest,
    number: int,
    feeds: Sequence[Sequence[_Fed]],
    hardest: int,
    highest_open_v: float,
) -> BoxOffer:
    """A box with the taps that may be used; with all of them where none may, so that it can be told."""
    transformer = request.transformers[number]
    circuits = given(transformer.circuits) or []
    limits = [None if isinstance(each.limit, UnsetType) else amount(each.limit) for each in circuits]
    box = BoxOffer(
        JobPart(f"/transformers/{number}", transformer.id),
        amount(transformer.rating),
        tuple(amount(tap) for tap in transformer.taps),
        tuple(limits) or (None,),
        listed=bool(circuits) and all(each.listed_system is True for each in circuits),
        price=_money(transformer.price),
        feedings=tuple(Feeding(*fed[hardest], *max(fed)) for fed in feeds),
    )
    return box._replace(taps_v=usable_taps(box, highest_open_v) or box.taps_v)


def _candidates(stock: Sequence[StockCable]) -> tuple[Candidate, ...]:
    """The cables of the stock but those that may lie nowhere; all of them where none may."""
    every = [candidate_of(cable, f"/stock/{number}") for number, cable in enumerate(stock)]
    return tuple(each for each in every if not each.ruled_out()) or tuple(every)


def _cable(candidate: Candidate, hot_c: float, cold_c: float, *, joined: bool) -> CableOffer:
    spec = CableSpec(candidate.conductor, None, 1)
    hot = resolve_cable(spec, hot_c)
    longest_m = inf if joined else max((spool.length_m for spool in candidate.spools), default=inf)
    return CableOffer(
        candidate.subject,
        candidate.least_price_per_m(),
        hot.ohm_per_m,
        resolve_cable(spec, cold_c).ohm_per_m,
        hot.ampacity_a,
        hot.device_a,
        longest_m,
    )


def _joints(request: LeastCostLayoutRequest) -> JointPrices:
    joints = request.joints
    if isinstance(joints, UnsetType):
        return JointPrices()
    return JointPrices(*map(_money, (joints.fixture, joints.tee, joints.splice, joints.cable_end)))


def _rules(request: LeastCostLayoutRequest, job: Job) -> LayoutRules:
    accepted = accepted_of(request)
    return LayoutRules(
        branching=given(request.branching) or TEE,
        gauges=given(request.gauges) or PER_SPAN,
        drop_ratio=job.maximum_drop_ratio,
        near_allowed=CIRCUIT_NEAR_LIMIT.code in accepted,
        any_device=CONDUCTOR_BELOW_DEVICE.code in accepted,
        may_not_trip=SHORT_CIRCUIT_BELOW_TRIP.code in accepted,
        light=job.corners is not None and job.corners.switching != TOGETHER,
        highest_open_v=tables.constant("wet_contact_ac" if job.wet_contact else "low_voltage_ac").value,
    )


def length_unit_of(request: LeastCostLayoutRequest) -> str:
    """Of the reply and of the bodies in it."""
    places = request.places
    first = next((each for route in request.routes if (each := given(route.length)) is not None), None)
    if not isinstance(places, GeographicPlaces):
        first = places.points[0].x
    return unit_of_lengths(request.units, first)


class PlacedSpan(NamedTuple):
    """A span of a body: its run and its point in the tree of that, both by index."""

    run: int
    point: int


class SupplyBody(NamedTuple):
    """A body for voltage-drop, and where its spans and fixtures come from.

    `box` and `runs` are of the design by index, `lamps` of the site; `laid` are the spans of the body.
    """

    box: int
    request: VoltageDropRequest
    laid: tuple[GraphSpan, ...]
    runs: tuple[int, ...]
    spans: tuple[PlacedSpan, ...]
    lamps: tuple[int, ...]


def bodies_of(
    request: LeastCostLayoutRequest, question: LayoutQuestion, design: SiteDesign
) -> list[SupplyBody]:
    """A body for each box of a design."""
    return [_Composing(request, question, design, box).body() for box in range(len(design.boxes))]


class _Composing:
    """Writes one box of a design as spans between points."""

    def __init__(
        self, request: LeastCostLayoutRequest, question: LayoutQuestion, design: SiteDesign, box: int
    ) -> None:
        self._request, self._question, self._design, self._box = request, question, design, box
        self._taken = {"supply"}
        self._spans: list[GraphSpan] = []
        self._placed: list[PlacedSpan] = []
        self._points: dict[int, str] = {}

    def body(self) -> SupplyBody:
        runs = [index for index, run in enumerate(self._design.runs) if run.box == self._box]
        for index in runs:
            self._lay(index, self._design.runs[index])
        lamps = sorted(self._points)
        placed = self._design.boxes[self._box]
        body = _body(
            self._request,
            self._request.mounting_points[placed.mount],
            self._request.transformers[placed.offer],
            self._spans,
            [_fixture(self._request, lamp, self._points[lamp]) for lamp in lamps],
        )
        return SupplyBody(self._box, body, tuple(self._spans), tuple(runs), tuple(self._placed), tuple(lamps))

    def _lay(self, index: int, run: DesignRun) -> None:
        names = ["supply"]
        transformer = self._request.transformers[self._design.boxes[self._box].offer]
        circuits = given(transformer.circuits) or []
        for point in range(1, len(run.tree.parents)):
            parent = run.tree.parents[point]
            names.append(self._named(self._question.names[run.tree.places[point]]))
            self._spans.append(
                GraphSpan(
                    start=names[parent],
                    end=names[point],
                    length=self._length(run.tree.lengths_m[point]),
                    cable=listed_cable(self._question.candidates[run.fit.cables[point]]),
                    tap=UNSET if parent else SecondaryVoltage(run.fit.tap_v, "V"),
                    circuit=UNSET if parent or not circuits else circuits[run.circuit].name,
                )
            )
            self._placed.append(PlacedSpan(index, point))
            for lamp in run.tree.lamps[point]:
                self._points[lamp] = names[point]

    def _named(self, name: str) -> str:
        """The name of a place, with a number where several cables have a point there."""
        own, number = name, 1
        while own in self._taken:
            number += 1
            own = f"{name[:LONGEST_STEM]} ({number})"
        self._taken.add(own)
        return own

    def _length(self, length_m: float) -> Length:
        unit = self._question.unit
        return Length(round(from_inside(length_m, unit), DECIMALS_OF_LENGTH), unit)  # type: ignore[arg-type]  # lengths of a job are in m or ft


LONGEST_STEM: Final = 56
"""Letters of a name that are kept before a number."""


def listed_cable(candidate: Candidate) -> ListedCable:
    """A cable of the stock, as it lies."""
    own = candidate.conductor
    return ListedCable(
        own.name,  # type: ignore[arg-type]  # named in the stock
        UNSET if own.material is None else own.material,  # type: ignore[arg-type]  # one of the schema's
        UNSET if own.stranding is None else own.stranding,  # type: ignore[arg-type]  # one of the schema's
        item=UNSET if candidate.subject.id is None else candidate.subject.id,
    )
