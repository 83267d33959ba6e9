"""Refusals: the catalogue, the exception that carries one, and the words that go over the wire (RFC 9457)."""

from service.problems.catalogue import CATALOGUE, ProblemKind
from service.problems.problem import (
    BUSY_DETAIL,
    ERROR_CODES,
    PROBLEM_MEDIA_TYPE,
    RETRY_AFTER_SECONDS,
    ErrorItem,
    Problem,
    Refused,
    busy,
    problem_bytes,
)

__all__ = [
    "BUSY_DETAIL",
    "CATALOGUE",
    "ERROR_CODES",
    "PROBLEM_MEDIA_TYPE",
    "RETRY_AFTER_SECONDS",
    "ErrorItem",
    "Problem",
    "ProblemKind",
    "Refused",
    "busy",
    "problem_bytes",
]
