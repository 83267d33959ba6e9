"""The door for requests: raw bytes and headers in, a strict message or a refusal out."""

from service.intake.body import decode
from service.intake.headers import check_headers, negotiate

__all__ = ["check_headers", "decode", "negotiate"]
