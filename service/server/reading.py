"""Reads requests of HTTP/1.1 and of nothing else.

A client may offer another protocol with any request, and some libraries do so by themselves. The parser
takes what follows the head for that protocol, the body of the request too: it would be lost, or read as a
request of its own, by which one caller could speak in the name of another behind the same proxy. So the
request is read anew without the offer, which a server may ignore (RFC 9110, section 7.8).
"""

from typing import Any

import httptools

Fields = list[tuple[bytes, bytes]]


class TunnelError(Exception):
    """Ends the parsing of a head that asks for a tunnel."""


class _Listener:
    """Passes on what the parser finds, but for a request that is to be read anew."""

    def __init__(self, protocol: Any) -> None:  # noqa: ANN401  # as the library has it
        self._protocol = protocol
        self.on_message_begin = protocol.on_message_begin
        self.on_url = protocol.on_url
        self.on_header = protocol.on_header
        self.on_body = protocol.on_body

    def on_headers_complete(self) -> None:
        """Refuse a tunnel, of which there is none to offer."""
        parser = self._protocol.parser
        if parser.get_method() == b"CONNECT":
            raise TunnelError
        if not parser.should_upgrade():
            self._protocol.on_headers_complete()

    def on_message_complete(self) -> None:
        """Take a request as whole when it was read to its end."""
        if not self._protocol.parser.should_upgrade():
            self._protocol.on_message_complete()


def parser_for(protocol: Any) -> Any:  # noqa: ANN401  # as the library has it
    """Make a parser that tells a connection what it finds."""
    parser = httptools.HttpRequestParser(_Listener(protocol))
    # As the server library does: who calls a request the last may have sent more, and still is answered.
    # Versions that are not known are refused by name, where the parser would call them no HTTP.
    parser.set_dangerous_leniencies(lenient_data_after_close=True, lenient_version=True)
    return parser


def head_without_offer(parser: Any, url: bytes, fields: Fields) -> bytes:  # noqa: ANN401  # as the library has it
    """Write a head again as it was read, but for the protocol that it offers."""
    line = b"%b %b HTTP/%b" % (parser.get_method(), url, parser.get_http_version().encode("ascii"))
    kept = [b"%b: %b" % field for field in fields if field[0] != b"upgrade"]
    return b"\r\n".join([line, *kept, b"", b""])
