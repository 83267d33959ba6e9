r"""Regular expressions for texts that callers choose.

They are written for three readers at once: Python's `re`, msgspec (which searches with `re`) and JSON Schema
(ECMA 262 with the `u` flag). `$` would let a trailing newline pass in Python, so the end is `(?![\s\S])`.
"""

from typing import Final

# No C0 or C1 control, no line or paragraph separator (U+2028, U+2029) and no character with the Unicode
# property Bidi_Control (U+061C, U+200E, U+200F, U+202A to U+202E, U+2066 to U+2069): any of them can make a
# label, a CSV cell or a log line read as something else. Source: Unicode Standard Annex 9, PropList.txt.
_SHOWN: Final = r"[^\u0000-\u001F\u007F-\u009F\u061C\u200E\u200F\u2028-\u202E\u2066-\u2069]"

NAME_PATTERN: Final = rf"^{_SHOWN}{{1,64}}(?![\s\S])"

TITLE_PATTERN: Final = rf"^{_SHOWN}{{1,120}}(?![\s\S])"

LINE_PATTERN: Final = rf"^{_SHOWN}{{0,120}}(?![\s\S])"

POINTER_PATTERN: Final = r"^/[\x21-\x7E]{0,199}(?![\s\S])"

ID_PATTERN: Final = r"^[\x20-\x7E]{1,64}(?![\s\S])"
