"""Wires the rooms together. ``service.app:app`` is what a server runs."""

import os
from typing import cast

from litestar import Litestar
from litestar.datastructures import State

from service.document import Document
from service.endpoints.batch import batch
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
from service.endpoints.drop_chart import drop_chart, drop_chart_options, get_drop_chart
from service.endpoints.gauge_recommendation import gauge_recommendation
from service.endpoints.health import LIFECYCLE, live, ready
from service.endpoints.openapi_document import DOCUMENT, openapi_document
from service.endpoints.posted import MAXIMUM_BODY
from service.endpoints.reach import reach
from service.endpoints.refusals import HANDLERS, last_resort
from service.endpoints.transformer_loading import transformer_loading
from service.endpoints.voltage_drop import voltage_drop
from service.observability.envelope import Application, Envelope
from service.observability.lifecycle import Lifecycle
from service.observability.logs import configure
from service.settings import Settings, read_settings

ROUTE_HANDLERS = [
    voltage_drop,
    transformer_loading,
    gauge_recommendation,
    reach,
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
    """
    lifecycle = Lifecycle()
    framework = Litestar(
        ROUTE_HANDLERS,
        debug=False,
        exception_handlers=HANDLERS,
        # The document is made from the message structs; what the framework derives loses bounds on items.
        openapi_config=None,
        request_max_body_size=settings.maximum_body_bytes,
        state=State({LIFECYCLE: lifecycle, MAXIMUM_BODY: settings.maximum_body_bytes}),
    )
    framework.state[DOCUMENT] = Document(framework)
    # After the framework, which would otherwise put log handlers of its own in the place of ours.
    configure(settings.log_level)
    templates = {route.path for route in framework.routes}
    return Envelope(cast("Application", framework), templates, lifecycle, last_resort)


app = build(read_settings(os.environ))
