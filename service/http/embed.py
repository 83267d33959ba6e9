"""`GET /embed/...`: the calculator for other people's pages, in every version that was released."""

from functools import cache
from typing import Final

from litestar import Response, get
from litestar.params import FromPath
from msgspec import json

from service.http.replies import AnyRequest
from service.http.static_files import (
    ANEW,
    FILE_POLICY,
    PAGE_POLICY,
    STATIC,
    File,
    file_of,
    file_reply,
    files_in,
    found,
)
from service.studies.record import JSON

FOLDER: Final = STATIC / "embed"


FRAME: Final = FOLDER / "frame"


CONFIGURE: Final = FOLDER / "configure"


FRAME_ANCESTORS: Final = "frame_ancestors"
"""The name under which the application's state holds the origins whose pages may frame the calculator."""


NEWEST: Final = "v1"
"""Stands for the newest version 1.x.y."""


# A full version never changes; what stands for the newest is asked for anew after five minutes.
_FOREVER: Final = "public, max-age=31536000, immutable"


_SHORTLY: Final = "public, max-age=300"


_NOWHERE: Final = "There is no such file. /embed/manifest.json lists those of the calculator."


@get("/embed/manifest.json", include_in_schema=False, sync_to_thread=False)
def embed_manifest(request: AnyRequest) -> Response[bytes]:
    """Every version and its files, each with the hash that a page may ask for."""
    return _file_reply(request, manifest(), _SHORTLY)


@get("/embed/frame", include_in_schema=False, sync_to_thread=False)
def embed_frame(request: AnyRequest) -> Response[bytes]:
    """The calculator as a page for frames; while no origin may frame it, how to name one."""
    ancestors = request.app.state[FRAME_ANCESTORS]
    file = files_in(FRAME)["frame.html" if ancestors else "closed.html"]
    policy = PAGE_POLICY.format(" ".join(ancestors) or "'none'")
    return file_reply(request, file, policy=policy, cache_control=ANEW)


@get("/embed/configure", include_in_schema=False, sync_to_thread=False)
def embed_configure(request: AnyRequest) -> Response[bytes]:
    """The page that writes what a site pastes into its own."""
    file = files_in(CONFIGURE)["configure.html"]
    return file_reply(request, file, policy=PAGE_POLICY.format("'none'"), cache_control=ANEW)


@get("/embed/frame/{name:str}", include_in_schema=False, sync_to_thread=False)
def embed_frame_file(request: AnyRequest, name: FromPath[str]) -> Response[bytes]:
    """A file that the page for frames loads."""
    return _file_reply(request, found(files_in(FRAME), name, _NOWHERE), ANEW)


@get("/embed/configure/{name:str}", include_in_schema=False, sync_to_thread=False)
def embed_configure_file(request: AnyRequest, name: FromPath[str]) -> Response[bytes]:
    """A file that the page which writes the snippet loads."""
    return _file_reply(request, found(files_in(CONFIGURE), name, _NOWHERE), ANEW)


# Beside the files of a version, so that it loads those of its own.
@get("/embed/{version:str}/meter", include_in_schema=False, sync_to_thread=False)
def embed_meter(request: AnyRequest, version: FromPath[str]) -> Response[bytes]:
    """The page on which a commissioning sheet is ticked off with a meter."""
    number = newest() if version == NEWEST else version
    file = found(files_of(number) if number in versions() else {}, "meter.html", _NOWHERE)
    return file_reply(request, file, policy=PAGE_POLICY.format("'none'"), cache_control=ANEW)


@get("/embed/{version:str}/{name:str}", include_in_schema=False, sync_to_thread=False)
def embed_file(request: AnyRequest, version: FromPath[str], name: FromPath[str]) -> Response[bytes]:
    """A file of a version."""
    number = newest() if version == NEWEST else version
    file = found(files_of(number) if number in versions() else {}, name, _NOWHERE)
    return _file_reply(request, file, _FOREVER if number == version else _SHORTLY)


@cache
def versions() -> tuple[str, ...]:
    """Every version that was released, oldest first."""
    names = [path.name for path in FOLDER.iterdir() if path.name[0].isdigit()]
    return tuple(sorted(names, key=lambda name: [int(part) for part in name.split(".")]))


def newest() -> str:
    """The newest version 1.x.y."""
    return [version for version in versions() if version.startswith("1.")][-1]


def files_of(version: str) -> dict[str, File]:
    """Every file of a version by name."""
    return files_in(FOLDER / version)


@cache
def manifest() -> File:
    """The manifest, made once."""
    rows = [{"version": version, "files": _listed(version)} for version in versions()]
    content = json.encode({"newest": {NEWEST: newest()}, "versions": rows})
    return file_of(content, JSON)


def _listed(version: str) -> list[dict[str, str | int]]:
    return [
        {
            "path": f"/embed/{version}/{name}",
            "integrity": file.integrity,
            "bytes": len(file.content.content),
        }
        for name, file in files_of(version).items()
    ]


def _file_reply(request: AnyRequest, file: File, cache_control: str) -> Response[bytes]:
    """A file for any page; that it may read the reply is said at the gate."""
    reply = file_reply(request, file, policy=FILE_POLICY, cache_control=cache_control)
    reply.headers["Cross-Origin-Resource-Policy"] = "cross-origin"
    return reply
