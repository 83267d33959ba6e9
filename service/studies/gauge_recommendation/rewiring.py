"""Changes of a run as a request has them: each comes back as a request can have it."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from itertools import groupby, pairwise
from math import inf
from typing import Any, NamedTuple, TypeVar

from msgspec import UNSET, UnsetType, ValidationError, convert, to_builtins
from msgspec.structs import replace

from service import tables
from service.circuit.job import Listed
from service.studies.gauge_recommendation.boxes import RATIO_24_OVER_12, circuits_of, rated_v, scale
from service.translate.wiring import amount
from service.units import from_inside
from service.wire.fixture import ConstantCurrent, ConstantPower, FixtureLine, Load, Strip, Zip
from service.wire.quantities import Length, SecondaryVoltage
from service.wire.supply import Supply
from service.wire.wiring import Branch, ReturnLeg, Run, SpansWiring, Spur

LENGTH_DECIMALS = 6
"""Of a length that is worked out, in the unit of the length that it comes from."""


class Line(NamedTuple):
    """A run, the place in the request of the run that it comes from, and its open cables.

    `open_at` are pointers from the run on; None is every cable of it.
    """

    run: Run
    place: int
    open_at: frozenset[str] | None


class Step(NamedTuple):
    """What may stand in the place of a run, the run itself first; where it changes, the supply as well."""

    lines: tuple[Line, ...]
    parameter: str = ""
    supply: Supply | None = None


def cables_of(run: Run) -> Iterator[str]:
    """Pointers to the cables of a run, from the run on; a lead is none of them."""
    return _cables_in(to_builtins(run), "")


def _cables_in(tree: Any, at: str) -> Iterator[str]:  # noqa: ANN401  # a tree of JSON
    if isinstance(tree, list):
        for place, each in enumerate(tree):
            yield from _cables_in(each, f"{at}/{place}")
    elif isinstance(tree, dict):
        for name, each in tree.items():
            if name == "cable":
                yield f"{at}/cable"
            elif name != "lead":
                yield from _cables_in(each, f"{at}/{name}")


class _Position(NamedTuple):
    """Where something stands along a run [m]: the line or the branch there, and which piece of it."""

    at_m: float
    item: FixtureLine | Branch
    piece: int


def positions_of(run: Run) -> list[_Position]:
    """Every place of a run with a fixture or a branch, nearest first."""
    found = []
    for line in run.fixtures:
        first_m = amount(line.at)
        if isinstance(line.count, UnsetType):
            found.append(_Position(first_m, line, 0))
        else:
            gap_m = 0.0 if isinstance(line.spacing, UnsetType) else amount(line.spacing)
            found.extend(_Position(first_m + piece * gap_m, line, piece) for piece in range(int(line.count)))
    found.extend(_Position(amount(each.at), each, 0) for each in _branches(run))
    return sorted(found, key=lambda position: position.at_m)


def _branches(run: Run) -> list[Branch]:
    return [] if isinstance(run.branches, UnsetType) else run.branches


def length_like(length_m: float, like: Length) -> Length:
    """A length in the unit of another. [m]

    Raises
    ------
    ValidationError
        No request can have it: a row of fixtures may go on beyond the longest length.
    """
    try:
        return replace(like, value=round(from_inside(length_m, like.unit), LENGTH_DECIMALS))
    except ValueError as error:
        raise ValidationError(str(error)) from error


def _fixtures(positions: list[_Position]) -> list[FixtureLine]:
    """The lines of some places, the pieces of one line kept together."""
    by_line: dict[int, list[_Position]] = {}
    for position in positions:
        if isinstance(position.item, FixtureLine):
            by_line.setdefault(id(position.item), []).append(position)
    return [_shortened(pieces) for pieces in by_line.values()]


def _shortened(pieces: list[_Position]) -> FixtureLine:
    """One line with some neighbouring pieces of it."""
    line = pieces[0].item
    assert isinstance(line, FixtureLine)  # noqa: S101  # asked only of fixtures
    if isinstance(line.count, UnsetType):
        return line
    first = pieces[0]
    at = line.at if first.piece == 0 else length_like(first.at_m, line.at)
    several = {} if len(pieces) > 1 else {"spacing": UNSET}
    kept = {} if first.piece == 0 else {"id": UNSET}
    return replace(line, at=at, count=len(pieces), **several, **kept)


def parted(line: Line, bounds: tuple[int, ...]) -> tuple[Line, ...] | None:
    """A run as several along the same route from the supply: cut after so many of its places.

    The part that keeps the run's place in the request is the nearest. None where a run cannot be parted so.
    """
    run, positions = line.run, positions_of(line.run)
    if not isinstance(run.return_leg, UnsetType) or (line.open_at is not None and _branches(run)):
        return None
    edges = (0, *bounds, len(positions))
    parts = [positions[first:last] for first, last in pairwise(edges)]
    if not all(parts):
        return None
    found = [_nearest(line, parts[0])]
    for place, part in enumerate(parts[1:], start=2):
        new = _with_positions(run, part)
        new = replace(new, id=UNSET, name=UNSET, cable_changes=UNSET)
        if place < len(parts):
            new = replace(new, tail=UNSET)
        # What is new is bought: its cable is open whatever the run's own is.
        found.append(Line(new, line.place, None))
    return tuple(found)


def farthest_apart(line: Line) -> list[tuple[tuple[Line, Line], int]]:
    """A run with branches without its farthest fixtures, those on a new run, and how many: the fewest first.

    A fixture on a branch goes the whole way from the supply. None where a cable is kept, comes back or
    changes its size on the way.
    """
    at_m = sorted({each for part in _parts_of(line.run, 0.0) for each in part}, reverse=True)
    if line.open_at is not None or _is_more_than_plain(line.run):
        return []
    found = []
    for limit_m in at_m[1 : 1 + MOST_SHARES]:
        kept, moved = _up_to(line.run, 0.0, limit_m)
        if kept is None or not moved:
            continue
        new = Run(cable=line.run.cable, fixtures=moved, tap=line.run.tap, circuit=line.run.circuit)
        count = sum(1 if isinstance(each.count, UnsetType) else int(each.count) for each in moved)
        found.append(((line._replace(run=kept), Line(new, line.place, None)), count))
    return found


def _parts_of(part: Run | Branch | Spur, start_m: float) -> Iterator[list[float]]:
    """Where the fixtures of a run and of all that branches from it stand, from the supply. [m]"""
    found = []
    for each in part.fixtures:
        gap_m = 0.0 if isinstance(each.spacing, UnsetType) else amount(each.spacing)
        pieces = 1 if isinstance(each.count, UnsetType) else int(each.count)
        found += [start_m + amount(each.at) + piece * gap_m for piece in range(pieces)]
    yield found
    for branch in _further(part):
        yield from _parts_of(branch, start_m + amount(branch.at))


def _further(part: Run | Branch | Spur) -> Sequence[Branch | Spur]:
    """What branches off, of a run its branches and of a branch its spurs."""
    return getattr(part, "branches", UNSET) or getattr(part, "spurs", UNSET) or ()


def _is_more_than_plain(part: Run | Branch | Spur) -> bool:
    """Whether a cable somewhere comes back or changes its size."""
    own = not (isinstance(part.return_leg, UnsetType) and isinstance(part.cable_changes, UnsetType))
    return own or any(_is_more_than_plain(each) for each in _further(part))


_Part = TypeVar("_Part", bound=Run | Branch | Spur)


def _up_to(part: _Part, start_m: float, limit_m: float) -> tuple[_Part | None, list[FixtureLine]]:
    """A part of a run with what stands no farther from the supply [m], and the rest of its fixtures."""
    kept: list[FixtureLine] = []
    moved: list[FixtureLine] = []
    for each in part.fixtures:
        pieces = 1 if isinstance(each.count, UnsetType) else int(each.count)
        gap_m = 0.0 if isinstance(each.spacing, UnsetType) else amount(each.spacing)
        first_m = start_m + amount(each.at)
        inside = sum(first_m + piece * gap_m <= limit_m * ONE_AND_A_BIT for piece in range(pieces))
        if inside:
            kept.append(each if inside == pieces else _of_line(each, inside))
        if inside < pieces:
            there = replace(each, at=length_like(first_m + inside * gap_m, each.at))
            moved.append(replace(_of_line(there, pieces - inside), id=each.id if not inside else UNSET))
    further: list[Branch | Spur] = []
    for branch in _further(part):
        own, gone = _up_to(branch, start_m + amount(branch.at), limit_m)
        further += [] if own is None else [own]
        moved += gone
    if not kept and not further:
        return None, moved
    name = "branches" if isinstance(part, Run) else "spurs"
    more: dict[str, Any] = {} if isinstance(part, Spur) else {name: further or UNSET}
    tail = UNSET if moved else part.tail
    return replace(part, fixtures=kept, tail=tail, **more), moved


def _of_line(line: FixtureLine, pieces: int) -> FixtureLine:
    """A line with so many of its fixtures."""
    if isinstance(line.count, UnsetType):
        return line
    return replace(line, count=pieces, spacing=line.spacing if pieces > 1 else UNSET)


def _nearest(line: Line, part: list[_Position]) -> Line:
    """What is left of a run: its cable ends at the last place that it keeps."""
    run = replace(_with_positions(line.run, part), tail=UNSET)
    if line.open_at is None and not isinstance(run.cable_changes, UnsetType):
        changes = [each for each in run.cable_changes if amount(each.at) < part[-1].at_m]
        run = replace(run, cable_changes=changes or UNSET)
    return Line(run, line.place, line.open_at)


def _with_positions(run: Run, positions: list[_Position]) -> Run:
    branches = [position.item for position in positions if isinstance(position.item, Branch)]
    return replace(run, fixtures=_fixtures(positions), branches=branches or UNSET)


MOST_SHARES = 8
"""So many ways to cut one run into a number of parts are told apart."""


def shares(line: Line, parts: int) -> list[tuple[int, ...]]:
    """Ways to cut a run into so many, each after so many of its places: the least cable first.

    What the end of a run from the supply loses is its moment, the sum of the loads times their distances, by
    the ohms of the cable. With a limit on the moment the least cable has as much as fits on the farthest
    part, then on the next. The last of the ways has the least moment in its heaviest part; none has a heavier
    one than what one part less could do.
    """
    moments = [max(each.at_m, LEAST_ARM_M) * _position_va(each) for each in positions_of(line.run)]
    if len(moments) < parts:
        return []
    least, most = (_least_moment(moments, number) for number in (parts, parts - 1))
    steps = MOST_SHARES - 1
    limits = [most * (least / most) ** (step / steps) for step in range(1, steps)] + [least]
    ways = [_heaped(moments, limit * ONE_AND_A_BIT) for limit in limits]
    return list(dict.fromkeys(way for way in ways if len(way) == parts - 1))


LEAST_ARM_M, ONE_AND_A_BIT = 1e-3, 1.0 + 1e-9
"""What stands at the supply has a moment too [m]; a limit that was reached is kept [-]."""


def _heaped(moments: Sequence[float], limit: float) -> tuple[int, ...]:
    """After how many places a run is cut where each part, the farthest first, takes as many as it may."""
    bounds, own = [], 0.0
    for place in reversed(range(len(moments))):
        if own and own + moments[place] > limit:
            bounds.append(place + 1)
            own = 0.0
        own += moments[place]
    return tuple(reversed(bounds))


def _least_moment(moments: Sequence[float], parts: int) -> float:
    """The smallest limit with which so many parts are enough."""
    low, high = max(moments), sum(moments)
    while high - low > 1e-6 * high:
        middle = 0.5 * (low + high)
        if len(_heaped(moments, middle)) < parts:
            high = middle
        else:
            low = middle
    return high


def fed_from_the_middle(line: Line) -> tuple[Line, ...] | None:
    """A run whose cable first goes to the middle of its places, and from there to either side."""
    run, positions = line.run, positions_of(line.run)
    plain = isinstance(run.return_leg, UnsetType) and isinstance(run.cable_changes, UnsetType)
    if not plain or _branches(run) or line.open_at is not None or len(positions) < 2:  # noqa: PLR2004  # a middle
        return None
    middle_m = 0.5 * (positions[0].at_m + positions[-1].at_m)
    back, onward = [], []
    for at_m, there in groupby(positions, key=lambda position: position.at_m):
        fixtures = _fixtures(list(there))
        if at_m <= middle_m:
            back += [replace(each, at=length_like(middle_m - at_m, each.at)) for each in fixtures]
        else:
            onward += fixtures
    branch = Branch(at=length_like(middle_m, run.fixtures[0].at), cable=run.cable, fixtures=back)
    return (Line(replace(run, fixtures=onward, branches=[branch]), line.place, None),)


def closed_to_a_loop(line: Line) -> tuple[Line, ...] | None:
    """A run whose farthest point is brought back to the supply by as much cable again."""
    run, positions = line.run, positions_of(line.run)
    if not isinstance(run.return_leg, UnsetType) or not positions or positions[-1].at_m <= 0.0:
        return None
    leg = ReturnLeg(length_like(positions[-1].at_m, positions[-1].item.at))
    return (Line(replace(run, return_leg=leg), line.place, line.open_at),)


def with_cable(line: Line, conductor: Listed) -> Line:
    """A run whose open cables are of one conductor, and open no longer."""
    tree: dict[str, Any] = to_builtins(line.run)
    _put(tree, cables_of(line.run) if line.open_at is None else line.open_at, conductor)
    return Line(convert(tree, Run), line.place, frozenset())


def graph_with_cable(wiring: SpansWiring, pointers: Iterable[str], conductor: Listed) -> SpansWiring:
    """A graph with one conductor in some of its cables, by their pointers from the wiring on."""
    tree: dict[str, Any] = to_builtins(wiring)
    _put(tree, pointers, conductor)
    return convert(tree, SpansWiring)


def _put(tree: dict[str, Any], pointers: Iterable[str], conductor: Listed) -> None:
    """Put a conductor in some cables of a tree of JSON; as many stay side by side."""
    listed = {"kind": "listed", "conductor": conductor.name}
    listed |= {} if conductor.material is None else {"material": conductor.material}
    listed |= {} if conductor.stranding is None else {"stranding": conductor.stranding}
    for pointer in pointers:
        *owners, last = pointer.split("/")[1:]
        owner: Any = tree
        for part in owners:
            owner = owner[int(part)] if isinstance(owner, list) else owner[part]
        kept = {name: owner[last][name] for name in ("cables_in_parallel",) if name in owner[last]}
        owner[last] = {**listed, **kept}


def on_tap(line: Line, tap_v: float) -> Line:
    """A run on a tap. [V]"""
    return line._replace(run=replace(line.run, tap=SecondaryVoltage(tap_v, "V")))


def on_circuit(line: Line, circuit: str) -> Line:
    """A run on a circuit, by its name."""
    return line._replace(run=replace(line.run, circuit=circuit))


CONTINUOUS = tables.constant("continuous_load_ratio").value
"""Of the rating of a device, what a load like lighting may take. [-]"""


def spread(lines: Sequence[Line], supply: Supply) -> dict[int, str]:
    """Which runs to put on which other circuit so that none carries too much, by about what they draw.

    The largest run that finds room elsewhere leaves a circuit that is too full, until it is not.
    """
    if isinstance(supply.circuits, UnsetType):
        return {}
    room_a = {
        each.name: inf if isinstance(each.limit, UnsetType) else CONTINUOUS * amount(each.limit)
        for each in supply.circuits
    }
    drawn_a = [_about_va(line.run, rated_v(supply)) / rated_v(supply) for line in lines]
    on = [circuit_of(line, supply) for line in lines]
    for circuit, amps in zip(on, drawn_a, strict=True):
        if circuit in room_a:
            room_a[circuit] -= amps
    moves: dict[int, str] = {}
    for place in sorted(range(len(lines)), key=lambda each: (-drawn_a[each], each)):
        own = on[place]
        widest = max(room_a, key=room_a.__getitem__)
        if own in room_a and room_a[own] < 0.0 and room_a[widest] >= drawn_a[place]:
            room_a[own] += drawn_a[place]
            room_a[widest] -= drawn_a[place]
            moves[place] = widest
    return moves


def circuit_of(line: Line, supply: Supply) -> str | None:
    """The circuit that a run is on: of those of the supply the first, where it names none."""
    if not isinstance(line.run.circuit, UnsetType):
        return line.run.circuit
    return next(iter(circuits_of(supply)), None)


def _about_va(part: Run | Branch | Spur, rated_v: float) -> float:
    """About what a run draws with all that branches from it. [VA]"""
    loads = [(each.load, 1 if isinstance(each.count, UnsetType) else each.count) for each in part.fixtures]
    own = sum(count * _load_va(load, rated_v) for load, count in loads if not isinstance(load, UnsetType))
    return own + sum(_about_va(each, rated_v) for each in _further(part))


def _position_va(position: _Position) -> float:
    """About what stands at one place draws; never nothing. [VA]"""
    item = position.item
    if isinstance(item, Branch):
        return max(_about_va(item, NOMINAL_V), LEAST_VA)
    return LEAST_VA if isinstance(item.load, UnsetType) else max(_load_va(item.load, NOMINAL_V), LEAST_VA)


NOMINAL_V, LEAST_VA = 12.0, 1e-6
"""Of what is given in amperes [V]; what a load of nothing is taken for [VA]."""


def _load_va(load: Load | Strip, rated_v: float) -> float:
    """About what one fixture draws. [VA]"""
    if isinstance(load, Strip):
        return amount(load.power_per_length) * amount(load.length)
    if isinstance(load, ConstantCurrent):
        return amount(load.current) * rated_v
    if isinstance(load, Zip):
        parts = load.constant_power_part, load.constant_current_part, load.constant_resistance_part
        return sum(map(amount, parts))
    if isinstance(load, ConstantPower) and not isinstance(load.apparent_power, UnsetType):
        return amount(load.apparent_power)
    return amount(load.power)


def least_leads(line: Line) -> str | None:
    """The thinnest conductor of the leads of a run; None where it has none, or one that no table lists."""
    names = {lead["cable"].get("conductor") for lead in _leads_in(to_builtins(line.run))}
    sizes = [name for name in tables.CONDUCTOR_NAMES if name in names]
    metric = {name.endswith("mm2") for name in sizes}
    return sizes[0] if len(metric) == 1 and len(sizes) == len(names) else None


def with_leads(line: Line, conductor: str) -> Line:
    """A run whose leads that are thinner are of one conductor; what they were bought as is another."""
    tree: dict[str, Any] = to_builtins(line.run)
    order = tables.CONDUCTOR_NAMES
    for lead in _leads_in(tree):
        if order.index(lead["cable"]["conductor"]) < order.index(conductor):
            lead["cable"]["conductor"] = conductor
            lead["cable"].pop("item", None)
            lead.pop("item", None)
    return line._replace(run=convert(tree, Run))


def _leads_in(tree: Any) -> Iterator[dict[str, Any]]:  # noqa: ANN401  # a tree of JSON
    for name, each in tree.items() if isinstance(tree, dict) else enumerate(tree):
        if name == "lead":
            yield each
        elif isinstance(each, dict | list):
            yield from _leads_in(each)


DOUBLED = {
    "rated_voltage": RATIO_24_OVER_12,
    "tap": RATIO_24_OVER_12,
    "minimum": RATIO_24_OVER_12,
    "maximum": RATIO_24_OVER_12,
    "current": 1.0 / RATIO_24_OVER_12,
    "resistance_per_length": RATIO_24_OVER_12**2,
}
"""What becomes of the members of fixtures that are made for twice the voltage and draw the same watts."""


POWERS = (
    "power",
    "apparent_power",
    "current",
    "constant_power_part",
    "constant_current_part",
    "constant_resistance_part",
    "power_per_length",
)


def doubled(line: Line) -> Line:
    """A run on twice the voltage: every load draws the same watts at twice the volts."""
    return _with_members(line, lambda name: DOUBLED.get(name, 1.0))


def with_share_of_load(line: Line, share: float) -> Line:
    """Every load of a run at a share of what it is. [-]"""
    return _with_members(line, lambda name: share if name in POWERS else 1.0)


def graph_with_share_of_load(wiring: SpansWiring, share: float, giving: Collection[int]) -> SpansWiring:
    """Some lines of fixtures of a graph, by their place, at a share of their load. [-]"""
    tree: dict[str, Any] = to_builtins(wiring)
    for place in giving:
        scale(tree["fixtures"][place], lambda name: share if name in POWERS else 1.0)
    return convert(tree, SpansWiring)


def _with_members(line: Line, factor_of: Callable[[str], float]) -> Line:
    tree: dict[str, Any] = to_builtins(line.run)
    scale(tree, factor_of)
    return line._replace(run=convert(tree, Run))
