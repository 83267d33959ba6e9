"""Cut lists of a quote: published optima, the worked example, what a ledger makes of them, and laws."""

from decimal import Decimal
from fractions import Fraction
from random import Random

import pytest

from service.circuit.work import begin_request, done, spent
from service.studies.quote.cut_list import (
    WORK_OF_A_CUT_LIST,
    CutList,
    JointInRun,
    JointTerms,
    OfferedSpool,
    OnHand,
    PerJoint,
    WantedPiece,
    cut_list,
    joints_net,
    micrometres,
    sold_length,
    work_of_cut_list,
)
from service.studies.quote.ledger import LineAsked, Terms, bill_of

FOOT = Fraction("0.3048")


def feet(length: int) -> int:
    return micrometres(FOOT * length, up=True)


def wanted(*lengths: int, number: int = 1) -> list[WantedPiece]:
    return [WantedPiece(length, f"/wiring/{place}", number) for place, length in enumerate(lengths)]


def spool(length: int, price: str | None) -> OfferedSpool:
    return OfferedSpool(length, None if price is None else Decimal(price))


SPOOLS = [spool(feet(100), "85.71"), spool(feet(250), "200.00"), spool(feet(500), "371.43")]
CONNECTORS = PerJoint(Decimal("3.43"), each=Decimal(2), others=Decimal(4))
LABOUR = PerJoint(Decimal("85.00"), each=Decimal("0.25"), others=Decimal("4.75"))
JOINTS = JointTerms((CONNECTORS, LABOUR))
RUNS = wanted(feet(150), feet(150))


@pytest.mark.parametrize(
    ("spools", "joints", "net", "bought", "joined"),
    [
        (SPOOLS, JOINTS, "313.35", (3, 0, 0), 2),
        (SPOOLS, None, "371.43", (0, 0, 1), 0),
        (SPOOLS[:2], None, "400.00", (0, 2), 0),
    ],
)
def test_the_worked_example_buys_what_makes_its_bill_least(
    spools: list[OfferedSpool], joints: JointTerms | None, net: str, bought: tuple[int, ...], joined: int
) -> None:
    # By hand: 3 x 85.71, 4 connectors at 3.43 and half an hour at 85 are 313.35; beside the 880.33 of supply,
    # fixtures, other connectors and labour that is the net of 1193.68, and so are 1251.76 and 1280.33.
    found = cut_list(RUNS, spools, minor_unit=2, joints=joints)
    assert (str(found.net), found.bought, len(found.joints), found.proven) == (net, bought, joined, True)
    assert found.net is not None
    assert found.net + Decimal("880.33") in {Decimal("1193.68"), Decimal("1251.76"), Decimal("1280.33")}


def test_each_run_of_the_worked_example_is_joined_a_hundred_feet_on() -> None:
    found = cut_list(RUNS, SPOOLS, minor_unit=2, joints=JOINTS)
    assert found.joints == (JointInRun(0, 0, feet(100)), JointInRun(1, 0, feet(100)))
    assert [row.off_cut for row in found.rows] == [0, 0, 0]


def billed(found: CutList, spools: list[OfferedSpool], lines: tuple[PerJoint, ...]) -> Decimal | None:
    """What a ledger adds up for the spools and the lines of the joints, less the lines without any joint."""

    def net(joints: int) -> Decimal:
        asked = [
            LineAsked("joints", line.others + line.each * joints, line.unit_price, line.base_quantity)
            for line in lines
        ]
        if not joints:
            return bill_of(asked, terms).net or Decimal(0)
        asked += [
            LineAsked("cables", Decimal(count), each.unit_price, each.base_quantity)
            for each, count in zip(spools, found.bought, strict=True)
        ]
        return bill_of(asked, terms).net or Decimal(0)

    terms = Terms(2, {})
    return net(len(found.joints)) - net(0)


@pytest.mark.parametrize("seed", range(20))
def test_the_bill_charges_what_the_cut_list_says(seed: int) -> None:
    pick = Random(seed)
    spools = [
        OfferedSpool(feet(100), Decimal(pick.randint(1, 10**6)) / 10_000, Decimal(pick.choice((1, 3)))),
        OfferedSpool(feet(250), Decimal(pick.randint(1, 10**6)) / 10_000),
    ]
    lines = (
        PerJoint(Decimal(pick.randint(0, 5000)) / 1000, Decimal(2), others=Decimal(pick.randint(0, 9))),
        PerJoint(Decimal("62.50"), Decimal("0.125"), others=Decimal("1.375")),
    )
    pieces = wanted(*(feet(pick.randint(251, 600)) for _ in range(pick.randint(1, 4))))
    found = cut_list(pieces, spools, minor_unit=2, joints=JointTerms(lines))
    assert found.joints
    assert found.net == billed(found, spools, lines)


def test_a_sundry_is_paid_by_its_part_and_what_has_no_price_counts_nothing() -> None:
    tube = PerJoint(Decimal("9.90"), each=Decimal("0.2"), others=Decimal("0.9"))
    # By hand: 0.9 of a tube is 8.91; each joint adds 1.98.
    assert [str(joints_net([tube], joints, 2)) for joints in range(4)] == ["0.00", "1.98", "3.96", "5.94"]
    assert joints_net([tube, PerJoint(None, each=Decimal(2))], 1, 2) == Decimal("1.98")


def test_a_dear_sundry_of_joints_is_seen_beside_a_dearer_spool() -> None:
    tube = PerJoint(Decimal("70.00"), each=Decimal(1))
    dearer = cut_list(RUNS, SPOOLS, minor_unit=2, joints=JointTerms((CONNECTORS, LABOUR, tube)))
    assert (dearer.bought, dearer.joints) == ((0, 0, 1), ())


def test_the_textbook_rolls_come_to_453() -> None:
    # GAMS library, model "cutstock", after Chvatal, Linear Programming, 1983, chapter 13 (inputs seen, the
    # optimum from memory; an independent solver: 452.25 in parts of rolls, 453 in whole ones).
    pieces = [WantedPiece(*each) for each in ((45, "", 97), (36, "", 610), (31, "", 395), (14, "", 211))]
    found = cut_list(pieces, [spool(100, "1")], minor_unit=2)
    assert (str(found.net), found.proven, found.bought) == ("453.00", True, (453,))


def test_the_rolls_of_the_encyclopaedia_come_to_73() -> None:
    # The article "Cutting stock problem" (first rows seen, the others from memory; another solver: 73).
    widths = (1380, 1520, 1560, 1710, 1820, 1880, 1930, 2000, 2050, 2100, 2140, 2150, 2200)
    numbers = (22, 25, 12, 14, 18, 18, 20, 10, 12, 14, 16, 18, 20)
    pieces = [WantedPiece(width, "", number) for width, number in zip(widths, numbers, strict=True)]
    found = cut_list(pieces, [spool(5600, "1")], minor_unit=2)
    assert (str(found.net), str(found.at_least), found.proven) == ("73.00", "73.00", True)


def test_a_piece_longer_than_any_spool_is_said_and_not_lost() -> None:
    found = cut_list(wanted(feet(600), feet(50)), SPOOLS, minor_unit=2)
    assert found.uncut == (1, 0)
    assert [cut.piece for row in found.rows for cut in row.cuts] == [1]
    joined = cut_list(wanted(feet(600), feet(50)), SPOOLS, minor_unit=2, joints=JOINTS)
    assert (joined.uncut, len(joined.joints)) == ((0, 0), 1)


def test_off_cuts_on_hand_are_used_first_and_cost_nothing() -> None:
    found = cut_list(RUNS, SPOOLS, minor_unit=2, on_hand=[OnHand(feet(160)), OnHand(feet(20), 2)])
    first = found.rows[0]
    assert (first.on_hand, first.spool, first.off_cut) == (True, 0, feet(10))
    assert (str(found.net), found.bought) == ("200.00", (0, 1, 0))
    enough = cut_list(RUNS, SPOOLS, minor_unit=2, on_hand=[OnHand(feet(150), 2)])
    assert (str(enough.net), enough.bought, enough.proven) == ("0.00", (0, 0, 0), True)


def test_where_a_price_is_missing_the_least_length_is_bought_and_only_what_must_be_is_joined() -> None:
    unpriced = [each._replace(unit_price=None) for each in SPOOLS]
    found = cut_list(RUNS, unpriced, minor_unit=2, joints=JOINTS)
    assert (found.net, found.at_least, found.joints, found.bought) == (None, None, (), (0, 0, 1))
    must = cut_list(wanted(feet(150)), unpriced[:1], minor_unit=2, joints=JointTerms())
    assert (must.net, len(must.joints), must.bought) == (None, 1, (2,))


def test_what_a_joint_takes_of_the_cable_is_cut_beside_the_piece() -> None:
    terms = JointTerms((CONNECTORS,), at_joint=feet(1))
    found = cut_list(wanted(feet(150)), SPOOLS[:1], minor_unit=2, joints=terms)
    parts = sorted((cut.begins, cut.length) for row in found.rows for cut in row.cuts)
    assert parts == [(0, feet(100)), (feet(99), feet(51))]
    assert found.joints == (JointInRun(0, 0, feet(99)),)


def test_lengths_are_exact_and_rounded_up_where_they_are_not() -> None:
    assert micrometres(FOOT * 150, up=True) == 45_720_000
    assert micrometres(Fraction(1, 3), up=True) == 333_334
    assert micrometres(Fraction(1, 3), up=False) == 333_333
    assert str(sold_length(feet(150), FOOT)) == "150"
    assert str(sold_length(1_000_000, FOOT)) == "3.281"
    assert Fraction(sold_length(1_000_000, FOOT)) * FOOT >= 1


def lengths_add_up(
    found: CutList, pieces: list[WantedPiece], spools: list[OfferedSpool], on_hand: list[OnHand]
) -> bool:
    """Pieces, what joints take and off-cuts are the spools, and each piece is there once."""
    for row in found.rows:
        whole = on_hand[row.spool].length if row.on_hand else spools[row.spool].length
        if row.off_cut < 0 or sum(cut.length for cut in row.cuts) + row.off_cut != whole:
            return False
    begun = [0] * len(pieces)
    for row in found.rows:
        for cut in row.cuts:
            begun[cut.piece] += row.number * (cut.begins == 0)
    return begun == [piece.number - left for piece, left in zip(pieces, found.uncut, strict=True)]


@pytest.mark.parametrize("seed", range(20))
def test_each_piece_is_in_the_list_once_and_lengths_add_up(seed: int) -> None:
    pick = Random(seed)
    pieces = [
        WantedPiece(
            micrometres(Fraction(pick.randint(10, 20_000), 100), up=True), f"/{place}", pick.randint(1, 3)
        )
        for place in range(pick.choice((3, 12, 40)))
    ]
    on_hand = [OnHand(feet(60), 2), OnHand(feet(11))]
    for joints in (None, JointTerms((CONNECTORS, LABOUR), at_joint=pick.choice((0, 300_000)))):
        found = cut_list(pieces, SPOOLS, minor_unit=2, on_hand=on_hand, joints=joints, keep_from=feet(10))
        assert lengths_add_up(found, pieces, SPOOLS, on_hand)
        assert found.net is not None
        assert found.at_least is not None
        assert found.proven == (found.at_least == found.net)
        assert found.at_least <= found.net
        parts = sum(row.number for row in found.rows for _ in row.cuts)
        assert parts == len(found.joints) + sum(piece.number for piece in pieces) - sum(found.uncut)
        for joint in found.joints:
            assert 0 < joint.at < pieces[joint.piece].length
            assert 0 <= joint.copy < pieces[joint.piece].number


@pytest.mark.parametrize("joints", [None, JOINTS, JointTerms()])
@pytest.mark.parametrize("price", ["0.000001", "999999999999.999999", "130"])
def test_four_hundred_lengths_and_1313_pieces_stay_within_the_work(
    joints: JointTerms | None, price: str
) -> None:
    pick = Random(1)
    lengths = [feet(1) * each + 7 for each in pick.sample(range(2, 495), 400)]
    pieces = [WantedPiece(length, "", 9 if place < 114 else 1) for place, length in enumerate(lengths)]
    pieces[0] = pieces[0]._replace(number=10)
    assert sum(piece.number for piece in pieces) == 1313
    spools = [spool(feet(500), price), spool(feet(250), "70.00"), spool(feet(100), "31")]
    begin_request()
    found = cut_list(pieces, spools, minor_unit=2, joints=joints, keep_from=feet(10))
    first = work_of_cut_list(pieces, spools, joints=joints)
    assert spent() <= WORK_OF_A_CUT_LIST + 2 * first
    assert done() <= spent() + 1
    assert lengths_add_up(found, pieces, spools, [])


@pytest.mark.parametrize("seed", range(25))
def test_a_first_cut_list_takes_no_more_than_its_estimate(seed: int) -> None:
    pick = Random(seed)
    spools = [
        spool(feet(pick.randint(20, 150)), str(pick.randint(10, 90))) for _ in range(pick.randint(1, 6))
    ]
    number = pick.choice((1, 5, 60, 400))
    pieces = [WantedPiece(feet(pick.randint(1, 600)), "", pick.choice((1, 1, 5))) for _ in range(number)]
    on_hand = [OnHand(feet(pick.randint(1, 50)), 2) for _ in range(pick.choice((0, 3)))]
    for joints in (None, JOINTS):
        begin_request()
        cut_list(pieces, spools, minor_unit=2, on_hand=on_hand, joints=joints, work=0)
        assert spent() <= work_of_cut_list(pieces, spools, on_hand=on_hand, joints=joints)
        begin_request()
        cut_list(pieces, spools, minor_unit=2, on_hand=on_hand, joints=joints)
        most = work_of_cut_list(pieces, spools, on_hand=on_hand, joints=joints) + WORK_OF_A_CUT_LIST
        assert done() <= spent() + 1 <= most + 1
