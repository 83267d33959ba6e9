"""Log lines: one JSON object a line on standard output, our own and those of the libraries alike."""

import logging
from typing import BinaryIO, Final, cast

import msgspec
import structlog
from structlog.typing import EventDict, Processor, WrappedLogger

from service.observability.metrics import count_dropped_log_lines
from service.observability.sink import Sink, TextSink

# The descriptor itself: whoever puts another object in the place of sys.stdout must not take the log along.
_STANDARD_OUTPUT: Final = 1

SINK: Final = Sink(_STANDARD_OUTPUT, count_dropped_log_lines)
"""Where every line of the process goes."""

# Frames are named, their local variables never: a local may hold what a caller sent.
_TRACEBACKS = structlog.processors.ExceptionRenderer(
    structlog.tracebacks.ExceptionDictTransformer(show_locals=False)
)


def _as_json(_logger: WrappedLogger, _name: str, event: EventDict) -> bytes:
    return msgspec.json.encode(event, enc_hook=str)


def _as_json_text(logger: WrappedLogger, name: str, event: EventDict) -> str:
    return _as_json(logger, name, event).decode("utf-8")


_SHARED: list[Processor] = [
    structlog.processors.add_log_level,
    structlog.processors.TimeStamper(fmt="iso", utc=True),
    _TRACEBACKS,
]

# One list for good: a logger keeps that under which it was bound, and who gathers lines changes it in place.
_PROCESSORS: Final[list[Processor]] = [*_SHARED, _as_json]


def configure(level: str) -> None:
    """Send every log line of the process to standard output as JSON.

    Parameters
    ----------
    level : str
        ``debug``, ``info``, ``warning`` or ``error``: the least severe line that is written.
    """
    structlog.configure(
        processors=_PROCESSORS,
        wrapper_class=structlog.make_filtering_bound_logger(level),
        logger_factory=structlog.BytesLoggerFactory(cast("BinaryIO", SINK)),
    )
    _configure_standard_library(level)


def _configure_standard_library(level: str) -> None:
    """Give the libraries' own log lines the same shape, and take away the handlers that they brought."""
    handler = logging.StreamHandler(TextSink(SINK))
    handler.setFormatter(
        structlog.stdlib.ProcessorFormatter(
            foreign_pre_chain=_SHARED,
            processors=[structlog.stdlib.ProcessorFormatter.remove_processors_meta, _as_json_text],
        )
    )
    logging.root.handlers[:] = [handler]
    # Libraries speak of their own affairs at info; a request has its line from the envelope already.
    logging.root.setLevel(max(logging.WARNING, logging.getLevelNamesMapping()[level.upper()]))
    for name in ("litestar", "uvicorn", "uvicorn.error", "uvicorn.access"):
        logging.getLogger(name).handlers.clear()
        logging.getLogger(name).setLevel(logging.NOTSET)
        logging.getLogger(name).propagate = True
