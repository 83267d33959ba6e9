"""Refusals: the catalogue, the exception that carries one, and the words that go over the wire (RFC 9457)."""

from service.problems.busy import BUSY_DETAIL, RETRY_AFTER_SECONDS, busy
from service.problems.catalogue import CATALOGUE, ProblemKind
from service.problems.errors import ERROR_CODES, ErrorItem
from service.problems.message import PROBLEM_MEDIA_TYPE, Problem, problem_bytes
from service.problems.refused import Refused

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
