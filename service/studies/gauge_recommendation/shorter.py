"""What is left of the remedies where the shortest reply is wanted: what each is, its words and its price."""

from typing import Any, Final

from msgspec import UNSET
from msgspec.structs import replace

IN_SHORT: Final = "`remedies` without their wiring, supply and purchase"
"""What the document says of the shortest."""

WHOLE: Final = "`remedies` whole"
"""What it says of the other."""


def remedies_in_short(reply: Any, is_longer: bool) -> dict[str, Any]:  # noqa: ANN401, FBT001  # `Kept` calls it by place, of any reply
    """The remedies of a reply that has some; those of the shortest without what is posted and bought."""
    remedies = getattr(reply, "remedies", None)
    if remedies is None:
        return {}
    if is_longer:
        return {"remedies": remedies}
    return {"remedies": [replace(each, wiring=UNSET, supply=UNSET, purchase=[]) for each in remedies]}
