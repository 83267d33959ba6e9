"""What the document says of the whole service."""

from typing import Final

from service.translate.catalogue import CAUTIONS

TITLE: Final = "Lastlamp"
SUMMARY: Final = (
    "Voltage drop, transformer loading and gauge recommendation for 12, 15 and 24 V outdoor lighting."
)

_RULES: Final = """\
What does the last lamp on the run get? This service answers it, and what hangs on it.

## Cautions

{cautions}

Left out: electronic transformers that work at 35-40 kHz, pulse-width dimming, paralleled secondaries and
leakage reactance.

## What a client may count on

- Every length is one way along the route; the service counts both conductors.
- A quantity is an object with `value` and `unit` and nothing else. Nothing is guessed: `"12"` is not 12.
- Requests refuse members that are not listed. An optional member is left out, never null.
- Replies are open: new members, findings and codes may appear. A new `status` would be a breaking change.
- `code`, `pointer` and `parameters` are for programs. `message`, `title` and `detail` are English words for
  people; all but `title` may change.
- Calculations are pure: the same bytes get the same bytes back, and a POST may be repeated safely.
- A refusal is a problem (RFC 9457, `application/problem+json`) that lists every place to change at once.
- Every reply carries `X-Request-ID`. What answers GET also answers HEAD; OPTIONS is answered everywhere.
- Where the operator gives out keys, what lies under `/v1` wants one: `Authorization: Bearer <key>` (401). A
  page has a key for pages, which is no secret: it works from the page's origin alone (403).
- A request whose head is too large is answered 431 and one that is too slow 408, before any operation.
"""


def description() -> str:
    """The cautions first, then the rules that hold everywhere; CommonMark."""
    return _RULES.format(cautions="\n".join(f"- {caution}" for caution in CAUTIONS.values()))


TAGS: Final = (
    {"name": "calculations", "description": "A job in, an answer out. Nothing is kept."},
    {"name": "catalogues", "description": "What a request may name. Short lists that a client may keep."},
    {"name": "contract", "description": "What this service takes and gives."},
    {"name": "health", "description": "For those who run it."},
)
