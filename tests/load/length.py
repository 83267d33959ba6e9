"""How long each load lasts: short on a build server, longer by hand."""

import os
from typing import Final

SECONDS: Final = float(os.environ.get("LOAD_SECONDS", "2"))
"""Length of one phase of load. [s] ``LOAD_SECONDS=60`` takes about ten minutes in all."""
