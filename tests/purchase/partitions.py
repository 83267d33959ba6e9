"""Every way to put a few pieces together, to hold a search against."""

from collections.abc import Iterator, Sequence


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
