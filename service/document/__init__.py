"""The OpenAPI document, written from the application that runs: its routes, its messages, its own replies."""

from service.document.written import Document, document_bytes

__all__ = ["Document", "document_bytes"]
