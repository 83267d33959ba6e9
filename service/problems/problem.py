"""A problem as it goes over the wire: `application/problem+json`, RFC 9457."""

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Final

from msgspec import UNSET, Struct, UnsetType, json

from service.problems.catalogue import CATALOGUE

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


ERROR_CODES: Final[dict[str, str]] = {
    "unknown-member": "The object has a member that the contract does not list.",
    "missing-member": "A required member is not there.",
    "duplicate-member": "Two members of one object have the same name.",
    "wrong-type": "The value has another JSON type than the contract asks for; nothing is converted.",
    "null-not-allowed": "The value is null; an optional member is left out instead.",
    "out-of-range": "The number lies outside the bounds.",
    "not-a-multiple": "The number is not a multiple of the step that the contract asks for.",
    "number-out-of-range": "The number is not finite, or no 64-bit float can hold it.",
    "unknown-name": "The text is not one of the names in the contract.",
    "supply-not-computable": "The kind of supply is known, and nothing can be computed with it.",
    "wrong-unit": "The text is not one of the unit names of the contract.",
    "wrong-dimension": "The unit measures something else than this member.",
    "bare-number": "A number stands where a value with its unit is needed.",
    "pattern-mismatch": "The text has a character that this member does not take.",
    "too-short": "The text has fewer characters than the contract asks for.",
    "paper-not-offered": "The study is not printed as this paper; `allowed` lists its papers.",
    "too-long": "The text has more characters than the contract allows.",
    "too-few": "The list has fewer items than the contract asks for.",
    "too-many": "The list has more items than the contract allows.",
    "not-as-described": "The value does not fit the contract; the detail says how.",
    "unknown-point": "A span or a fixture names a point that no span reaches.",
    "cable-missing": "Neither the run, branch, spur or span nor the wiring has a cable.",
    "load-missing": "A fixture has neither a load nor a type that gives it one.",
    "unknown-type": "A fixture names a type that the wiring does not list.",
    "duplicate-type": "Two fixture types have one id.",
    "reading-unknown-place": "A reading or a lit part points at nothing that can be read or lit.",
    "reading-volts-of-span": "Volts are asked of a span, which has two ends.",
    "reading-number-missing": "A line stands for several fixtures and none of them is named.",
    "reading-number-unknown": "A number is above how many fixtures the line stands for.",
    "reading-unknown-tap": "A reading names a tap that the supply has not got.",
    "reading-unknown-circuit": "A reading names a circuit that does not exist.",
    "reading-ohms-of-supply": "Ohms are asked of the supply, which no ohmmeter may be put on.",
    "csv-unreadable": "A sheet of comma-separated values breaks off or has a quote out of place.",
    "csv-columns": "A sheet lacks columns that say what was read.",
    "csv-columns-doubled": "A sheet has a column twice.",
    "csv-cells": "A row of a sheet has more cells than its header.",
    "csv-too-many": "A sheet has more readings than one request may.",
    "csv-value": "A cell of a sheet is no number, or not within its bounds.",
    "csv-word": "A cell of a sheet is none of the words that its column takes.",
    "unknown-circuit": "The name is not among the circuits of the supply.",
    "duplicate-id": "Two things carry the same id.",
    "taps-joined": "Two taps meet in one mesh.",
    "unknown-cable": "A pointer names no cable of the wiring that can be chosen.",
    "not-at-supply": "A tap or a circuit stands on a span that does not leave the supply.",
    "fixture-at-supply": "A fixture stands at the supply itself, where no tap is said.",
    "self-span": "A span starts and ends at one point.",
    "island": "The point is not connected to the supply.",
    "secondary-is-mains": "The secondary voltage is that of the mains: only low voltage is calculated.",
    "more-errors": "There are more errors than are listed.",
}
"""Meaning of each code that an error item may carry."""


_NO_HEADERS: Final[Mapping[str, str]] = MappingProxyType({})


class Refused(Exception):  # noqa: N818 - a refusal is an answer, not an error of the service
    """A request that cannot be answered, with the facts that its sender needs.

    Parameters
    ----------
    code : str
        A key of `CATALOGUE`.
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
        code: str,
        detail: str,
        errors: Sequence[ErrorItem] = (),
        headers: Mapping[str, str] = _NO_HEADERS,
    ) -> None:
        super().__init__(detail)
        self.code = code
        self.detail = detail
        self.errors = tuple(errors)
        self.headers = headers
        self.status = CATALOGUE[code].status


RETRY_AFTER_SECONDS: Final = "1"


BUSY_DETAIL: Final = "The service is busy. Send the same request again after the time that Retry-After names."


def busy() -> Refused:
    """Make the refusal, which says when to come again."""
    return Refused("busy", BUSY_DETAIL, headers={"Retry-After": RETRY_AFTER_SECONDS})
