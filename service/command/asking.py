"""One question answered here, as the service would answer it when the same bytes were posted to it."""

from collections.abc import Sequence
from typing import Any, Final, NamedTuple

from msgspec import json

from service.findings.summary import FAILS
from service.http.tasks import Sent, Task, outcome_of
from service.intake import check_headers, negotiate
from service.observability.exchange import request_id_from
from service.problems import Refused, problem_bytes
from service.studies import STUDIES
from service.studies.record import JSON

PASSED: Final = 0
"""The job passes, with warnings too, or the study gave no verdict."""


NOT_PASSED: Final = 1


REFUSED: Final = 2


FAULT: Final = 70
"""The program failed (EX_SOFTWARE of ``sysexits.h``)."""


_SERVER_ERROR: Final = 500
"""The least status of a refusal that is no fault of who asked."""


Fault = list[dict[str, Any]]
"""The traceback of an error that nobody foresaw, as the log has it."""


class CommandAnswer(NamedTuple):
    """What came of a question."""

    content: bytes
    """The answer, or the problem as JSON."""
    exit_code: int
    """What a command ends with."""
    is_answer: bool
    faults: Sequence[Fault]


def study_names() -> tuple[str, ...]:
    """What can be asked, as an address and a batch name it."""
    return tuple(STUDIES)


def forms_of(study: str) -> tuple[str, ...]:
    """The media types that a study answers in, the preferred one first."""
    return STUDIES[study].offered


def answer_to(study: str, body: bytes, media_type: str, most_bytes: int) -> CommandAnswer:
    """Answer one question.

    Parameters
    ----------
    study : str
        One of `study_names`.
    body : bytes
        What would be posted to it.
    media_type : str
        The form of the answer.
    most_bytes : int
        The largest body that is read. [byte]

    Returns
    -------
    answer : CommandAnswer
        The bytes that the service would send. A problem carries a request id of its own.
    """
    request_id = request_id_from(())
    try:
        check_headers(JSON, None, str(len(body)), most_bytes)
        negotiate(media_type, STUDIES[study].offered)
    except Refused as refusal:
        return _refused(refusal, request_id)
    outcome = outcome_of(Task(study, body, media_type, request_id))
    end = outcome.end
    if not isinstance(end, Sent):
        return _refused(Refused(end.kind, end.detail, end.errors), request_id, outcome.faults)
    if media_type != JSON:
        # No other form says for programs whether the job passes.
        return answer_to(study, body, JSON, most_bytes)._replace(content=end.content)
    return CommandAnswer(
        end.content, NOT_PASSED if _fails(end.content) else PASSED, is_answer=True, faults=()
    )


def _fails(reply: bytes) -> bool:
    """Whether a reply has a verdict, and that is that the job does not pass."""
    return bool(json.decode(reply).get("summary", {}).get("verdict") == FAILS)


def _refused(refusal: Refused, request_id: str, faults: Sequence[Fault] = ()) -> CommandAnswer:
    status, problem = problem_bytes(refusal.kind, refusal.detail, request_id, refusal.errors)
    code = FAULT if status >= _SERVER_ERROR else REFUSED
    return CommandAnswer(problem, code, is_answer=False, faults=faults)
