"""Lastlamp: what does the last lamp on the run get?

A stateless HTTP service for voltage drop, transformer loading and gauge recommendation in low-voltage
outdoor lighting. The rooms and the order of their imports stand in ``DEVELOPERS.md``.
"""

__version__ = "0.3.0"
