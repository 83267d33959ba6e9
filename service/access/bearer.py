"""The key that a request carries: ``Authorization: Bearer`` (RFC 6750, section 2.1)."""

import re
from typing import Final

from service.access.fields import Headers, values_of
from service.access.keys import Key, KeyRing
from service.problems import Refused

# The scheme in any case (RFC 9110, section 11.1); the form of the token is that of RFC 6750.
_BEARER: Final = re.compile(rb"bearer +([A-Za-z0-9._~+/-]+=*)[ \t]*\Z", re.IGNORECASE)
_SCHEME: Final = re.compile(rb"bearer\b", re.IGNORECASE)

# A request that shows no key is told what is wanted, one whose key is not good also that it is not
# (RFC 6750, section 3.1); neither is told how near it came.
CHALLENGE: Final = 'Bearer realm="lastlamp"'
_MISSING: Final = {"WWW-Authenticate": CHALLENGE}
_UNKNOWN: Final = {"WWW-Authenticate": f'{CHALLENGE}, error="invalid_token"'}


def key_of(headers: Headers, ring: KeyRing) -> Key:
    """Find the key of a request.

    Raises
    ------
    Refused
        ``key-missing`` or ``key-unknown``, with a challenge.
    """
    values = values_of(headers, b"authorization")
    if len(values) > 1:
        detail = "The request has more than one Authorization header. Send one, with one key."
        raise Refused("key-unknown", detail, headers=_UNKNOWN)
    if not values or not _SCHEME.match(values[0]):
        detail = "Send the header `Authorization: Bearer <key>`. The operator of this service gives out keys."
        raise Refused("key-missing", detail, headers=_MISSING)
    match = _BEARER.match(values[0])
    if match is None:
        detail = "What follows Bearer in the Authorization header is not one key. Send it as it was given."
        raise Refused("key-unknown", detail, headers=_UNKNOWN)
    key = ring.find(match[1])
    if key is None:
        detail = "The key is not one of those that are good here. Ask the operator of this service for one."
        raise Refused("key-unknown", detail, headers=_UNKNOWN)
    return key
