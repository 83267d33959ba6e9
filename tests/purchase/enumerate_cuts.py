"""Every way to cut a few pieces, tried one by one: partitions into spools, written for the tests alone."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from service.purchase.cutting import CutPlan, Piece, SpoolKind

NONE = (10**30, 10**30)


def partitions(items: Sequence[int]) -> Iterator[list[list[int]]]:
    """Every partition of the items into groups."""
    if not items:
        yield []
        return
    first, rest = items[0], items[1:]
    for partition in partitions(rest):
        yield [[first], *partition]
        for place, group in enumerate(partition):
            yield [*partition[:place], [first, *group], *partition[place + 1 :]]


def least(lengths: Sequence[int], spools: Sequence[SpoolKind], allowance: int = 0) -> tuple[int, int]:
    """The least price, and the fewest spools bought for it: every partition, every choice of spools."""
    best = NONE
    for groups in partitions(lengths):
        used = [sum(group) + allowance * len(group) for group in groups]
        best = min(best, assigned(used, list(spools), [spool.at_most for spool in spools]))
    return best


def assigned(used: list[int], spools: list[SpoolKind], stock: list[int | None]) -> tuple[int, int]:
    """Each group into some spool that holds it, while there are any: the least price and fewest bought."""
    if not used:
        return 0, 0
    best = NONE
    for index, spool in enumerate(spools):
        if spool.length >= used[0] and stock[index] != 0:
            there = list(stock)
            if (left := there[index]) is not None:
                there[index] = left - 1
            price, bought = assigned(used[1:], spools, there)
            own = spool.price or 0
            best = min(best, (price + own, bought + (own > 0 or spool.at_most is None)))
    return best


def bought(plan: CutPlan, spools: Sequence[SpoolKind]) -> tuple[int, int]:
    """Price and number of the spools of a plan, off-cuts on hand left out of the number."""
    price = sum((spools[row.spool].price or 0) * row.number for row in plan.spools)
    number = sum(
        row.number for row in plan.spools if spools[row.spool].price or spools[row.spool].at_most is None
    )
    return price, number


def assert_cut(
    plan: CutPlan, pieces: Sequence[Piece], spools: Sequence[SpoolKind], allowance: int = 0
) -> None:
    """Each piece is there once, no spool is cut beyond its length, and pieces and off-cuts are the spools."""
    cut = [0] * len(pieces)
    parts = [0] * len(pieces)
    for row in plan.spools:
        used = sum(each.length + allowance for each in row.cuts)
        assert row.off_cut >= 0
        assert used + row.off_cut == spools[row.spool].length
        for each in row.cuts:
            cut[each.piece] += each.length * row.number
            parts[each.piece] += row.number
    for place, piece in enumerate(pieces):
        whole = piece.number - plan.uncut[place]
        assert cut[place] == max(0, piece.length) * whole
    joined = sum(parts) - sum(
        piece.number - left for piece, left in zip(pieces, plan.uncut, strict=True) if piece.length > 0
    )
    assert joined == plan.joints
    for index, spool in enumerate(spools):
        if spool.at_most is not None:
            assert sum(row.number for row in plan.spools if row.spool == index) <= spool.at_most
    if plan.price is not None:
        assert plan.at_least is not None
        assert plan.at_least <= plan.price == bought(plan, spools)[0]
        assert plan.proven == (plan.at_least == plan.price)
