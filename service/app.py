"""Wires the rooms together. ``service.app:app`` is what a server runs."""

import os
from typing import cast

from litestar import Litestar
from litestar.datastructures import State
from litestar.routes import HTTPRoute

from service.access.gate import Gate
from service.access.key_text import KeysError
from service.access.places import places_of
from service.access.policy import Policy, keys_of
from service.document import Document
from service.endpoints.calculations import (
    batch,
    commissioning_sheet,
    drop_chart,
    drop_chart_options,
    gauge_recommendation,
    get_drop_chart,
    reach,
    readings_check,
    transformer_loading,
    voltage_drop,
)
from service.endpoints.catalogues import (
    assumptions,
    conductors,
    findings,
    limits,
    problems,
    sources,
    units,
)
from service.endpoints.docs import docs, docs_file
from service.endpoints.embed import (
    FRAME_ANCESTORS,
    embed_configure,
    embed_configure_file,
    embed_file,
    embed_frame,
    embed_frame_file,
    embed_manifest,
)
from service.endpoints.health import LIFECYCLE, live, ready
from service.endpoints.landing import landing, landing_file
from service.endpoints.openapi_document import DOCUMENT, openapi_document
from service.endpoints.posted import MAXIMUM_BODY
from service.endpoints.refusals import HANDLERS, last_resort
from service.endpoints.workers import WORKERS
from service.observability.envelope import Application, Envelope
from service.observability.lifecycle import Lifecycle
from service.observability.logs import configure
from service.settings import KEYS, Settings, SettingsError, read_settings
from service.worker.pool import Workers

ROUTE_HANDLERS = [
    voltage_drop,
    transformer_loading,
    gauge_recommendation,
    reach,
    readings_check,
    commissioning_sheet,
    # First, or the framework answers OPTIONS by itself, and wrongly.
    drop_chart_options,
    get_drop_chart,
    drop_chart,
    batch,
    conductors,
    units,
    findings,
    assumptions,
    sources,
    problems,
    limits,
    openapi_document,
    docs,
    docs_file,
    embed_manifest,
    embed_frame,
    embed_frame_file,
    embed_configure,
    embed_configure_file,
    embed_file,
    landing,
    landing_file,
    live,
    ready,
]


def build(settings: Settings) -> Envelope:
    """Build the application.

    Parameters
    ----------
    settings : Settings
        What the operator set.

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
        ROUTE_HANDLERS,
        debug=False,
        exception_handlers=HANDLERS,
        # The document is made from the message structs; what the framework derives loses bounds on items.
        openapi_config=None,
        request_max_body_size=settings.maximum_body_bytes,
        # A server opens the lifespan; where the application is called without one, the loop answers all.
        lifespan=[workers.running],
        state=State({LIFECYCLE: lifecycle, WORKERS: workers, MAXIMUM_BODY: settings.maximum_body_bytes}),
    )
    framework.state[DOCUMENT] = Document(framework)
    framework.state[FRAME_ANCESTORS] = settings.frame_ancestors
    # After the framework, which would otherwise put log handlers of its own in the place of ours.
    configure(settings.log_level)
    templates = {route.path for route in framework.routes}
    policy = _policy(settings, framework)
    application = cast("Application", framework)
    return Envelope(application, templates, lifecycle, last_resort, lambda inner: Gate(inner, policy))


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
