"""Meter readings against the model: whether they agree and, if not, what one cause would explain it."""
