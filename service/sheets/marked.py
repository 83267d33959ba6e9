"""Trees of elements that become HTML and SVG; the standard library's serialiser escapes every text."""

from __future__ import annotations

from typing import TYPE_CHECKING
from xml.etree.ElementTree import Element

if TYPE_CHECKING:
    from collections.abc import Iterable

# XML 1.0, section 2.2: what may stand in no document, escaped or not.
_NO_CHARACTERS = {0xFFFE: "\ufffd", 0xFFFF: "\ufffd"}


def element(name: str, /, *content: Element | str, **attributes: str) -> Element:
    """An element; underscores in the names of attributes stand for hyphens, one at the end for nothing."""
    said = {key.rstrip("_").replace("_", "-"): value for key, value in attributes.items()}
    made = Element(name, said)
    for part in content:
        if isinstance(part, str):
            add_text(made, part)
        else:
            made.append(part)
    return made


def add_text(parent: Element, text: str) -> None:
    """Put a text at the end of an element."""
    clean = text.translate(_NO_CHARACTERS)
    if len(parent):
        parent[-1].tail = (parent[-1].tail or "") + clean
    else:
        parent.text = (parent.text or "") + clean


def each(name: str, texts: Iterable[str]) -> list[Element]:
    """An element for each text."""
    return [element(name, text) for text in texts]
