"""Writes the examples as requests that an editor sends.

``python deploy/collection.py > openapi/requests.http`` takes the examples, ``… collection.py FOLDER`` the
jobs of another folder in the order of their names. These begin with the name of the study, and before it a
number where the order matters: ``02_voltage_drop_patio.json``. The bodies stay in their files.
"""

import json
import re
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

OPENAPI = Path(__file__).resolve().parents[1] / "openapi"
HEAD = """\
# Written by `python deploy/collection.py` from the examples; change those, not this.
# For editors that send what stands in a file of requests. With keys, add to each request:
# Authorization: Bearer <your key>
@service = http://127.0.0.1:8080
"""


def main(arguments: list[str]) -> int:
    """Print the requests of a folder, of the examples if none is named."""
    folder = Path(arguments[0]).resolve() if arguments else OPENAPI / "examples"
    sys.stdout.buffer.write(collection(folder).encode("utf-8"))
    return 0


def collection(folder: Path) -> str:
    """Write every job of a folder as a request, for a file that stands in the folder `openapi`."""
    paths = json.loads((OPENAPI / "openapi.json").read_bytes())["paths"]
    files = sorted(folder.glob("*.json"))
    return "\n".join([HEAD, *(_request(paths, file) for file in files)])


def _request(paths: Any, file: Path) -> str:  # noqa: ANN401  # any JSON
    path = _path_of(paths, file)
    title = next(_titles(paths[path]["post"], json.loads(file.read_bytes())), file.stem.replace("_", " "))
    body = f"./{file.relative_to(OPENAPI)}" if file.is_relative_to(OPENAPI) else str(file)
    head = f"POST {{{{service}}}}{path}\nContent-Type: application/json"
    return f"### {path.removeprefix('/v1/')}: {title}\n{head}\n\n< {body}\n"


def _path_of(paths: Any, file: Path) -> str:  # noqa: ANN401  # any JSON
    """The address to which a job is posted: its file is called after the study."""
    name = re.sub(r"^\d+_", "", file.stem)
    found = [
        path
        for path, item in paths.items()
        if "post" in item and f"{name}_".startswith(path.rpartition("/")[2].replace("-", "_") + "_")
    ]
    if not found:
        sys.exit(f"{file.name} is called after no study, so nobody knows where to post it.")
    return str(max(found, key=len))


def _titles(operation: Any, job: Any) -> Iterator[str]:  # noqa: ANN401  # any JSON
    """What the document says of a job, where it is one of its examples."""
    for media in operation["requestBody"]["content"].values():
        yield from (each["summary"] for each in media["examples"].values() if each["value"] == job)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
