"""Writes the reference for people who read Markdown: ``python deploy/reference.py > openapi/REFERENCE.md``.

Everything in it comes from the OpenAPI document, so that neither can say what the other does not.
"""

import json
import re
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

DOCUMENT = Path(__file__).parents[1] / "openapi" / "openapi.json"
METHODS = ("get", "put", "post", "delete", "patch", "head", "options", "trace")
TYPES = {
    "boolean": "true or false",
    "integer": "whole number",
    "number": "number",
    "object": "object",
    "string": "text",
}
HEAD = """\
# Reference

Written by `python deploy/reference.py` from `openapi.json`; change that, not this.
"""


def main(arguments: list[str]) -> int:
    """Print the reference of a document, of the committed one if none is named."""
    path = Path(arguments[0]) if arguments else DOCUMENT
    sys.stdout.buffer.write(reference(json.loads(path.read_bytes())).encode("utf-8"))
    return 0


def reference(document: Any) -> str:  # noqa: ANN401  # any JSON
    """Write the whole reference; the same text for the same document."""
    return "\n".join(_tidied(_Reference(document).lines()))


def _tidied(lines: Iterable[str]) -> Iterator[str]:
    """Never two empty lines in a row, and one newline at the end."""
    empty = True
    for line in "\n".join(lines).rstrip().split("\n"):
        if line.strip() or not empty:
            yield line.rstrip()
        empty = not line.strip()
    yield ""


class _Reference:
    """One document on its way to Markdown."""

    def __init__(self, document: Any) -> None:  # noqa: ANN401  # any JSON
        self.document = document
        self.schemas = document["components"]["schemas"]
        self.patterns: list[str] = []

    def lines(self) -> Iterator[str]:
        info = self.document["info"]
        yield HEAD
        yield f"{info['title']} {info['version']}. {info['summary']}\n"
        yield re.sub(r"^## ", "### ", info["description"], flags=re.MULTILINE)
        for tag in self.document["tags"]:
            yield f"\n## {tag['name'].capitalize()}\n\n{tag['description']}\n"
            for path, method, said in self.operations():
                if tag["name"] in said["tags"]:
                    yield from self.operation(path, method, said)
        sent = self.reached([said.get("requestBody") for _, _, said in self.operations()])
        answered = self.reached([said["responses"] for _, _, said in self.operations()])
        yield from self.types("Types in requests", sent)
        yield from self.types("Types in replies", answered - sent)
        yield from self.written_patterns()

    def operations(self) -> Iterator[tuple[str, str, Any]]:
        for path, item in self.document["paths"].items():
            for method in METHODS:
                if method in item:
                    replies = {
                        status: self.followed(reply) for status, reply in item[method]["responses"].items()
                    }
                    yield path, method.upper(), {**item[method], "responses": replies}

    def operation(self, path: str, method: str, said: Any) -> Iterator[str]:  # noqa: ANN401  # any JSON
        yield f"\n### {said['summary']}\n\n`{method} {path}`\n\n{said['description']}\n"
        yield from self.parameters(said.get("parameters", []))
        for kind, content in said.get("requestBody", {}).get("content", {}).items():
            yield f"\nRequest, `{kind}`: {self.words(content['schema'])}\n"
            yield from _examples(content, len(content.get("examples", ())))
        yield "\nReplies:\n"
        for status, reply in said["responses"].items():
            yield from self.reply(status, reply)
        for status, reply in said["responses"].items():
            for content in reply.get("content", {}).values():
                yield from _examples(content, 1, f"`{status}`: ")

    def parameters(self, parameters: list[Any]) -> Iterator[str]:
        for parameter in map(self.followed, parameters):
            needed = "required" if parameter.get("required") else "may be left out"
            said = (
                f"{self.words(parameter['schema'])}, {needed}. {_one_line(parameter.get('description', ''))}"
            )
            yield f"- `{parameter['name']}`, in the {parameter['in']}: {said}"

    def reply(self, status: str, reply: Any) -> Iterator[str]:  # noqa: ANN401  # any JSON
        forms = [
            f"`{kind}`" + (f", {self.words(content['schema'])}" if "schema" in content else "")
            for kind, content in reply.get("content", {}).items()
        ]
        description = reply["description"]
        listed = re.sub(r"^", "  ", description, flags=re.MULTILINE) if "\n" in description else ""
        yield f"- `{status}` {'; '.join(forms)}" + ("" if listed else f": {description}")
        if listed:
            yield listed

    def followed(self, schema: Any) -> Any:  # noqa: ANN401  # any JSON
        place = self.document
        for name in schema.get("$ref", "#")[2:].split("/") if "$ref" in schema else ():
            place = place[name]
        return place if "$ref" in schema else schema

    def reached(self, part: Any) -> set[str]:  # noqa: ANN401  # any JSON
        found: set[str] = set()
        waiting = [part]
        while waiting:
            names = re.findall(r'"#/components/schemas/([^"]+)"', json.dumps(waiting.pop()))
            waiting += [self.schemas[name] for name in set(names) - found]
            found |= set(names)
        return found

    def types(self, title: str, names: set[str]) -> Iterator[str]:
        yield f"\n## {title}\n"
        for name in sorted(names):
            schema = self.schemas[name]
            # An anchor of its own, since an operation may have the same heading.
            yield f'\n<a id="type-{name}"></a>\n\n### {name}\n\n{schema["description"]}\n'
            if "oneOf" in schema:
                yield from _choice(schema["discriminator"])
            elif schema.get("properties"):
                yield from self.members(schema)
            if "if" in schema:
                yield f"\nBounds of the quantity: {'; '.join(_each_unit(self.with_its_units(schema)))}."

    def with_its_units(self, schema: Any) -> Any:  # noqa: ANN401  # any JSON
        """A quantity with its units where they are written elsewhere, under a name."""
        members = schema.get("properties", {})
        if "unit" not in members:
            return schema
        return {**schema, "properties": {**members, "unit": self.followed(members["unit"])}}

    def members(self, schema: Any) -> Iterator[str]:  # noqa: ANN401  # any JSON
        needed = schema.get("required", ())
        yield "| member | | type | meaning |\n|---|---|---|---|"
        for name, member in schema["properties"].items():
            mark = "required" if name in needed else ""
            yield f"| `{name}` | {mark} | {_cell(self.words(member))} | {_cell(self.meaning(member))} |"

    def meaning(self, member: Any) -> str:  # noqa: ANN401  # any JSON
        """What a member says of itself; where it says nothing, what its type is."""
        kind = self.followed(member)
        # Of a list of names all is said in the line of its type.
        said: str = member.get("description") or ("" if "enum" in kind else kind.get("description", ""))
        return _one_line(said.partition("\n\n")[0])

    def words(self, schema: Any) -> str:  # noqa: ANN401  # any JSON
        """The type of a member with its bounds and units, in one line."""
        if "$ref" in schema:
            name = schema["$ref"].rpartition("/")[2]
            found = self.schemas[name]
            listed = f", one of {_codes(found['enum'])}" if "enum" in found else ""
            return f"[{name}](#type-{name}){listed}{_quantity(self.with_its_units(found))}"
        if "const" in schema:
            return f"`{json.dumps(schema['const'], ensure_ascii=False)}`"
        if "enum" in schema:
            return f"one of {_codes(schema['enum'])}"
        if schema.get("type") == ["string", "array"]:
            return f"{self.words(schema['items'])}; or list of these, {_bounds(schema)}"
        if schema.get("type") == "array":
            return "; ".join(filter(None, [f"list of {self.words(schema['items'])}", _bounds(schema)]))
        without_type = "bytes" if "contentMediaType" in schema else "any JSON"
        kind = TYPES.get(schema.get("type", ""), without_type)
        return ", ".join(filter(None, [kind, _bounds(schema), self.pattern(schema)]))

    def pattern(self, schema: Any) -> str:  # noqa: ANN401  # any JSON
        if "pattern" not in schema:
            return ""
        if schema["pattern"] not in self.patterns:
            self.patterns.append(schema["pattern"])
        return f"[pattern {self.patterns.index(schema['pattern']) + 1}](#patterns)"

    def written_patterns(self) -> Iterator[str]:
        yield "\n## Patterns\n\nRegular expressions (ECMA-262) that texts match.\n"
        for number, pattern in enumerate(self.patterns, 1):
            yield f"{number}. `{pattern}`"


def _choice(discriminator: Any) -> Iterator[str]:  # noqa: ANN401  # any JSON
    yield f"By `{discriminator['propertyName']}`:\n"
    for tag, reference_to in discriminator["mapping"].items():
        name = reference_to.rpartition("/")[2]
        yield f"- `{tag}`: [{name}](#type-{name})"


def _quantity(schema: Any) -> str:  # noqa: ANN401  # any JSON
    """Bounds and units, where a schema is a value with its unit."""
    members = schema.get("properties", {})
    if members.keys() != {"value", "unit"}:
        return ""
    value, unit = members["value"], members["unit"]
    units = unit.get("enum") or ([unit["const"]] if "const" in unit else [])
    if "if" in schema:
        return (
            f", {_bounds(value | _own(schema, units[0]))} in `{units[0]}`, or as much in {_codes(units[1:])}"
        )
    inside = ", ".join(map(str, value["enum"])) if "enum" in value else _bounds(value)
    return (f", {inside}" if inside else "") + (f" in {_codes(units)}" if units else "")


def _each_unit(schema: Any) -> Iterator[str]:  # noqa: ANN401  # any JSON
    value, unit = schema["properties"]["value"], schema["properties"]["unit"]
    for name in unit["enum"]:
        yield f"{_bounds(value | _own(schema, name))} in `{name}`"


def _own(schema: Any, unit: str) -> Any:  # noqa: ANN401  # any JSON
    """The bounds that a quantity has in one unit, where they are tighter than those of its `value`."""
    while "if" in schema:
        if schema["if"]["properties"]["unit"]["const"] == unit:
            return schema["then"]["properties"]["value"]
        schema = schema.get("else", {})
    return {}


def _bounds(schema: Any) -> str:  # noqa: ANN401  # any JSON
    for ends, unit in (("imum", ""), ("Length", " characters"), ("Items", " items")):
        least, most = schema.get(f"min{ends}"), schema.get(f"max{ends}")
        if least is not None and most is not None:
            return f"{least} to {most}{unit}"
        if least is not None:
            return f"at least {least}{unit}"
        if most is not None:
            return f"at most {most}{unit}"
    return ""


def _examples(content: Any, count: int, before: str = "") -> Iterator[str]:  # noqa: ANN401  # any JSON
    """Show the first examples; the document has them all."""
    for example in list(content.get("examples", {}).values())[:count]:
        yield f"\n<details><summary>{before}{example['summary']}</summary>\n"
        yield f"```json\n{_shown(example['value'])}\n```\n\n</details>\n"


def _shown(value: Any) -> str:  # noqa: ANN401  # any JSON
    """JSON on several lines, but each quantity on one."""
    text = json.dumps(value, indent=2, ensure_ascii=False)
    return re.sub(r'\{\s+("value": [^,{}\[\]]+),\s+("unit": "[^"]*")\s+\}', r"{\1, \2}", text)


def _codes(values: Iterable[Any]) -> str:
    return ", ".join(f"`{value}`" for value in values)


def _one_line(text: str) -> str:
    return " ".join(text.split())


def _cell(text: str) -> str:
    return text.replace("|", "\\|")


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
