"""The exception that carries a refusal up to the door."""

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Final

from service.problems.catalogue import CATALOGUE
from service.problems.errors import ErrorItem

_NO_HEADERS: Final[Mapping[str, str]] = MappingProxyType({})


class Refused(Exception):  # noqa: N818 - a refusal is an answer, not an error of the service
    """A request that cannot be answered, with the facts that its sender needs.

    Parameters
    ----------
    code : str
        A key of `CATALOGUE`.
    detail : str
        What is wrong with this request and what to do.
    errors : sequence of ErrorItem, optional
        Every place to change, in document order.
    headers : mapping of str to str, optional
        Response headers that belong to the refusal.

    Raises
    ------
    KeyError
        `code` is not in the catalogue.
    """

    def __init__(
        self,
        code: str,
        detail: str,
        errors: Sequence[ErrorItem] = (),
        headers: Mapping[str, str] = _NO_HEADERS,
    ) -> None:
        super().__init__(detail)
        self.code = code
        self.detail = detail
        self.errors = tuple(errors)
        self.headers = headers
        self.status = CATALOGUE[code].status
