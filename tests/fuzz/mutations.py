"""Real requests with something wrong in them: bytes changed, or members moved, doubled, dropped, replaced."""

import copy
import json
from typing import Any, Final

from hypothesis import strategies as st

RAW_NUMBERS: Final = ("1e999", "-1e999", "9" * 400, "-0", "1E400", "5e-324", "1e308", "0.1e1", "NaN")
"""Numbers that only a text can hold."""

SPLICES: Final = (
    b"", b"\x00", b"\xff", b"\xed\xa0\x80", b"\xef\xbb\xbf", b'"', b"\\", b"\\u", b"\\ud800", b"{", b"}",
    b"[", b"]", b",", b":", b"null", b"-", b"1e999", b"9" * 400, b"[" * 300, b'{"a":' * 70, b"\n", b'"a":1,',
)  # fmt: skip
VALUES: Final[tuple[Any, ...]] = (
    None, True, False, 0, -1, 1e308, 5e-324, -5e-324, 2**63, -(2**70), 0.5, 1_999, 2_001, 100_001,
    "", "12", "m", "V", "ohm/km", "constant-power", "spans", "runs", "supply", "x" * 65, "a\n", "\u202e",
    "🌳", [], {}, [[]], {"value": 1, "unit": "m"}, {"value": 0, "unit": "V"}, {"kind": "listed"},
)  # fmt: skip


@st.composite
def changed_bytes(draw: st.DrawFn, requests: tuple[Any, ...]) -> bytes:
    """A body with one to three places overwritten, cut out or doubled."""
    body = json.dumps(draw(st.sampled_from(requests))).encode()
    for _ in range(draw(st.integers(1, 3))):
        start = draw(st.integers(0, len(body)))
        end = min(len(body), start + draw(st.sampled_from([0, 0, 1, 2, 17, 400])))
        new = draw(st.sampled_from(SPLICES) | st.binary(max_size=3) | st.just(2 * body[start:end]))
        body = body[:start] + new + body[end:]
    return body


@st.composite
def changed_requests(draw: st.DrawFn, requests: tuple[Any, ...]) -> bytes:
    """A body that is JSON, with one to four members dropped, renamed, doubled, swapped or replaced."""
    whole = [copy.deepcopy(draw(st.sampled_from(requests)))]
    for _ in range(draw(st.integers(1, 4))):
        _change(draw, whole)
    body = json.dumps(whole[0], ensure_ascii=draw(st.booleans()))
    if draw(st.integers(0, 4)) == 0 and "12" in body:
        body = body.replace("12", draw(st.sampled_from(RAW_NUMBERS)), 1)
    return body.encode()


def places(value: Any) -> list[tuple[Any, Any]]:
    """Every holder and key of a value, in document order."""
    pairs = list(value.items()) if isinstance(value, dict) else list(enumerate(value))
    found = []
    for key, part in pairs:
        found.append((value, key))
        if isinstance(part, dict | list):
            found += places(part)
    return found


def _change(draw: st.DrawFn, whole: list[Any]) -> None:
    inside = places(whole)
    holder, key = draw(st.sampled_from(inside))
    how = draw(st.sampled_from(["drop", "rename", "double", "swap", "replace", "replace", "many"]))
    if how == "drop" and holder is not whole:
        del holder[key]
    elif how == "rename" and isinstance(holder, dict):
        holder[draw(st.sampled_from(["vlaue", "Unit", "id", "", "x" * 300]))] = holder.pop(key)
    elif how in ("double", "many") and isinstance(holder, list) and holder is not whole:
        holder.extend(copy.deepcopy(holder[key]) for _ in range(1 if how == "double" else 30))
    elif how == "swap":
        other, there = draw(st.sampled_from(inside))
        holder[key] = copy.deepcopy(other[there])
    else:
        holder[key] = copy.deepcopy(draw(st.sampled_from(VALUES)))
