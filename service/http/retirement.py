"""What a reply says of a study that is to go, in header fields for programs."""

from collections.abc import Iterator
from datetime import UTC, date, datetime, time
from email.utils import format_datetime

from service.observability.middleware import OwnFields
from service.studies.description import Retirement


def fields_of(study: str, retirement: Retirement) -> OwnFields:
    """Write `Deprecation` (RFC 9745), `Sunset` (RFC 8594) and links to the study's page and its successor."""
    return [(name, value.encode("ascii")) for name, value in _fields(study, retirement)]


def _fields(study: str, retirement: Retirement) -> Iterator[tuple[bytes, str]]:
    yield b"deprecation", f"@{int(_midnight(retirement.deprecated).timestamp())}"
    yield b"sunset", format_datetime(_midnight(retirement.sunset), usegmt=True)
    page = f'</docs/{study}>; rel="deprecation"; type="text/html"'
    # RFC 5829, section 3.2.
    yield b"link", f'{page}, </v1/{retirement.instead}>; rel="successor-version"'


def _midnight(day: date) -> datetime:
    return datetime.combine(day, time(), UTC)
