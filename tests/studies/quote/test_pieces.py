"""What is laid: pieces by cutting rule with what they take at their ends, and what meets at each joint."""

from collections import Counter
from fractions import Fraction
from typing import Any

import pytest

from service.studies.quote.pieces import (
    Laying,
    Route,
    RouteCable,
    RouteChange,
    RouteGraph,
    RouteLead,
    RouteLeg,
    RouteLine,
    RouteSpan,
    Takes,
    laying_of,
)

TWELVE, TEN = RouteCable(0, ("12", "12")), RouteCable(1, ("10", "10"))
LEAD = RouteLead(RouteCable(None, ("18", "18")))
AT, RUN = Fraction(1, 10), "/wiring/runs/0"
NOTHING = Takes()


def m(value: float | str) -> Fraction:
    return Fraction(str(value))


def line(at: float, pieces: int = 1, spacing: float | None = None, number: int = 0) -> RouteLine:
    step = None if spacing is None else m(spacing)
    return RouteLine(f"{RUN}/fixtures/{number}", m(at), pieces, step, LEAD)


def run(*lines: RouteLine, pointer: str = RUN, cable: RouteCable = TWELVE, **more: Any) -> Route:
    return Route(pointer, f"{pointer}/cable", Fraction(0), cable, lines)._replace(**more)


def laid(*routes: Route, takes: Takes = NOTHING, cut: bool = False) -> Laying:
    return laying_of(routes, takes, cut_at_joints=cut)


def lengths(laying: Laying) -> list[float]:
    return [float(piece.laid) for piece in laying.pieces]


def met(laying: Laying) -> list[dict[tuple[str, bool], int]]:
    """What meets at one pole of each joint: conductor, uncut, number."""
    found = []
    for splice in laying.splices:
        counts: Counter[tuple[str, bool]] = Counter()
        for conductor, uncut, number in splice.poles[0]:
            counts[conductor, uncut] += number
        found.append(dict(counts))
    return found


def test_a_run_lies_in_one_piece_and_is_tapped_until_its_true_end() -> None:
    laying = laid(run(line(10), line(20, number=1)))
    assert lengths(laying) == [20]
    assert met(laying) == [
        {("12", True): 1, ("18", False): 1},
        {("12", False): 1, ("18", False): 1},
    ]


def test_a_run_with_a_tail_passes_its_last_fixture_uncut_and_joins_nothing_at_its_end() -> None:
    laying = laid(run(line(10), tail=m(3)))
    assert lengths(laying) == [13]
    assert met(laying) == [{("12", True): 1, ("18", False): 1}]


def test_cut_at_fixtures_each_piece_is_the_stretch_between_two_joints() -> None:
    laying = laid(run(line(10), line(25, number=1), tail=m(3)), cut=True)
    assert lengths(laying) == [10, 15, 3]
    assert met(laying) == [{("12", False): 2, ("18", False): 1}] * 2


def test_however_it_is_cut_the_same_cable_lies_in_the_ground() -> None:
    takes = Takes(m("0.05"), m(1), m(2), m("0.5"))
    branch = run(line(4), pointer=f"{RUN}/branches/0", at=m(12))
    garden = run(line(10, 3, 5), line(11, 2, 5, number=1), branches=(branch,), tail=m(2))
    whole, cut = laid(garden, takes=takes), laid(garden, takes=takes, cut=True)
    assert whole.laid == cut.laid == sum(piece.laid for piece in cut.pieces)
    assert whole.stretches[0][1] == cut.stretches[0][1]
    assert len(whole.pieces) == 2 < len(cut.pieces)


def test_each_end_of_a_stretch_takes_what_is_allowed_there_also_where_the_cable_passes_uncut() -> None:
    takes = Takes(m("0.1"), at_fixture=m(1), at_supply=m(2))
    laying = laid(run(line(10), line(20, number=1)), takes=takes)
    # 10 m and a tenth, 2 m at the supply, 1 m at the first fixture; 1 m on its other side and at the last.
    assert [float(length) for _, length in laying.stretches] == [14, 13]
    assert lengths(laying) == [27]


def test_lines_of_fixtures_between_each_other_are_one_row_of_places() -> None:
    takes = Takes(at_fixture=AT)
    # 10, 14, 18 and 12, 16; and one at 14 as well.
    laying = laid(run(line(10, 3, 4), line(12, 2, 4, number=1), line(14, number=2)), takes=takes)
    assert [float(stretch.to_m) for stretch, _ in laying.stretches] == [10, 12, 14, 16, 18]
    assert [length - stretch.route for stretch, length in laying.stretches] == [AT, *[2 * AT] * 4]
    assert met(laying)[2] == {("12", True): 1, ("18", False): 2}


def test_places_nearer_than_a_millimetre_are_one_as_in_the_circuit() -> None:
    laying = laid(run(line(10), line(10.0009, number=1)), takes=Takes(at_fixture=m(1)))
    assert lengths(laying) == [11]
    assert met(laying) == [{("12", False): 1, ("18", False): 2}]


def test_several_fixtures_at_one_place_have_a_lead_each() -> None:
    assert met(laid(run(line(10, 6)))) == [{("12", False): 1, ("18", False): 6}]


def test_a_branch_is_joined_to_what_passes_it_and_takes_what_is_allowed_at_a_joint() -> None:
    branch = run(line(5), pointer=f"{RUN}/branches/0", at=m(8))
    laying = laid(run(line(20), branches=(branch,)), takes=Takes(at_joint=AT))
    assert {("12", True): 1, ("12", False): 1} in met(laying)
    assert [splice.kind for splice in laying.splices].count("run-joint") == 1
    # The run takes it on both sides of the joint, the branch at its start.
    assert lengths(laying) == pytest.approx([20.2, 5.1])


def test_a_branch_at_a_fixture_takes_what_is_allowed_at_the_fixture() -> None:
    branch = run(line(5), pointer=f"{RUN}/branches/0", at=m(20))
    laying = laid(run(line(20), branches=(branch,)), takes=Takes(at_fixture=m(1), at_joint=m(9)))
    assert lengths(laying) == [21, 7]
    assert met(laying)[0] == {("12", False): 2, ("18", False): 1}


def test_what_starts_at_the_supply_is_joined_to_nothing_there() -> None:
    branch = run(line(5), pointer=f"{RUN}/branches/0", at=m(0))
    laying = laid(run(line(0), line(20, number=1), branches=(branch,)), takes=Takes(at_supply=m(2)))
    assert lengths(laying) == [22, 7]
    assert len(laying.splices) == 2


def test_a_change_of_cable_ends_a_piece_and_the_same_cable_again_does_not() -> None:
    changes = (RouteChange("c0", m(5), TWELVE), RouteChange("c1", m(12), TEN))
    laying = laid(run(line(10), line(20, number=1), changes=changes))
    assert lengths(laying) == [12, 8]
    assert [piece.pointer for piece in laying.pieces] == [f"{RUN}/cable", "c1"]
    assert {("12", False): 1, ("10", False): 1} in met(laying)


def test_a_return_leg_is_a_piece_that_is_joined_at_the_farthest_place() -> None:
    leg = RouteLeg(f"{RUN}/return_leg", f"{RUN}/cable", m(30), TWELVE)
    laying = laid(run(line(20), leg=leg), takes=Takes(at_fixture=m(1), at_supply=m(2)))
    assert lengths(laying) == [23, 33]
    assert met(laying) == [{("12", False): 2, ("18", False): 1}]


def test_cables_side_by_side_each_count_and_are_cut_each() -> None:
    doubled = TWELVE._replace(number=2)
    laying = laid(run(line(10), line(20, number=1), cable=doubled))
    assert [piece.number for piece in laying.pieces] == [2]
    assert met(laying) == [{("12", True): 2, ("18", False): 1}, {("12", False): 2, ("18", False): 1}]


def test_two_unlike_conductors_are_joined_each_at_its_own_pole() -> None:
    (splice,) = laid(run(line(10), cable=RouteCable(None, ("12", "10")))).splices
    assert splice.poles == ((("12", False, 1), ("18", False, 1)), (("10", False, 1), ("18", False, 1)))


def test_a_lamp_without_a_lead_leaves_open_what_is_joined() -> None:
    bare = line(10)._replace(lead=None)
    (splice,) = laid(run(bare)).splices
    assert splice.bare == (bare.pointer,)


def test_a_lead_that_is_bought_is_a_piece_for_each_lamp() -> None:
    bought = line(10, 3)._replace(lead=RouteLead(TEN, m(2)))
    laying = laid(run(bought))
    assert [(piece.cable.row, float(piece.laid), piece.number) for piece in laying.pieces] == [
        (0, 10, 1),
        (1, 2, 3),
    ]


def test_spans_are_pieces_each_and_points_too_near_are_one() -> None:
    spans = (
        RouteSpan("s0", "s0/cable", "supply", "a", m(10), TWELVE),
        RouteSpan("s1", "s1/cable", "a", "b", m("0.0005"), TWELVE),
        RouteSpan("s2", "s2/cable", "b", "c", m(5), TWELVE),
        RouteSpan("s3", "s3/cable", "c", "d", m(5), TWELVE),
    )
    graph = RouteGraph(spans, ((line(0), "a"), (line(0, number=1), "d")))
    laying = laying_of(graph, Takes(at_fixture=m(1), at_supply=m(2), at_joint=AT), cut_at_joints=False)
    assert lengths(laying) == pytest.approx([13, 6.1, 6.1])
    assert met(laying) == [
        {("12", False): 2, ("18", False): 1},
        {("12", False): 1, ("18", False): 1},
        {("12", False): 2},
    ]
    assert (laying.feeders, float(laying.route)) == (1, 20)


@pytest.mark.parametrize("cut", [False, True])
def test_conductors_of_all_joints_are_cable_ends_passes_and_leads(*, cut: bool) -> None:
    branch = run(line(4), line(9, number=1), pointer=f"{RUN}/branches/0", at=m(12), tail=m(1))
    laying = laid(run(line(10, 3, 5), line(11, 2, 5, number=1), branches=(branch,)), cut=cut)
    counts = Counter[bool]()
    for splice in laying.splices:
        for conductor, uncut, number in splice.poles[0]:
            counts[uncut] += number if conductor == "12" else 0
    # Of each piece two ends, but for that at the supply and that of the tail.
    assert counts[False] == 2 * len(laying.pieces) - 2
    # Where it is not cut the cable passes every stop but its last.
    assert counts[True] == (0 if cut else 8 - 1)
    leads = sum(number for splice in laying.splices for name, _, number in splice.poles[0] if name == "18")
    assert leads == 7
