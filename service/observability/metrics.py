"""What is counted, in a registry of our own.

Every label has a bounded set of values and none holds a caller's text: routes are templates, an unusual
method is ``other``, codes stand in our catalogues.
"""

import platform
from collections import Counter as Tally
from collections.abc import Iterable
from functools import cache
from typing import Final

from prometheus_client import (
    CollectorRegistry,
    Counter,
    Gauge,
    Histogram,
    Info,
    ProcessCollector,
    disable_created_metrics,
)

from service import __version__
from service.circuit.job import CALCULATION_VERSION, SOLVER_FORM
from service.observability.exchange import Exchange
from service.tables import TABLES_VERSION

# When each series began would double their number, and nothing here asks for it.
disable_created_metrics()  # type: ignore[no-untyped-call]  # the library left out "-> None"


REGISTRY: Final = CollectorRegistry(auto_describe=True)


ProcessCollector(registry=REGISTRY)


OTHER: Final = "other"


METHODS: Final = frozenset({"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "CONNECT"})
"""The methods of RFC 9110 and RFC 5789; any other counts as `OTHER`."""


BUCKETS_S: Final = (0.0005, 0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0)
"""Upper ends of the duration buckets. [s] A small job takes half a millisecond, the largest a second."""


_REQUESTS = Counter(
    "lastlamp_requests_total", "Requests answered.", ("route", "method", "status"), registry=REGISTRY
)


_DURATION = Histogram(
    "lastlamp_request_duration_seconds",
    "Time from the head of a request to the end of its reply.",
    ("route", "method"),
    registry=REGISTRY,
    buckets=BUCKETS_S,
)


_IN_PROGRESS = Gauge("lastlamp_requests_in_progress", "Requests being answered now.", registry=REGISTRY)


_PROBLEMS = Counter(
    "lastlamp_problems_total",
    "Problems answered, those of batch items among them.",
    ("code",),
    registry=REGISTRY,
)


_FINDINGS = Counter(
    "lastlamp_findings_total",
    "Findings in answers, those of batch items among them.",
    ("code", "severity"),
    registry=REGISTRY,
)


_SHED = Counter(
    "lastlamp_requests_shed_total", "Requests refused because too much work was waiting.", registry=REGISTRY
)


_WORK = Counter(
    "lastlamp_work_total", "Work charged, the same on every machine, by study.", ("study",), registry=REGISTRY
)


_HEAVY = Counter(
    "lastlamp_heavy_requests_total",
    "Requests that were for a worker, by what became of them.",
    ("outcome",),
    registry=REGISTRY,
)


_HEAVY_WAITING = Gauge(
    "lastlamp_heavy_requests_waiting", "Requests that wait for a worker now.", registry=REGISTRY
)


_WORKERS = Gauge("lastlamp_workers", "Workers that can be asked now.", registry=REGISTRY)


_WORKER_SECONDS = Counter(
    "lastlamp_worker_cpu_seconds_total",
    "Processor time of workers on requests that they answered.",
    registry=REGISTRY,
)


_WORKER_RESTARTS = Counter(
    "lastlamp_worker_restarts_total", "Workers that had to be replaced.", ("reason",), registry=REGISTRY
)


_KEY_RELOAD_FAILURES = Counter(
    "lastlamp_key_reload_failures_total",
    "Attempts to read the keys anew that failed, the old keys staying in force.",
    registry=REGISTRY,
)


_DROPPED_LOG_LINES = Counter(
    "lastlamp_log_lines_dropped_total",
    "Log lines that were lost because nobody took them, or no room was left where they go.",
    registry=REGISTRY,
)


_FORGOTTEN_QUOTAS = Counter(
    "lastlamp_quotas_forgotten_total",
    "Callers whose quota began anew before it was whole, because too many others came.",
    registry=REGISTRY,
)


Info("lastlamp_build", "What runs here.", registry=REGISTRY).info(
    {
        "version": __version__,
        "calculation_version": CALCULATION_VERSION,
        "tables_version": TABLES_VERSION,
        "python": platform.python_version(),
        "solver": SOLVER_FORM,
    }
)


ANSWERED, FULL, LATE, LEFT, LOST = "answered", "full", "late", "left", "lost"


OUT_OF_TIME, DIED, START_FAILED = "out-of-time", "died", "start-failed"


# Each counts from 0 at once; see `RequestMetrics`.
for _outcome in (ANSWERED, FULL, LATE, LEFT, LOST, OUT_OF_TIME):
    _HEAVY.labels(_outcome)


for _reason in (DIED, OUT_OF_TIME, START_FAILED):
    _WORKER_RESTARTS.labels(_reason)


def count_heavy(outcome: str) -> None:
    """Count what became of a request that was for a worker."""
    _HEAVY.labels(outcome).inc()


def count_worker_seconds(seconds: float) -> None:
    """Count processor time that a worker took for an answer. [s]"""
    _WORKER_SECONDS.inc(seconds)


def count_restart(reason: str) -> None:
    """Count a worker that had to be replaced."""
    _WORKER_RESTARTS.labels(reason).inc()


def show_waiting(requests: int) -> None:
    """Show how many requests wait for a worker."""
    _HEAVY_WAITING.set(requests)


def show_workers(workers: int) -> None:
    """Show how many workers can be asked."""
    _WORKERS.set(workers)


def count_shed() -> None:
    """Count a request that was refused because too much work was waiting."""
    _SHED.inc()


def count_key_reload_failure() -> None:
    """Count an attempt to read the keys anew that failed."""
    _KEY_RELOAD_FAILURES.inc()


def count_dropped_log_lines(lines: int) -> None:
    """Count log lines that were lost."""
    _DROPPED_LOG_LINES.inc(lines)


def count_forgotten_quota() -> None:
    """Count a caller whose quota began anew before it was whole."""
    _FORGOTTEN_QUOTAS.inc()


class RequestMetrics:
    """Counts every request.

    Parameters
    ----------
    problem_codes : iterable of str
        Every code that a problem may carry. Each counts from 0 at once: a series that is born with its first
        event shows no increase, and the first failure would pass unseen.
    """

    def __init__(self, problem_codes: Iterable[str]) -> None:
        for code in problem_codes:
            _problems(code)

    def began(self, exchange: Exchange) -> None:
        """Count it among those being answered."""
        del exchange
        _IN_PROGRESS.inc()

    def ended(self, exchange: Exchange, seconds: float) -> None:
        """Count what became of it."""
        _IN_PROGRESS.dec()
        status, problem = exchange.outcome()
        method = exchange.method if exchange.method in METHODS else OTHER
        _requests(exchange.route, method, status).inc()
        _duration(exchange.route, method).observe(seconds)
        if problem is not None:
            _problems(problem).inc()
        for code in exchange.refused_items:
            _problems(code).inc()
        for study, work in exchange.work.items():
            _work(study).inc(work)
        for (code, severity), count in Tally(exchange.findings).items():
            _findings(code, severity).inc(count)


# The library finds a series behind a lock and a tuple of texts each time; these remember it.
@cache
def _requests(route: str, method: str, status: int) -> Counter:
    return _REQUESTS.labels(route, method, status)


@cache
def _duration(route: str, method: str) -> Histogram:
    return _DURATION.labels(route, method)


@cache
def _problems(code: str) -> Counter:
    return _PROBLEMS.labels(code)


@cache
def _findings(code: str, severity: str) -> Counter:
    return _FINDINGS.labels(code, severity)


@cache
def _work(study: str) -> Counter:
    return _WORK.labels(study)
