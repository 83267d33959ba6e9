"""How much one request may ask for; the settings know it as well, and load nothing else for it."""

MAXIMUM_REQUEST_WORK = 100_000
"""Work that one request may ask for in all, whatever studies and items it names: one to two seconds."""
