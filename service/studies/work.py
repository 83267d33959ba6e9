"""A budget of work, the same on every machine, so that one request never starves the rest."""

MAXIMUM_WORK = 25_000
"""Work that one request may ask for: about a quarter of a second on one core."""

WORK_OF_A_STATE = 10
"""Work of one state beside its points: laying it out and judging it."""

WORK_ALONE = 10
"""Work of one fixture alone on."""


def work_of(points: int) -> int:
    """Work of solving one state with so many points."""
    return points + WORK_OF_A_STATE


class WorkOverLimitError(Exception):
    """A request would need more work than one request may ask for."""

    def __init__(self, work: int) -> None:
        super().__init__(f"work of {work}, at most {MAXIMUM_WORK}")
        self.work = work
        self.limit = MAXIMUM_WORK


class Budget:
    """What is left of the work that one request may ask for."""

    __slots__ = ("left",)

    def __init__(self, work: int = MAXIMUM_WORK) -> None:
        self.left = work

    def spend(self, work: int) -> None:
        """Take some of what is left.

        Raises
        ------
        WorkOverLimitError
            Not so much is left.
        """
        if work > self.left:
            raise WorkOverLimitError(MAXIMUM_WORK - self.left + work)
        self.left -= work
