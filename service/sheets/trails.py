"""A network as lines to draw: each run, branch and spur, or each arm of a graph, from where it begins."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from service.messages.voltage_drop import FixtureRow, Solved
    from service.sheets.network import Leg, Network


class Trail(NamedTuple):
    """Points along one line, the first of them where it begins; and the spans between them."""

    name: str
    points: list[int]
    legs: list[Leg]


def trails_of(network: Network) -> list[Trail]:
    """Every line of cable, each after the one that it begins on."""
    behind = [
        [point for point in beyond if network.legs[network.into[point] or 0].cable]
        for beyond in network.behind()
    ]
    reach = _reach(network, behind)
    waiting = [(0, first) for first in reversed(behind[0])]
    found = []
    while waiting:
        start, first = waiting.pop()
        points = [start, first]
        while (beyond := _onwards(network, points[-1], behind, reach)) is not None:
            points.append(beyond)
        legs = [network.legs[network.into[point] or 0] for point in points[1:]]
        found.append(Trail(_name(network, legs[-1], points[-1]), points, legs))
        along = set(points)
        waiting += [
            (point, other)
            for point in reversed(points[1:])
            for other in reversed(behind[point])
            if other not in along
        ]
    return found


def _onwards(network: Network, point: int, behind: list[list[int]], reach: list[float]) -> int | None:
    """The point at which a line goes on: of the same run, or in a graph where most cable is left."""
    leg = network.legs[network.into[point] or 0]
    if _of_graph(leg):
        return max(behind[point], key=lambda each: reach[each], default=None)
    run = leg.row.pointer
    same = [each for each in behind[point] if network.legs[network.into[each] or 0].row.pointer == run]
    return same[0] if same else None


def _reach(network: Network, behind: list[list[int]]) -> list[float]:
    """The distance from the supply to the farthest point behind each."""
    reach = list(network.distance)
    for point in reversed(network.order()):
        reach[point] = max([reach[point], *(reach[each] for each in behind[point])])
    return reach


def _name(network: Network, leg: Leg, last: int) -> str:
    """The name of the run that ends here; of an arm of a graph where it leads."""
    name = network.names[last]
    return f"to {name}" if _of_graph(leg) else name.rpartition(" at ")[0] or name


def _of_graph(leg: Leg) -> bool:
    pointer = leg.row.pointer
    return isinstance(pointer, str) and pointer.startswith("/wiring/spans/")


def voltages(network: Network, reply: Solved) -> list[float]:
    """The voltage at each point: that of its terminal, less what is lost on the way. [V]"""
    lost = network.lost()
    first_of = [0] * len(network.names)
    for point in network.order():
        index = network.into[point]
        if index is not None:
            leg = network.legs[index]
            before = leg.start if leg.end == point else leg.end
            first_of[point] = first_of[before] or point
    terminal = {
        first_of[lamp]: row.voltage.value + row.cable_drop.value
        for row, lamp in zip(reply.fixtures, network.lamps, strict=True)
        if lamp
    }
    own = reply.supply.terminal.value
    return [terminal.get(first_of[point], own) - lost[point] for point in range(len(network.names))]


def hung_on(network: Network, rows: list[FixtureRow]) -> dict[int, list[FixtureRow]]:
    """The fixtures at each point of the cable, a lead away or not."""
    found: dict[int, list[FixtureRow]] = {}
    for row, lamp in zip(rows, network.lamps, strict=True):
        if lamp is None:
            continue
        point = lamp
        while (index := network.into[point]) is not None and not network.legs[index].cable:
            point = network.legs[index].start
        found.setdefault(point, []).append(row)
    return found
