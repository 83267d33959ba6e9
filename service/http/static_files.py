"""Files that are served as they stand in the tree: read once, with an ETag, a policy and a life in caches."""

import re
from base64 import b64encode
from collections.abc import Mapping
from functools import cache
from gzip import compress
from hashlib import sha384
from pathlib import Path
from typing import Final, NamedTuple

from litestar import Response

from service.http.replies import AnyRequest, Tagged, kept_reply
from service.problems import Refused
from service.studies.record import JSON, digest

PAGE_POLICY: Final = (
    "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src 'self';"
    " base-uri 'none'; form-action 'none'; require-trusted-types-for 'script'; trusted-types 'none';"
    " frame-ancestors {}"
)
"""Of a page of ours; who may frame it is filled in."""


FILE_POLICY: Final = "default-src 'none'; frame-ancestors 'none'; sandbox"
"""Of a file that is no page."""


STATIC: Final = Path(__file__).parents[1] / "static"


MEDIA_TYPES: Final = {
    ".css": "text/css",
    ".html": "text/html",
    ".js": "text/javascript",
    ".json": JSON,
    ".svg": "image/svg+xml",
    ".ts": "text/plain",
}


GZIP: Final = "gzip"


# Asked for anew each time: the files of one release must not meet those of another.
ANEW: Final = "no-cache"


def integrity(content: bytes) -> str:
    """What a page writes beside the address of a file, so that a browser takes no other (W3C SRI)."""
    return "sha384-" + b64encode(sha384(content).digest()).decode()


class File(NamedTuple):
    """One file, plain and compressed, and the hash by which a page may ask for it."""

    content: Tagged
    compressed: Tagged
    media_type: str
    integrity: str


@cache
def files_in(folder: Path) -> dict[str, File]:
    """Every file of a folder by name; a name that is not here is never looked for on the disk."""
    return {path.name: _file(path) for path in sorted(folder.iterdir()) if path.suffix in MEDIA_TYPES}


def _file(path: Path) -> File:
    return file_of(path.read_bytes(), MEDIA_TYPES[path.suffix])


def file_of(content: bytes, media_type: str) -> File:
    """A file made of its bytes. Its two forms have each an ETag, as they are two representations."""
    name = digest(content)[:32]
    compressed = Tagged(compress(content, mtime=0), f'"{name}-gzip"')
    return File(Tagged(content, f'"{name}"'), compressed, media_type, integrity(content))


def file_named(files: Mapping[str, File], name: str, otherwise: str) -> File:
    """The file of a name; `otherwise` says where those are that there are.

    Raises
    ------
    Refused
        ``not-found``: there is none.
    """
    if name not in files:
        raise Refused("not-found", otherwise)
    return files[name]


def file_reply(request: AnyRequest, file: File, *, policy: str, cache_control: str) -> Response[bytes]:
    """A file, or word that the client's copy is still good.

    Parameters
    ----------
    request : Request
    file : File
    policy : str
        What a page made of it may load; on 304 as well, since a browser keeps its copy with the newest.
    cache_control : str
        For how long it may be kept.
    """
    reply = packed_reply(request, file)
    reply.headers["Content-Security-Policy"] = policy
    reply.headers["Cache-Control"] = cache_control
    return reply


def packed_reply(request: AnyRequest, file: File) -> Response[bytes]:
    """A file, compressed where that is asked for, or word that the client's copy is still good."""
    compressed = _takes_gzip(request.headers.get("accept-encoding", ""))
    reply = kept_reply(request, file.compressed if compressed else file.content, file.media_type)
    if compressed:
        reply.headers["Content-Encoding"] = GZIP
    reply.headers["Vary"] = "Accept-Encoding"
    return reply


def _takes_gzip(accept_encoding: str) -> bool:
    """Whether a client names gzip, and not to refuse it (RFC 9110, 12.5.3)."""
    for part in accept_encoding.lower().split(","):
        coding, _, parameters = part.partition(";")
        if coding.strip() == GZIP:
            return re.fullmatch(r"\s*q=0(\.0*)?\s*", parameters) is None
    return False
