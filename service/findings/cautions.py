"""What everybody who works by an answer is warned of. Codes are the contract; words may change."""

from __future__ import annotations

from typing import Final

CAUTIONS: Final[dict[str, str]] = {
    "isolate-first": "Switch the supply off and isolate it before cutting or opening any cable.",
    "tight-joints": "Loose terminals and splices heat, arc and burn; use connectors made for wet ground.",
    "local-code": "This is a calculation, not an approval: local code and a licensed electrician decide.",
    "meter-under-load": "A meter reading at the last lamp, with everything on, has the last word.",
}


READING_CAUTIONS: Final[dict[str, str]] = {
    "meter-category": "Measure mains only with a meter and leads of the measurement category for it"
    " (IEC 61010, from memory), and leave the primary side to a licensed electrician.",
    "hot-joints": "A joint with extra resistance turns it into heat: do not leave it loaded until it is"
    " remade.",
}
"""For whoever goes out with a meter."""
