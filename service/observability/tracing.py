"""Whether traces are sent: decided by the standard ``OTEL_*`` environment, and never by half."""

from collections.abc import Mapping
from typing import Final

import structlog

from service.observability.watch import Exporter

_EXPORTER: Final = "OTEL_TRACES_EXPORTER"


_SWITCHES: Final = (_EXPORTER, "OTEL_EXPORTER_OTLP_TRACES_ENDPOINT", "OTEL_EXPORTER_OTLP_ENDPOINT")


_PROTOCOLS: Final = ("OTEL_EXPORTER_OTLP_TRACES_PROTOCOL", "OTEL_EXPORTER_OTLP_PROTOCOL")


_SPOKEN: Final = "http/protobuf"


def tracing(environment: Mapping[str, str]) -> Exporter | None:
    """Begin to send traces, if the environment asks for it.

    The packages of the extra ``otel`` are loaded then and only then. Where they are absent, or where the
    environment asks for what is not spoken here, a warning says so and the service runs without traces.

    Parameters
    ----------
    environment : mapping of str to str
        ``os.environ``, which the library goes on to read by itself.

    Returns
    -------
    spans : Exporter or None
        An observer, to be closed at the end.
    """
    switch = _switch(environment)
    if switch is None:
        return None
    reason = _unspoken(environment)
    if reason is None:
        try:
            from service.observability.spans import exported  # noqa: PLC0415  # an optional extra

            return exported()
        except ModuleNotFoundError as missing:
            if missing.name is None or not missing.name.startswith("opentelemetry"):
                raise
            reason = f"{switch} is set, but the packages of the extra are absent. Install lastlamp[otel]."
        except ValueError as error:
            reason = f"A setting that begins OTEL_ does not read: {error}"
    structlog.get_logger().warning("no traces are sent", reason=reason)
    return None


def _switch(environment: Mapping[str, str]) -> str | None:
    """Return the name that asks for traces; an empty value counts as none, as the standard has it."""
    if environment.get("OTEL_SDK_DISABLED", "").strip().lower() == "true":
        return None
    if environment.get(_EXPORTER, "").strip() == "none":
        return None
    return next((name for name in _SWITCHES if environment.get(name, "").strip()), None)


def _unspoken(environment: Mapping[str, str]) -> str | None:
    exporters = environment.get(_EXPORTER, "").strip() or "otlp"
    if exporters != "otlp":
        return f"{_EXPORTER} is {exporters!r}. Here it can be otlp or none."
    for name in _PROTOCOLS:
        protocol = environment.get(name, "").strip()
        if protocol:
            return None if protocol == _SPOKEN else f"{name} is {protocol!r}. Here it is {_SPOKEN}."
    return None
