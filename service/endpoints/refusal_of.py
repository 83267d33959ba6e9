"""What a study refuses, put into words; the one place where its facts become a refusal."""

from service.endpoints.mistakes import mistake_items
from service.intake.capped import MOST_ERRORS, capped
from service.observability.exchange import note_fault
from service.problems import ErrorItem, Refused
from service.studies.drop_chart_job import ChartTooLongError
from service.studies.errors import (
    JobTooLargeError,
    Mistake,
    ReadingsContradictoryError,
    WiringContradictoryError,
)
from service.studies.work import WorkOverLimitError

INTERNAL_DETAIL = "The service failed on this request. Quote the request id when you report it."

STUDY_ERRORS = (
    ChartTooLongError,
    JobTooLargeError,
    ReadingsContradictoryError,
    WiringContradictoryError,
    WorkOverLimitError,
)
"""What a study may raise."""


def refusal_of(error: Exception) -> Refused:
    """The refusal that stands for what a study raised; a refusal stands for itself.

    Raises
    ------
    Exception
        The error itself, where it is no refusal.
    """
    if isinstance(error, Refused):
        return error
    if isinstance(error, JobTooLargeError):
        return _too_large(error)
    if isinstance(error, WiringContradictoryError):
        return _contradictory(error)
    if isinstance(error, ReadingsContradictoryError):
        return _misplaced(error)
    if isinstance(error, WorkOverLimitError):
        return _too_much_work(error)
    if isinstance(error, ChartTooLongError):
        return _too_long(error)
    raise error


def noted_refusal(error: Exception) -> Refused:
    """The refusal that stands for any error; one that nobody foresaw is noted for the log."""
    if isinstance(error, (Refused, *STUDY_ERRORS)):
        return refusal_of(error)
    note_fault(error)
    return Refused("internal-error", INTERNAL_DETAIL)


def _too_large(error: JobTooLargeError) -> Refused:
    detail = (
        f"The wiring has {error.count} {error.what}; one request may have {error.limit}."
        " Send each run or each supply as a job of its own."
    )
    return Refused("job-too-large", detail, [ErrorItem("too-many", error.pointer, detail)])


def _too_much_work(error: WorkOverLimitError) -> Refused:
    detail = (
        f"The answer needs work of {error.work}; one request may ask for {error.limit}, see /v1/limits."
        " Ask for fewer corners, mains, places, cables or fixtures at a time, or choose for all runs at once."
    )
    return Refused("work-over-limit", detail)


def _too_long(error: ChartTooLongError) -> Refused:
    detail = (
        f"The chart has {error.cells} cells, a load and a length on one cable each; {error.most} are answered"
        " at a time here. Ask for fewer cables, loads or lengths, or send the chart by itself."
    )
    return Refused("work-over-limit", detail)


def _misplaced(error: ReadingsContradictoryError) -> Refused:
    items = capped(mistake_items(error.mistakes))
    detail = _counted(error.mistakes, "of the readings {} at nothing", "points", "point")
    return Refused("readings-invalid", detail, items)


def _contradictory(error: WiringContradictoryError) -> Refused:
    items = capped(mistake_items(error.mistakes))
    code = "taps-joined" if all(each.code == "taps-joined" for each in error.mistakes) else "wiring-invalid"
    detail = _counted(error.mistakes, "of the wiring {} be as described", "cannot", "cannot")
    return Refused(code, detail, items)


def _counted(mistakes: list[Mistake], what: str, one: str, many: str) -> str:
    """Say how many places are wrong, and whether each is listed."""
    if len(mistakes) == 1:
        return f"One place {what.format(one)}; `errors` lists each."
    if len(mistakes) > MOST_ERRORS:
        return f"More than {MOST_ERRORS} places {what.format(many)}; `errors` lists the first."
    return f"{len(mistakes)} places {what.format(many)}; `errors` lists each."
