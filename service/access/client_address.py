"""Whose request it is, by address: the peer, or whom proxies that are trusted say that they speak for."""

import re
from collections.abc import Iterator, Sequence
from ipaddress import IPv4Address, IPv4Network, IPv6Address, IPv6Network, ip_address, ip_network
from typing import Final

from service.access.origins import values_of
from service.observability.fields import Fields

WANTED_NETWORKS: Final = (
    "networks or addresses such as 172.16.0.0/12, 10.0.0.5 or fd00::/8, each in its own form (no ::ffff:) and"
    " without bits beyond its length; not all addresses, or every client could say who it is"
)


NOBODY: Final = "unknown"
"""Stands for peers that have no address, such as those of a socket file."""


# Some balancers add the port from which a client came, an IPv6 address then stands in brackets.
_WITH_PORT: Final = re.compile(r"(?:\[([0-9A-Fa-f:.]{2,45})\]|([0-9.]{7,15}))(?::[0-9]{1,5})?\Z")


_LONGEST: Final = 64


# One subscriber holds at least a /64 (RFC 6177) and may take another address of it for every request.
_SUBSCRIBER_BITS: Final = 64


Address = IPv4Address | IPv6Address


Network = IPv4Network | IPv6Network


def read_network(text: str) -> str:
    """Read a network, or an address as the network of itself.

    Returns
    -------
    network : str
        In its one form, with its length.

    Raises
    ------
    ValueError
        The text is neither, or is every address there is.
    """
    try:
        network = ip_network(text)
    except ValueError:
        raise ValueError(WANTED_NETWORKS) from None
    is_mapped = isinstance(network, IPv6Network) and network.network_address.ipv4_mapped is not None
    if network.prefixlen == 0 or is_mapped or "%" in text:
        raise ValueError(WANTED_NETWORKS)
    return str(network)


class ClientAddresses:
    """Tells clients apart by address.

    Parameters
    ----------
    trusted : sequence of str
        Networks of proxies whose ``X-Forwarded-For`` is believed; without any the field is not looked at.
    """

    def __init__(self, trusted: Sequence[str] = ()) -> None:
        self._trusted: list[Network] = [ip_network(network) for network in trusted]

    def client(self, peer: str | None, headers: Fields) -> str:
        """Find the client of a request.

        Each proxy adds at the right whom it speaks for, so the field is read from there, for as long as the
        hop that added an entry is trusted. What stands further left anybody may have written. An entry that
        is no address ends the walk at the hop that passed it on.

        Parameters
        ----------
        peer : str, optional
            The address at the other end of the connection.
        headers : iterable of (bytes, bytes)
            Of the request, names in lower case.

        Returns
        -------
        client : str
            The address; of IPv6 the /64 that it lies in.
        """
        hop = _address(peer or "")
        if hop is None:
            return NOBODY
        if self._trusts(hop):
            for entry in _from_the_right(values_of(headers, b"x-forwarded-for")):
                told = _told(entry)
                if told is None:
                    break
                hop = told
                if not self._trusts(hop):
                    break
        return _subscriber(hop)

    def _trusts(self, hop: Address) -> bool:
        return any(hop in network for network in self._trusted)


def _from_the_right(lines: Sequence[bytes]) -> Iterator[str]:
    """Entries of all lines of the field, which are one list (RFC 9110, section 5.3), the last one first."""
    for line in reversed(lines):
        end = len(line)
        while end >= 0:
            start = line.rfind(b",", 0, end) + 1
            yield line[start:end].decode("latin-1").strip(" \t")
            end = start - 1


def _told(entry: str) -> Address | None:
    """The address that an entry gives, with or without a port."""
    if len(entry) > _LONGEST or "%" in entry:
        return None
    match = _WITH_PORT.match(entry)
    return _address((match[1] or match[2]) if match else entry)


def _address(text: str) -> Address | None:
    try:
        address = ip_address(text)
    except ValueError:
        return None
    if isinstance(address, IPv6Address):
        # One machine, whether the socket that it reached was opened for both families or for one.
        return address.ipv4_mapped or address
    return address


def _subscriber(address: Address) -> str:
    if isinstance(address, IPv4Address):
        return str(address)
    host_bits = address.max_prefixlen - _SUBSCRIBER_BITS
    return str(IPv6Network((int(address) >> host_bits << host_bits, _SUBSCRIBER_BITS)))
