"""What can be wrong with one place of a request."""

from typing import Final

from msgspec import UNSET, Struct, UnsetType


class ErrorItem(Struct, frozen=True):
    """One thing to change in a request: a stable code, a JSON Pointer (RFC 6901), words, and what is allowed.

    `allowed` holds names, or the bounds of a range as texts such as ``>= 0`` and ``<= 100``.
    """

    code: str
    pointer: str
    detail: str
    allowed: list[str] | UnsetType = UNSET


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
    "wrong-unit": "The text is not one of the unit names of the contract.",
    "wrong-dimension": "The unit measures something else than this member.",
    "bare-number": "A number stands where a value with its unit is needed.",
    "pattern-mismatch": "The text has a character that this member does not take.",
    "too-short": "The text has fewer characters than the contract asks for.",
    "too-long": "The text has more characters than the contract allows.",
    "too-few": "The list has fewer items than the contract asks for.",
    "too-many": "The list has more items than the contract allows.",
    "not-as-described": "The value does not fit the contract; the detail says how.",
    "unknown-point": "A span or a fixture names a point that no span reaches.",
    "reading-unknown-place": "A reading or a lit part points at nothing that can be read or lit.",
    "reading-volts-of-span": "Volts are asked of a span, which has two ends.",
    "reading-number-missing": "A line stands for several fixtures and none of them is named.",
    "reading-number-unknown": "A number is above how many fixtures the line stands for.",
    "reading-unknown-tap": "A reading names a tap that nothing is wired to.",
    "reading-unknown-circuit": "A reading names a circuit that does not exist.",
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
