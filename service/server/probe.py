"""Asks a running service whether it is ready: the standard library alone, since a container asks often."""

import urllib.error
import urllib.request

from service.settings import Address

TIMEOUT_SECONDS = 3.0

# A wildcard is an address to listen on, not one to call.
_CALLED_AS = {"0.0.0.0": "127.0.0.1", "::": "::1"}  # noqa: S104  # compared with, never bound to


def probe(bind: Address) -> tuple[bool, str]:
    """Ask for readiness.

    Parameters
    ----------
    bind : Address
        Where the service was told to listen.

    Returns
    -------
    ready : bool
        Whether it answered that it is.
    sentence : str
        What was found.
    """
    address = Address(_CALLED_AS.get(bind.host, bind.host), bind.port)
    # A proxy named in the environment is for the world outside, not for this machine.
    opener = urllib.request.build_opener(urllib.request.ProxyHandler({}))
    try:
        with opener.open(f"http://{address}/health/ready", timeout=TIMEOUT_SECONDS):
            return True, f"The service at {address} is ready."
    except urllib.error.HTTPError as error:
        with error:
            return False, f"The service at {address} is not ready: it answered {error.code}."
    except OSError as error:
        cause = error.reason if isinstance(error, urllib.error.URLError) else error
        words = cause.strerror if isinstance(cause, OSError) and cause.strerror else str(cause)
        return False, f"Nothing answered at {address}: {words.lower()}."
