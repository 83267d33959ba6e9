"""`GET /`: what this is, the calculator to try, and the way to everything else."""

from typing import Final

from litestar import Response, get
from litestar.params import FromPath

from service.http.replies import AnyRequest
from service.http.static_files import ANEW, PAGE_POLICY, STATIC, File, file_reply, files_in, found

FOLDER: Final = STATIC / "landing"


@get("/", include_in_schema=False, sync_to_thread=False)
def landing(request: AnyRequest) -> Response[bytes]:
    """The page."""
    return _reply(request, files_in(FOLDER)["index.html"])


# Below /embed, where no address needs a key.
@get("/embed/landing/{name:str}", include_in_schema=False, sync_to_thread=False)
def landing_file(request: AnyRequest, name: FromPath[str]) -> Response[bytes]:
    """A file that the page loads.

    Raises
    ------
    Refused
        ``not-found``: the page has no such file.
    """
    return _reply(request, found(files_in(FOLDER), name, "The page at / has no file of this name."))


def _reply(request: AnyRequest, file: File) -> Response[bytes]:
    return file_reply(request, file, policy=PAGE_POLICY.format("'none'"), cache_control=ANEW)
