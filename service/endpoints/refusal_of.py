"""What a study refuses, put into words; the one place where its facts become a refusal."""

from service.endpoints.mistakes import mistake_item
from service.observability.exchange import note_fault
from service.problems import ErrorItem, Refused
from service.studies.drop_chart_job import ChartTooLongError
from service.studies.errors import JobTooLargeError, ReadingsContradictoryError, WiringContradictoryError
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
    items = [mistake_item(mistake) for mistake in error.mistakes]
    many = f"{len(items)} places of the readings point" if items[1:] else "One place of the readings points"
    return Refused("readings-invalid", f"{many} at nothing; `errors` lists each.", items)


def _contradictory(error: WiringContradictoryError) -> Refused:
    items = [mistake_item(mistake) for mistake in error.mistakes]
    code = "taps-joined" if all(item.code == "taps-joined" for item in items) else "wiring-invalid"
    many = f"{len(items)} places" if len(items) > 1 else "One place"
    return Refused(code, f"{many} of the wiring cannot be as described; `errors` lists each.", items)
