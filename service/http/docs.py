"""`GET /docs`: a page on which people read the contract and try it. It loads nothing from anywhere else."""

from functools import cache
from pathlib import Path
from typing import Final, NamedTuple

from litestar import Response, get
from litestar.params import FromPath

from service.http.replies import AnyRequest, Kept, kept_reply
from service.http.static_files import FILE_POLICY
from service.problems import Refused
from service.studies.record import digest

FOLDER: Final = Path(__file__).parents[1] / "static" / "docs"


PAGE: Final = "index.html"


MEDIA_TYPES: Final = {
    ".css": "text/css",
    ".html": "text/html",
    ".js": "text/javascript",
    ".svg": "image/svg+xml",
}


DOCS_POLICY: Final = (
    "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src 'self' data:;"
    " font-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)


# Always asked for anew: the files of one release must not meet those of another.
_REVALIDATED: Final = "no-cache"


class DocsFile(NamedTuple):
    """One file of the page."""

    content: Kept
    media_type: str
    policy: str


@get("/docs", include_in_schema=False, sync_to_thread=False)
def docs(request: AnyRequest) -> Response[bytes]:
    """The page."""
    return _reply(request, files()[PAGE])


@get("/docs/{name:str}", include_in_schema=False, sync_to_thread=False)
def docs_file(request: AnyRequest, name: FromPath[str]) -> Response[bytes]:
    """A file that the page loads.

    Raises
    ------
    Refused
        ``not-found``: the page has no such file.
    """
    if name not in files():
        raise Refused("not-found", "The documentation page has no file of this name. It stands at /docs.")
    return _reply(request, files()[name])


@cache
def files() -> dict[str, DocsFile]:
    """Every file of the page by name, read once; a name that is not here is never looked for on the disk."""
    return {path.name: _file(path) for path in FOLDER.iterdir() if path.suffix in MEDIA_TYPES}


def _file(path: Path) -> DocsFile:
    content = path.read_bytes()
    policy = DOCS_POLICY if path.name == PAGE else FILE_POLICY
    return DocsFile(Kept(content, f'"{digest(content)[:32]}"'), MEDIA_TYPES[path.suffix], policy)


def _reply(request: AnyRequest, file: DocsFile) -> Response[bytes]:
    reply = kept_reply(request, file.content, file.media_type)
    # On 304 as well: a browser keeps its copy with the policy of the newest reply.
    reply.headers["Content-Security-Policy"] = file.policy
    reply.headers["Cache-Control"] = _REVALIDATED
    return reply
