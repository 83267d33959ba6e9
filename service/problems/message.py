"""A problem as it goes over the wire: `application/problem+json`, RFC 9457."""

from collections.abc import Sequence
from typing import Final

from msgspec import Struct, json

from service.problems.catalogue import CATALOGUE
from service.problems.errors import ErrorItem

PROBLEM_MEDIA_TYPE: Final = "application/problem+json"


class Problem(Struct, frozen=True):
    """A refusal in the words of RFC 9457; `type` is a path at which the service explains it."""

    type: str
    title: str
    status: int
    detail: str
    code: str
    request_id: str
    errors: list[ErrorItem]


_ENCODER: Final = json.Encoder()


def problem_bytes(
    code: str, detail: str, request_id: str, errors: Sequence[ErrorItem] = ()
) -> tuple[int, bytes]:
    """Write a problem.

    Parameters
    ----------
    code : str
        A key of `CATALOGUE`.
    detail : str
        What is wrong with this request and what to do.
    request_id : str
        The id that the log line of this request carries.
    errors : sequence of ErrorItem, optional
        Every place to change, in document order.

    Returns
    -------
    status : int
        The HTTP status that the catalogue gives the code.
    body : bytes
        The problem as JSON.

    Raises
    ------
    KeyError
        `code` is not in the catalogue.
    """
    kind = CATALOGUE[code]
    problem = Problem(
        type=kind.type,
        title=kind.title,
        status=kind.status,
        detail=detail,
        code=code,
        request_id=request_id,
        errors=list(errors),
    )
    return kind.status, _ENCODER.encode(problem)
