"""The document of the application as it is deployed, written once for all checks of it."""

import json
from typing import Any

import pytest


@pytest.fixture(scope="session")
def document_text() -> bytes:
    from service.app import app  # noqa: PLC0415  # tests of the lower rooms must not load the framework
    from service.document import document_bytes  # noqa: PLC0415  # it loads the application

    return document_bytes(app)


@pytest.fixture(scope="session")
def document(document_text: bytes) -> Any:
    return json.loads(document_text)
