"""A problem as it goes over the wire: `application/problem+json`, RFC 9457."""

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Final

from msgspec import UNSET, Struct, UnsetType, json

from service.problems.catalogue import CATALOGUE, ProblemKind

PROBLEM_MEDIA_TYPE: Final = "application/problem+json"


_ENCODER: Final = json.Encoder()


class ErrorItem(Struct, frozen=True):
    """One thing to change in a request: a stable code, a JSON Pointer (RFC 6901), words, and what is allowed.

    `allowed` holds names, or the bounds of a range as texts such as ``>= 0`` and ``<= 100``.
    """

    code: str
    pointer: str
    detail: str
    allowed: list[str] | UnsetType = UNSET


class Problem(Struct, frozen=True):
    """A refusal in the words of RFC 9457; `type` is a path at which the service explains it."""

    type: str
    title: str
    status: int
    detail: str
    code: str
    request_id: str
    errors: list[ErrorItem]


def kind_of(kind: ProblemKind | str) -> ProblemKind:
    """A kind, or the one of the catalogue that has this code."""
    return CATALOGUE[kind] if isinstance(kind, str) else kind


def problem_bytes(
    kind: ProblemKind | str, detail: str, request_id: str, errors: Sequence[ErrorItem] = ()
) -> tuple[int, bytes]:
    """Write a problem.

    Parameters
    ----------
    kind : ProblemKind or str
        A kind, or the code of one of `CATALOGUE`.
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
    kind = kind_of(kind)
    problem = Problem(
        type=kind.type,
        title=kind.title,
        status=kind.status,
        detail=detail,
        code=kind.code,
        request_id=request_id,
        errors=list(errors),
    )
    return kind.status, _ENCODER.encode(problem)


_NO_HEADERS: Final[Mapping[str, str]] = MappingProxyType({})


class Refused(Exception):  # noqa: N818 - a refusal is an answer, not an error of the service
    """A request that cannot be answered, with the facts that its sender needs.

    Parameters
    ----------
    kind : ProblemKind or str
        A kind, or the code of one of `CATALOGUE`.
    detail : str
        What is wrong with this request and what to do.
    errors : sequence of ErrorItem, optional
        Every place to change, in document order.
    headers : mapping of str to str, optional
        Response headers that belong to the refusal.

    Raises
    ------
    KeyError
        `code` is not in the catalogue.
    """

    def __init__(
        self,
        kind: ProblemKind | str,
        detail: str,
        errors: Sequence[ErrorItem] = (),
        headers: Mapping[str, str] = _NO_HEADERS,
    ) -> None:
        super().__init__(detail)
        self.kind = kind_of(kind)
        self.detail = detail
        self.errors = tuple(errors)
        self.headers = headers

    @property
    def code(self) -> str:
        """Of its kind."""
        return self.kind.code

    @property
    def status(self) -> int:
        """Of its kind, in HTTP."""
        return self.kind.status


RETRY_AFTER_SECONDS: Final = "1"


BUSY_DETAIL: Final = "The service is busy. Send the same request again after the time that Retry-After names."


def busy() -> Refused:
    """Make the refusal, which says when to come again."""
    return Refused("busy", BUSY_DETAIL, headers={"Retry-After": RETRY_AFTER_SECONDS})
