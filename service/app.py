"""Wires the rooms together. ``service.app:app`` is what a server runs."""

import os
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from time import monotonic_ns
from typing import cast

from litestar import Litestar
from litestar.datastructures import State
from litestar.handlers import HTTPRouteHandler
from litestar.routes import HTTPRoute

from service.access.client_address import ClientAddresses
from service.access.gate import Gate, Policy, keys_of
from service.access.keys import KeysError
from service.access.metering import Metering
from service.access.places import VERSION, places_of
from service.access.quotas import Quotas, Terms
from service.circuit.most import MAXIMUM_REQUEST_WORK
from service.document import Document
from service.http.calculations import batch, drop_chart_options, get_drop_chart, study_handlers
from service.http.catalogues import assumptions, conductors, findings, limits, problems, sources, units
from service.http.docs import docs, docs_file, docs_markdown, docs_short, guide_of
from service.http.embed import (
    FRAME_ANCESTORS,
    embed_configure,
    embed_configure_file,
    embed_file,
    embed_frame,
    embed_frame_file,
    embed_manifest,
    embed_meter,
)
from service.http.health import LIFECYCLE, live, ready
from service.http.landing import landing, landing_file
from service.http.openapi_document import DOCUMENT, openapi_document, request_schema
from service.http.refusals import HANDLERS, last_resort
from service.http.replies import MAXIMUM_BODY
from service.http.tasks import WORKERS
from service.observability.logs import configure
from service.observability.middleware import Application, Lifecycle, Middleware
from service.settings import KEYS, Settings, SettingsError, read_settings
from service.worker.pool import Workers

OTHER_HANDLERS = [
    batch,
    conductors,
    units,
    findings,
    assumptions,
    sources,
    problems,
    limits,
    openapi_document,
    request_schema,
    docs,
    docs_file,
    docs_markdown,
    docs_short,
    embed_manifest,
    embed_frame,
    embed_frame_file,
    embed_configure,
    embed_configure_file,
    embed_meter,
    embed_file,
    landing,
    landing_file,
    live,
    ready,
]


def route_handlers() -> list[HTTPRouteHandler]:
    """Every handler: one for each study of the table, and the others."""
    # OPTIONS of the chart stands first, or the framework answers it by itself, and wrongly.
    return [drop_chart_options, get_drop_chart, *study_handlers(), *OTHER_HANDLERS]


def build(settings: Settings, clock: Callable[[], int] = monotonic_ns) -> Middleware:
    """Build the application.

    Parameters
    ----------
    settings : Settings
        What the operator set.
    clock : callable, optional
        By which quotas fill. [ns]

    Returns
    -------
    app : Envelope
        An ASGI application.

    Raises
    ------
    SettingsError
        The keys cannot be used.
    """
    lifecycle = Lifecycle()
    workers = Workers(settings)
    framework = Litestar(
        route_handlers(),
        debug=False,
        exception_handlers=HANDLERS,
        # The document is made from the message structs; what the framework derives loses bounds on items.
        openapi_config=None,
        request_max_body_size=settings.maximum_body_bytes,
        # A server opens the lifespan; where the application is called without one, the loop answers all.
        lifespan=[_documented, workers.running],
        state=State({LIFECYCLE: lifecycle, WORKERS: workers, MAXIMUM_BODY: settings.maximum_body_bytes}),
    )
    framework.state[DOCUMENT] = Document(framework, settings.contact)
    framework.state[FRAME_ANCESTORS] = settings.frame_ancestors
    # After the framework, which would otherwise put log handlers of its own in the place of ours.
    configure(settings.log_level)
    templates = {route.path for route in framework.routes}
    policy = _policy(settings, framework)
    application = cast("Application", framework)
    entrance = Gate(_metered(application, settings, policy, clock), policy)
    return Middleware(application, templates, lifecycle, last_resort, lambda _: entrance)


@asynccontextmanager
async def _documented(framework: Litestar) -> AsyncIterator[None]:
    """Write the document and its pages before anybody asks, and while no worker is held by others: 0.7 s."""
    guide_of(await framework.state[DOCUMENT].text())
    yield


def _metered(
    application: Application, settings: Settings, policy: Policy, clock: Callable[[], int]
) -> Application:
    """Put the quotas of callers before an application, where the operator set some."""
    if settings.work_per_minute is None:
        return application
    quotas = Quotas(Terms(settings.work_per_minute, MAXIMUM_REQUEST_WORK, clock))
    paths = [VERSION + study for study in policy.places.studies]
    return Metering(application, paths, quotas, ClientAddresses(settings.trusted_proxies))


def _policy(settings: Settings, framework: Litestar) -> Policy:
    """Put together who may ask: what the operator set, for the addresses that there are."""
    routes = [route for route in framework.routes if isinstance(route, HTTPRoute)]
    places = places_of({route.path: route.methods for route in routes})
    try:
        keys = keys_of(settings.keys, settings.keys_file, places) if settings.access == KEYS else None
    except KeysError as error:
        name = "LASTLAMP_KEYS_FILE" if settings.keys_file else "LASTLAMP_KEYS"
        raise SettingsError([f"{name}: {mistake}" for mistake in error.mistakes]) from None
    origins, hosts = frozenset(settings.allowed_origins), frozenset(settings.allowed_hosts)
    return Policy(places, keys, origins, hosts)


app = build(read_settings(os.environ))
