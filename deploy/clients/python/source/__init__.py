"""Asks a Lastlamp service, with the types of its contract."""

from .connection import ProblemError, ReplyError
from .service import Service
from .types import UNSET, Unset

__all__ = ["UNSET", "ProblemError", "ReplyError", "Service", "Unset"]
