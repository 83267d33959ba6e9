from pathlib import Path
from typing import Any

from openapi_spec_validator import OpenAPIV31SpecValidator

COMMITTED = Path(__file__).parents[2] / "openapi" / "openapi.json"
RENEW = "python -m service openapi > openapi/openapi.json"


def test_committed_document_is_the_one_that_the_application_serves(document_text: bytes) -> None:
    same = COMMITTED.is_file() and COMMITTED.read_bytes() == document_text
    assert same, f"The contract changed. Renew it with: {RENEW} and say so in openapi/CHANGELOG.md."


def test_document_is_valid_openapi_3_1(document: Any) -> None:
    # The rules of the OpenAPI Initiative's own schema, read by a validator that is not ours.
    assert document["openapi"].startswith("3.1.")
    assert list(OpenAPIV31SpecValidator(document).iter_errors()) == []


def test_document_ends_with_a_newline_and_has_no_byte_order_mark(document_text: bytes) -> None:
    assert document_text.startswith(b'{\n  "openapi"')
    assert document_text.endswith(b"\n}\n")


def test_version_has_an_entry_in_the_changelog(document: Any) -> None:
    changelog = (COMMITTED.parent / "CHANGELOG.md").read_text(encoding="utf-8")
    assert f"\n## {document['info']['version']}\n" in changelog
