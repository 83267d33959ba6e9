"""The port: bound before anything else is loaded, so that a taken one is said at once; listened on at last.

Who knocks in between is refused, and a proxy asks another instance. In the queue of one that still loads a
request would wait as long as that takes.
"""

import errno
import socket

from service.settings import Address

_REASONS = {
    errno.EADDRINUSE: "another program listens there. Stop it, or set {setting} to a free port",
    errno.EACCES: "this user may not. Set {setting} to a port above 1023",
    errno.EADDRNOTAVAIL: "this machine has no such address. Set {setting} to one that it has",
}


class ListenError(Exception):
    """The address cannot be listened on; carries one sentence for the operator."""


def cannot_listen(error: OSError, address: Address, setting: str = "LASTLAMP_BIND") -> ListenError:
    """Return what is said of an address that cannot be had, with the environment name to change."""
    reason = _REASONS.get(error.errno or 0, str(error.strerror)).format(setting=setting)
    return ListenError(f"Cannot listen on {address}: {reason}.")


def open_socket(address: Address, setting: str = "LASTLAMP_BIND") -> socket.socket:
    """Bind a socket to an address, not listening yet.

    Parameters
    ----------
    address : Address
        A host name is resolved, and the first address that it stands for is taken.
    setting : str, optional
        The environment name that an operator changes if it cannot be had.

    Returns
    -------
    listener : socket.socket
        To be closed by whoever serves from it.

    Raises
    ------
    ListenError
        When the address is taken, forbidden or not of this machine.
    """
    try:
        family, kind, protocol, _, where = socket.getaddrinfo(
            address.host, address.port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE
        )[0]
    except socket.gaierror as error:
        message = f"Cannot listen on {address}: the host name is not known. Set {setting}."
        raise ListenError(message) from error
    listener = socket.socket(family, kind, protocol)
    # A restart must not wait for the connections of the last process to be forgotten.
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind(where)
    except OSError as error:
        listener.close()
        raise cannot_listen(error, address, setting) from error
    return listener
