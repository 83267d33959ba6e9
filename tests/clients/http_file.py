"""A file of requests, read as the editors that send it do: by its lines."""

import re
from pathlib import Path
from typing import NamedTuple


class Sent(NamedTuple):
    """One request of such a file."""

    title: str
    method: str
    path: str
    fields: dict[str, str]
    body: Path


def requests_of(text: str, folder: Path) -> list[Sent]:
    """List the requests of a file that stands in a folder."""
    variables = dict(re.findall(r"^@(\w+) = (\S+)$", text, re.MULTILINE))
    sent = []
    for part in re.split(r"^### ", text, flags=re.MULTILINE)[1:]:
        title, line, *rest = part.strip().split("\n")
        method, target = line.split(" ", 1)
        address = re.sub(r"\{\{(\w+)\}\}", lambda found: variables[found[1]], target)
        fields = dict(each.split(": ", 1) for each in rest[: rest.index("")])
        [body] = rest[rest.index("") + 1 :]
        path = address.removeprefix("http://127.0.0.1:8080")
        sent.append(Sent(title, method, path, fields, folder / body.removeprefix("< ")))
    return sent
