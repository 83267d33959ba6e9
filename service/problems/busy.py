"""The refusal of what could only be answered late."""

from typing import Final

from service.problems.refused import Refused

RETRY_AFTER_SECONDS: Final = "1"
BUSY_DETAIL: Final = "The service is busy. Send the same request again after the time that Retry-After names."


def busy() -> Refused:
    """Make the refusal, which says when to come again."""
    return Refused("busy", BUSY_DETAIL, headers={"Retry-After": RETRY_AFTER_SECONDS})
