"""Places in a document: what stands there, and how to say where that is."""

from typing import Any, NamedTuple


class Place(NamedTuple):
    """A JSON value of a document and the JSON Pointer (RFC 6901) at which it stands."""

    document: Any
    pointer: str
    value: Any

    def under(self, *tokens: str) -> "Place":
        """Go down to a member that is there, and on to what it refers to."""
        value = self.value
        for token in tokens:
            value = value[int(token)] if isinstance(value, list) else value[token]
        pointer = self.pointer + "".join(f"/{escaped(token)}" for token in tokens)
        return Place(self.document, pointer, value).followed()

    def members(self, name: str) -> dict[str, "Place"]:
        """Find the members of an object that stands under a name; none where it is absent."""
        return {member: self.under(name, member) for member in self.value.get(name, {})}

    def followed(self) -> "Place":
        """Go where a reference points; what stands beside the reference holds as well."""
        if not isinstance(self.value, dict) or not isinstance(self.value.get("$ref"), str):
            return self
        reference = self.value["$ref"]
        if not reference.startswith("#/"):
            detail = f"{self.pointer} refers to {reference}, which is not within the document."
            raise ValueError(detail)
        target = whole(self.document).under(*(unescaped(token) for token in reference[2:].split("/")))
        beside = {name: value for name, value in self.value.items() if name not in ("$ref", "description")}
        return target._replace(value={**target.value, **beside}) if beside else target


def whole(document: Any) -> Place:
    return Place(document, "", document)


def escaped(token: str) -> str:
    return token.replace("~", "~0").replace("/", "~1")


def unescaped(token: str) -> str:
    return token.replace("~1", "/").replace("~0", "~")
