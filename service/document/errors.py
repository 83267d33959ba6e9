"""What keeps the document from being written."""


class DocumentError(Exception):
    """The application and what is said about it do not agree, or an example is not to be had."""
