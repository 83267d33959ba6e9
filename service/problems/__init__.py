"""Refusals: the catalogue, the exception that carries one, and the words that go over the wire (RFC 9457)."""

from service.problems.catalogue import CATALOGUE, ERROR_KINDS, INTERNAL_ERROR, ErrorKind, ProblemKind
from service.problems.problem import (
    BUSY_DETAIL,
    PROBLEM_MEDIA_TYPE,
    RETRY_AFTER_SECONDS,
    ErrorItem,
    Problem,
    Refused,
    busy,
    kind_of,
    problem_bytes,
)
from service.problems.unanswered import Mistake, UnansweredError

__all__ = [
    "BUSY_DETAIL",
    "CATALOGUE",
    "ERROR_KINDS",
    "INTERNAL_ERROR",
    "PROBLEM_MEDIA_TYPE",
    "RETRY_AFTER_SECONDS",
    "ErrorItem",
    "ErrorKind",
    "Mistake",
    "Problem",
    "ProblemKind",
    "Refused",
    "UnansweredError",
    "busy",
    "kind_of",
    "problem_bytes",
]
